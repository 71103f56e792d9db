"""Commands: documents other programs read, exit codes, and what is imported."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys

import pytest

from diagnose.__main__ import main
from diagnose.case import log

TROUBLE = ["--layout", "opposed-4", "--complaint", "rough@left=yes", "--result", "drop@left=excessive", "--result", "drop_fast@left=yes"]


def document(capsys, *argv):
    """Return the JSON document of a command."""
    assert main(list(argv)) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.slow
def test_rank_document(capsys):
    """Keys, order, canonical spelling; the same bytes twice."""
    found = document(capsys, "rank", *TROUBLE, "--json")
    assert found["schema"] == "rank/1"
    assert {"rulebase", "layout", "complaint", "ignored", "exact", "state", "causes", "families", "unmodelled", "ambiguity", "next"} <= set(
        found
    )
    assert found["complaint"] == ["rough.runup@left=yes"]
    assert found["exact"] is True
    shares = [c["responsible"] for c in found["causes"]]
    assert shares == sorted(shares, reverse=True)
    assert all(0 < c["probability"] < 1 for c in found["causes"])
    assert len(found["next"]) == 3
    assert found == document(capsys, "rank", *TROUBLE, "--json")


def test_next_document(capsys):
    """Outcomes are a partition, and their first causes are named."""
    found = document(capsys, "next", *TROUBLE, "--json", "--all")
    assert found["schema"] == "next/1"
    for row in found["next"][:5]:
        assert sum(o["probability"] for o in row["results"]) == pytest.approx(1, abs=1e-9)
        assert row["minutes"] > 0
        assert row["information"] >= 0


@pytest.mark.slow
def test_next_is_short_unless_all_is_asked_for(capsys):
    """Ten steps with ten results each; what is left out is counted, and what is kept is what stands in the whole."""
    trouble = ("--layout", "opposed-6", "--result", "rough.runup@engine=yes", "--json")
    short, whole = document(capsys, "next", *trouble), document(capsys, "next", *trouble, "--all")
    assert len(json.dumps(short)) < 200_000
    assert len(short["next"]) == 10
    assert len(short["next"]) + short["more"] == len(whole["next"])
    assert "more" not in whole
    cut = [(few, all_) for few, all_ in zip(short["next"], whole["next"], strict=False) if "other_results" in few]
    assert cut
    for few, all_ in cut:
        others = few["other_results"]
        assert others["count"] == len(all_["results"]) - len(few["results"]) == len(all_["results"]) - 10
        assert others["probability"] + sum(o["probability"] for o in few["results"]) == pytest.approx(1, abs=1e-9)
        assert [o for o in all_["results"] if o in few["results"]] == few["results"]
        assert min(o["probability"] for o in few["results"]) >= max(o["probability"] for o in all_["results"] if o not in few["results"])


@pytest.mark.slow
def test_outcome_equals_entering_it(capsys):
    """What a check promises for a result is what entering that result gives."""
    offered = document(capsys, "next", *TROUBLE, "--json", "--all")["next"][0]
    outcome = max(offered["results"], key=lambda o: o["probability"])
    extra = [part for text in outcome["results"] for part in ("--result", text)]
    after = document(capsys, "rank", *TROUBLE, *extra, "--json")
    by_id = {c["id"]: c["responsible"] for c in after["causes"]}
    for row in outcome["top"]:
        assert row["responsible"] == pytest.approx(by_id[row["id"]], abs=1e-9)


def test_no_complaint(capsys):
    """Unsettled, nobody responsible."""
    found = document(capsys, "rank", "--layout", "opposed-4", "--json")
    assert found["state"] == "unsettled"
    assert found["unmodelled"] is None
    assert {c["responsible"] for c in found["causes"]} == {0}


@pytest.mark.slow
def test_unknown_moves_nothing(capsys):
    """Unknown is not normal."""
    plain = document(capsys, "rank", *TROUBLE, "--json")
    told = document(capsys, "rank", *TROUBLE, "--result", "plug_lead@3-bottom=unknown", "--json")
    assert [c["responsible"] for c in plain["causes"]] == [c["responsible"] for c in told["causes"]]


def test_masking_is_told(capsys):
    """No drop on one side: what looked normal there was not tested."""
    found = document(capsys, "rank", "--layout", "opposed-4", "--result", "no_drop@left=yes", "--result", "rough@left=no", "--json")
    assert [i["result"] for i in found["ignored"]] == ["rough.runup@left=no"]


@pytest.mark.parametrize(
    ("argv", "hint"),
    [
        (["rank", "--layout", "opposed-44"], "opposed-4"),
        (["rank", "--layout", "opposed-4", "--result", "ruogh@left=yes"], "rough"),
        (["rank", "--layout", "opposed-4", "--result", "rough@lefft=yes"], "left"),
        (["rank", "--layout", "opposed-4", "--result", "rough.runupp@left=yes"], "runup"),
        (["rank", "--layout", "opposed-4", "--result", "drop@left=big"], "excessive"),
        (["rank", "--layout", "opposed-4", "--result", "drop@left=normal", "--result", "drop@left=dies"], "drop.runup@left"),
        (["rank", "/nowhere.case"], "nowhere"),
        (["show", "plug_leed"], "plug_lead"),
        (["nonsense"], ""),
    ],
)
def test_bad_input_is_one_line_and_exit_2(capsys, argv, hint):
    """What is wrong, and the nearest right one."""
    assert main(argv) == 2
    streams = capsys.readouterr()
    assert streams.out == ""
    assert hint in streams.err
    assert "Traceback" not in streams.err


def test_check_and_show(capsys, tmp_path):
    """The shipped base is clean (0), a broken one is not (1)."""
    assert document(capsys, "check", "--json") == {"schema": "check/1", "problems": []}
    (tmp_path / "a.yaml").write_text("format: 1\nnonsense: {}\n")
    assert main(["check", str(tmp_path), "--json"]) == 1
    problem = json.loads(capsys.readouterr().out)["problems"][0]
    assert set(problem) == {"file", "line", "column", "code", "message", "fix"}
    symptoms = document(capsys, "show", "symptoms", "--layout", "opposed-4", "--json")["symptoms"]
    drop = next(s for s in symptoms if s["id"] == "drop")
    assert [g["id"] for g in drop["grades"]] == ["normal", "excessive", "severe", "dies"]
    assert drop["places"] == ["left", "right"]


def test_a_limit_is_shown_with_its_value_unit_and_document(capsys):
    """The figure and its unit on the page and in the list; an effect, a caution and a state of access have pages too."""
    told = {}
    for what in ("e_gap", "limits", "circuit_silent", "turn_by_hand", "cowl_off", "history", "cautions"):
        assert main(["show", what]) == 0
        told[what] = " ".join(capsys.readouterr().out.split())
    assert "value 10 deg magnet, h32b p4-29" in told["e_gap"]
    assert "revision -" in told["e_gap"]
    assert "[10 deg magnet]" in told["limits"]
    assert "rough@side:" in told["circuit_silent"]
    assert "used by:" in told["circuit_silent"]
    assert "turns it by hand" in told["turn_by_hand"]
    assert "minutes 15" in told["cowl_off"]
    assert "recent_plug_work" in told["history"]
    assert "prop_live" in told["cautions"]


def test_an_overlay_is_checked_as_it_is_used_and_a_whole_rule_base_by_itself(capsys, tmp_path):
    """A folder that states no version lies over the shipped rule base; one that states it has to hold together alone."""
    (tmp_path / "mine.yaml").write_text("format: 1\nnumbers: estimate\nlimits:\n  e_gap: {value: 9}\n")
    assert main(["check", str(tmp_path)]) == 0
    assert "over the shipped rule base: 0 problems" in capsys.readouterr().err
    (tmp_path / "mine.yaml").write_text("format: 1\nnumbers: estimate\nlimits:\n  e_gapp: {value: 9}\n")
    assert main(["check", str(tmp_path)]) == 1
    assert "mine.yaml:4:" in capsys.readouterr().out
    (tmp_path / "version.yaml").write_text("format: 1\nrulebase: {version: 9.0.0}\n")
    assert main(["check", str(tmp_path)]) == 1
    assert "over the shipped" not in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.parametrize(
    ("argv", "absent"),
    [
        (["--help"], ["networkx", "numpy", "rich"]),
        (["--version"], ["networkx", "numpy", "rich"]),
        (["rank", *TROUBLE, "--json"], ["rich"]),
        (["next", *TROUBLE, "--json"], ["rich"]),
    ],
)
def test_what_costs_is_imported_late(argv, absent):
    """Heavy modules stay out of commands that do not need them."""
    code = f"import sys\nfrom diagnose.__main__ import main\nmain({argv!r})\nprint([m for m in {absent!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.slow
def test_demo_ends_confirmed_in_eighty_columns(demo):
    """The invented trouble is confirmed; no line is wider than 80, no escape when piped."""
    text = demo.screen
    assert "COMPLAINT GONE" in text
    assert "invented" in text
    assert max(len(line.rstrip()) for line in text.splitlines()) <= 80
    assert "\x1b" not in text


def spawn(*argv, **env):
    """Run the command in its own process, output piped."""
    return subprocess.run([sys.executable, "-m", "diagnose", *argv], capture_output=True, text=True, env={**os.environ, **env})


RANK_KEYS = {
    "schema",
    "rulebase",
    "layout",
    "complaint",
    "ignored",
    "exact",
    "state",
    "causes",
    "families",
    "unmodelled",
    "ambiguity",
    "next",
}
CAUSE_KEYS = {"id", "cause", "place", "family", "jasc", "probability", "responsible", "words"}
CHECK_KEYS = {"check", "place", "minutes", "access", "people", "value", "why", "cautions"}


def test_rank_rows_have_every_key(capsys):
    """Other programs read these names; keys may be added, none may be missing."""
    found = document(capsys, "rank", *TROUBLE, "--json")
    assert set(found) >= RANK_KEYS
    assert set(found["rulebase"]) == {"version", "sha256"}
    for row in found["causes"]:
        assert set(row) >= CAUSE_KEYS
        assert row["id"] == f"{row['cause']}@{row['place']}"
        assert row["responsible"] <= row["probability"] + 1e-9
    for row in found["next"]:
        assert set(row) >= CHECK_KEYS
        assert "results" not in row


def test_equal_causes_stand_in_the_order_of_their_ids(capsys):
    """Falling share, ties by id."""
    order = [(-c["responsible"], c["id"]) for c in document(capsys, "rank", *TROUBLE, "--json")["causes"]]
    assert order == sorted(order)


def test_cause_rows_name_their_remedies_under_the_key_others_read(capsys):
    """`remedy: [ids]`, each one an id that `show remedies` lists."""
    known = {r["id"] for r in document(capsys, "show", "remedies", "--json")["remedies"]}
    for row in document(capsys, "rank", *TROUBLE, "--json")["causes"]:
        assert row["remedy"]
        assert set(row["remedy"]) <= known


@pytest.mark.slow
def test_next_rows_have_every_key(capsys):
    """Each outcome lists results that `rank` accepts, its probability, and causes."""
    found = document(capsys, "next", *TROUBLE, "--json", "--all")
    assert set(found) >= {"schema", "next"}
    for row in found["next"]:
        assert set(row) >= CHECK_KEYS | {"results"}
        for outcome in row["results"]:
            assert set(outcome) >= {"results", "probability", "top"}
            assert 0 < outcome["probability"] < 1
            assert all(set(t) >= {"id", "responsible"} for t in outcome["top"])
    first_three = document(capsys, "rank", *TROUBLE, "--json")["next"]
    assert first_three == [{k: v for k, v in row.items() if k != "results"} for row in found["next"][:3]]


def test_symptom_rows_have_every_key(capsys):
    """Regimes hold their default; the first grade alone is normal."""
    keys = {"id", "kind", "label", "regimes", "default_regime", "places", "grades", "synonyms", "some_kind"}
    for row in document(capsys, "show", "symptoms", "--layout", "radial-7", "--json")["symptoms"]:
        assert keys <= set(row)  # and what was added since: question, suffixes
        assert row["default_regime"] in row["regimes"]
        assert [g["abnormal"] for g in row["grades"]] == [False] + [True] * (len(row["grades"]) - 1)
        assert all(set(g) == {"id", "text", "abnormal"} for g in row["grades"])


@pytest.mark.parametrize(
    "what", ["symptoms", "causes", "checks", "remedies", "history", "effects", "cautions", "layouts", "limits", "sources"]
)
def test_lists_and_documents_hold_the_same_entries(capsys, what):
    """The text list has one line for every entry of the document, in its order."""
    rows = document(capsys, "show", what, "--json")[what]
    assert main(["show", what]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == [r["id"] for r in rows]


@pytest.mark.slow
@pytest.mark.parametrize("command", ["rank", "next", "why"])
def test_a_case_gives_the_same_bytes_as_its_results(capsys, tmp_path, command):
    """The same results from a file and from the command line, and the same bytes when asked twice."""
    path = str(tmp_path / "a.case")
    assert main(["open", path, "--layout", "opposed-4"]) == 0
    assert main(["enter", path, "rough@left=yes", "--complaint"]) == 0
    assert main(["enter", path, "drop@left=excessive", "drop_fast@left=yes"]) == 0
    told = []
    capsys.readouterr()
    for argv in ([*TROUBLE], [path], [path]):
        assert main([command, *argv, "--json"]) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1] == told[2]


@pytest.mark.slow
def test_two_processes_print_the_same_bytes():
    """No order of a hash leaks into the output."""
    first, second = (spawn("next", *TROUBLE, "--json", PYTHONHASHSEED=seed).stdout for seed in ("1", "2"))
    assert first
    assert first == second


@pytest.mark.slow
def test_stdout_is_for_results_and_stderr_for_talk(tmp_path):
    """`open` and `enter` talk, `verify` prints problems and the head."""
    path = str(tmp_path / "a.case")
    for argv in (["open", path, "--layout", "opposed-4"], ["enter", path, "rough@left=yes"]):
        done = spawn(*argv)
        assert (done.returncode, done.stdout) == (0, "")
        assert done.stderr
    done = spawn("verify", path)
    assert done.stdout.startswith("head ")
    assert "only if this head differs" in done.stderr
    with open(path, "ab") as file:
        file.write(b"{}\n")
    assert spawn("verify", path).returncode == 1


@pytest.mark.slow
def test_an_interrupt_ends_with_130(tmp_path):
    """Ctrl-C at a question; what was answered is kept."""
    path = str(tmp_path / "a.case")
    spawn("open", path, "--layout", "opposed-4")
    # A shell starts what it runs in the background with Ctrl-C ignored, and children inherit that.
    run = subprocess.Popen(
        [sys.executable, "-m", "diagnose", "chase", path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "DIAGNOSE_ASK": "1"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    seen = b""
    while b"when this holds > " not in seen:
        seen += run.stdout.read(1)  # type: ignore[union-attr]
    run.send_signal(signal.SIGINT)
    _, told = run.communicate(timeout=30)
    assert run.returncode == 130
    assert b"Traceback" not in told
    assert b"on disk" in told


@pytest.mark.slow
@pytest.mark.parametrize(
    "argv",
    [
        ["rank", *TROUBLE],
        ["next", *TROUBLE],
        ["why", *TROUBLE],
        ["--help"],
        ["rank", "--help"],
        ["show", "drop"],
        ["show", "plug_lead_fouled"],
        ["show", "mag_check"],
        [],
    ],
)
def test_piped_screens_fit_and_hold_no_escape(argv):
    """As wide as COLUMNS says, 120 at most, and no colour, also where a colour terminal is claimed."""
    done = spawn(*argv, COLUMNS="200", TERM="xterm-256color", FORCE_COLOR="1")
    assert done.returncode == 0
    assert "\x1b" not in done.stdout
    assert max(len(line.rstrip()) for line in done.stdout.splitlines()) <= 120


@pytest.mark.slow
@pytest.mark.parametrize(("setting", "colour"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)])
def test_colour_only_on_a_terminal_that_wants_it(setting, colour):
    """On a terminal: bold without NO_COLOR, nothing of the kind with it."""
    pty = pytest.importorskip("pty", reason="no pseudo-terminal on this system")
    ours, theirs = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR")} | {"TERM": "xterm"} | setting
    run = subprocess.Popen([sys.executable, "-m", "diagnose", "rank", *TROUBLE], stdout=theirs, env=env)
    os.close(theirs)
    seen = b""
    with contextlib.suppress(OSError):  # how a pseudo-terminal says that the other end has gone
        while part := os.read(ours, 4096):
            seen += part
    os.close(ours)
    assert run.wait() == 0
    assert (b"\x1b[" in seen) is colour


STRANGE = ["", " ", "\x1b[31m", "a\nb", "[red]x[/red]", "‮", "é" * 5000, "\udcff", "drp@left=", "@=", "-"]


@pytest.mark.parametrize("text", STRANGE)
@pytest.mark.parametrize(
    "place",
    [
        ["rank", "--layout", "opposed-4", "--result"],
        ["rank", "--layout"],
        ["show"],
        ["nonsense"],
        ["verify"],
        ["why", "--layout", "opposed-4", "--about"],
    ],
)
def test_strange_words_are_answered_in_one_line(capsys, monkeypatch, tmp_path, place, text):
    """Wherever a word can stand: exit code 2, one line that fits a screen, nothing a terminal obeys."""
    monkeypatch.chdir(tmp_path)
    if place[0] == "why" and not text:
        pytest.skip("an empty --about asks for the first causes")
    assert main([*place, text]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("diagnose: ")
    assert told.err.count("\n") == 1
    assert len(told.err) < 800
    assert not set(told.err) & {"\x1b", "\u202e", "\udcff"}


@pytest.mark.parametrize("command", ["rank", "next", "why", "verify", "log", "chase", "enter", "remedy", "correct"])
@pytest.mark.parametrize("kind", ["missing", "folder", "binary", "empty", "foreign"])
def test_what_is_no_case_is_refused(capsys, tmp_path, command, kind):
    """Exit code 2 (`verify`: 1 for what it can read), one line naming the file, and the file untouched."""
    path = tmp_path / "x.case"
    content = {"binary": bytes(range(256)) * 20, "empty": b"", "foreign": b'{"a": 1}\n'}.get(kind)
    if content is not None:
        path.write_bytes(content)
    elif kind == "folder":
        path.mkdir()
    more = {"enter": ["drop@left=normal"], "remedy": ["clean_plug@3-bottom"], "correct": ["2", "--reason", "r"]}.get(command, [])
    code = main([command, str(path), *more])
    told = capsys.readouterr()
    if command == "verify" and content is not None:
        assert code == 1
        assert "x.case" in told.out
    else:
        assert (code, told.out, told.err.count("\n")) == (2, "", 1)
        assert "x.case" in told.err
    assert content is None or path.read_bytes() == content
    assert kind != "missing" or not path.exists()


@pytest.mark.parametrize(
    ("argv", "hint"),
    [
        (["remedy", "clean_plg@3-bottom"], "did you mean clean_plug"),
        (["remedy", "clean_plug@9-bottom"], "not done at '9-bottom'; did you mean"),
        (["remedy", "clean_plug"], "the place is missing"),
        (["correct", "1", "--reason", "r"], "cannot be corrected"),
        (["correct", "99", "--reason", "r"], "cannot be corrected"),
        (["correct", "2", "--reason", " "], "needs its reason"),
        (["correct", "two", "--reason", "r"], "invalid int value"),
        (["correct", "2", "--reason", "r", "--result", "rough@left=bad"], "grades: no, yes"),
        (["enter", "drop@left=normal", "ruogh@left=yes"], "did you mean rough"),
        (["enter", "rough@left=no", "--complaint"], "not abnormal"),
        (["enter", "drop@left=normal", "--check", "clean_plg"], "check 'clean_plg' is not known"),
        (["enter", "plug_lead@3-bottom=yes", "--check", "mag_check"], "cannot come of check 'mag_check@engine', which gives drop, rough"),
        (["enter", "plug_lead@3-bottom=yes", "--check", "mag_check"], "name what gave it: look_at_plug@3-bottom, "),
        (["enter", "plug_lead@3-bottom=yes", "--check", "look_at_plug@1-bottom"], "which gives plug_lead at 1-bottom; "),
        (["enter", "drop@left=normal", "plug_lead@3-bottom=yes", "--check", "mag_check"], "'plug_lead.static@3-bottom=yes' cannot"),
        (["enter", "drop@left=normal", "--note", "n" * 20_001], "too long"),
        (["enter", "drop@left=normal", "--person", "p" * 20_001], "too long"),
        (["rank", "--access", "cowl"], "cowl_off"),
        (["rank", "--layout", "opposed-4"], "not both"),
        (["open", "--layout", "opposed-4"], "exists already"),
        (["log", "--bogus"], "--bogus"),
    ],
)
def test_a_refused_entry_leaves_the_case_as_it_was(capsys, tmp_path, argv, hint):
    """All or nothing: of two results with one wrong, none is recorded."""
    path = tmp_path / "a.case"
    assert main(["open", str(path), "--layout", "opposed-4"]) == 0
    assert main(["enter", str(path), "rough@left=yes"]) == 0
    before = path.read_bytes()
    capsys.readouterr()
    assert main([argv[0], str(path), *argv[1:]]) == 2
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert hint in told.err
    assert path.read_bytes() == before


def test_folders_that_cannot_be_used(capsys, tmp_path):
    """A file where a folder should be, and the other way round."""
    (tmp_path / "f").write_text("")
    for name, hint in (("f/a.case", "a file has that name"), ("", "is a folder")):
        assert main(["open", str(tmp_path / name), "--layout", "opposed-4"]) == 2
        assert hint in capsys.readouterr().err
    for name, hint in (("f", "is a file"), ("g", "does not exist")):
        assert main(["check", str(tmp_path / name)]) == 2
        assert hint in capsys.readouterr().err


def test_markup_of_a_person_is_text(capsys, tmp_path):
    """What looks like markup or an escape is printed as text by `log`."""
    path = str(tmp_path / "a.case")
    assert main(["open", path, "--layout", "opposed-4", "--nickname", "[red]x[/red]", "--complaint", "bad \x1b[31m\u202e"]) == 0
    capsys.readouterr()
    assert main(["log", path]) == 0
    told = capsys.readouterr().out
    assert "[red]x[/red]" in told
    assert "\x1b" not in told
    assert "\u202e" not in told
    assert main(["rank", path]) == 0


def test_a_case_this_rule_base_lacks_words_for_can_still_be_read(capsys, tmp_path):
    """`rank` goes on without the result and says so in one line, `log` prints every entry and says why."""
    path = tmp_path / "a.case"
    assert main(["open", str(path), "--layout", "opposed-4"]) == 0
    log.append(path, "result", "", {"result": "later_word@left=yes"})
    assert main(["rank", str(path)]) == 0
    assert "entry 2: 'later_word@left=yes' counts for nothing" in capsys.readouterr().err
    assert main(["log", str(path)]) == 0
    told = capsys.readouterr()
    assert "later_word@left=yes" in told.out
    assert "entry 2: 'later_word@left=yes' counts for nothing" in told.err


@pytest.mark.slow
def test_access_counts_for_a_case_too(capsys, tmp_path):
    """With the cowl off already, no check that needs it costs more, and one costs less."""
    path = str(tmp_path / "a.case")
    assert main(["open", path, "--layout", "opposed-4"]) == 0
    assert main(["enter", path, "rough@left=yes"]) == 0
    capsys.readouterr()
    plain, open_ = (
        {(c["check"], c["place"]): c["minutes"] for c in document(capsys, "next", path, *more, "--json")["next"]}
        for more in ([], ["--access", "cowl_off"])
    )
    both = plain.keys() & open_.keys()
    assert all(open_[k] <= plain[k] for k in both)
    assert any(open_[k] < plain[k] for k in both)


def test_results_that_cannot_all_be_true_are_one_clear_line(capsys):
    """Rough somewhere, and smooth at every place it could be: which result to look at again is named."""
    given = ["--complaint", "rough@some=yes", *(x for p in ("left", "right", "engine") for x in ("--result", f"rough@{p}=no"))]
    assert main(["rank", "--layout", "opposed-4", *given]) == 2
    told = capsys.readouterr().err
    assert "cannot all be true: rough.runup@some=yes and its places one by one" in told
    assert len(told.strip().splitlines()) == 1


HIDDEN = "\x1b[31m\x9b31m\u202e\u200b\x7f\U000e0041"


def test_json_holds_nothing_a_terminal_obeys_and_says_the_same(capsys, tmp_path):
    """Escapes of JSON for what is not shown: the document read back is as it was entered."""
    path = str(tmp_path / "a.case")
    assert main(["open", path, "--layout", "opposed-4", "--nickname", f"x{HIDDEN}y"]) == 0
    capsys.readouterr()
    for argv in (["list", str(tmp_path), "--json"], ["list", str(tmp_path)], ["log", path], ["show", "drop"]):
        assert main(argv) == 0
        out = capsys.readouterr().out
        assert not set(out) & {c for c in HIDDEN if not c.isprintable()}
        if "--json" in argv:
            assert json.loads(out)["cases"][0]["nickname"] == f"x{HIDDEN}y"
    (tmp_path / "a\x1bb.yaml").write_text('format: 1\nlimits: {"e\\e[31mgap": 5}\n')
    assert main(["check", str(tmp_path)]) == 1
    assert "\x1b" not in capsys.readouterr().out


@pytest.mark.slow
@pytest.mark.parametrize("command", ["--help", "--version", "calc --help", "show limits", "log {case}"])
@pytest.mark.parametrize("out", [">/dev/full", ">&-", "<&- >&- 2>&-"])
def test_output_that_cannot_be_written_is_one_line_and_exit_1(tmp_path, command, out):
    """A full disk or a closed stdout: no trace, no exit 0."""
    if not os.path.exists("/dev/full"):
        pytest.skip("no such device here")
    path = tmp_path / "a.case"
    assert main(["open", str(path), "--layout", "opposed-4"]) == 0
    line = f"'{sys.executable}' -m diagnose {command.format(case=path)} {out}"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr.count("\n") == (0 if "2>" in out else 1)
    assert "Traceback" not in done.stderr


@pytest.mark.slow
def test_an_entry_is_kept_with_every_stream_closed(tmp_path):
    """The case file is never taken for the missing stdout."""
    path = tmp_path / "a.case"
    assert main(["open", str(path), "--layout", "opposed-4"]) == 0
    line = f"'{sys.executable}' -m diagnose enter '{path}' rough@left=yes --complaint <&- >&- 2>&-"
    assert subprocess.run(["sh", "-c", line], check=False).returncode == 0
    assert main(["verify", str(path)]) == 0
    assert log.read(path).events[-1].data["result"] == "rough.runup@left=yes"


@pytest.mark.parametrize(
    "argv", [["open", "{}", "--layout", "opposed-4"], ["list", "{}"], ["rank", "{}"], ["check", "{}"], ["demo", "--save", "{}"]]
)
def test_a_name_that_is_too_long_is_bad_input(capsys, tmp_path, argv):
    """Exit code 2 and one line, whatever the name was for."""
    assert main([part.format(tmp_path / ("n" * 300)) for part in argv]) == 2
    told = capsys.readouterr().err
    assert "too long" in told.splitlines()[-1]
    assert "Traceback" not in told
