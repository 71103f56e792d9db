"""Listing, searching, replaying and comparing case files."""

from __future__ import annotations

import json
import time
from itertools import pairwise

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.advice import advice
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.case.still_open import still_open
from diagnose.review.shelf import Shelved, case_files, earlier_cases, earlier_lines, shelf

pytestmark = pytest.mark.slow

SUSPECT = ["rough.runup@left=yes", "drop.runup@left=excessive", "drop_fast.runup@left=yes", "egt_low.runup@3-bottom=yes"]
OWN = "format: 1\nnumbers: estimate\ncauses:\n  plug_lead_fouled: {prior_by: {bottom: .0001, top: .0001}}\n"


def made(path, results=(), layout="opposed-4", advise=False, more=(), **opening):
    """Write a case; with `advise` what the tool said after each result, as `chase` records it."""
    base = loaded.rulebase()
    open_case(path, base, base.layouts[layout], "anna", opening)
    for text in results:
        log.append(path, "result", "anna", {"result": text, "complaint": text.startswith("rough") and text.endswith("yes")})
    for kind, data in more:
        log.append(path, kind, "anna", data)
    if advise:
        advised(path)
    return path


def advised(path):
    """Record what the tool says now."""
    case, network = loaded.case_at(str(path))
    log.append(path, "advice", "", advice(loaded.assessed(network, case.trouble), network.base))


def repaired(path, remedy="clean_plug@3-bottom", confirmed=True, **opening):
    """Write a case that ends with a repair, its complaint gone or not."""
    after = ("result", {"result": "rough.runup@left=no"})
    return made(path, SUSPECT, more=[("repair", {"remedy": remedy}), *([after] if confirmed else [])], **opening)


def run(capsys, *argv):
    """Return exit code, stdout and stderr of a command."""
    capsys.readouterr()
    code = main([str(a) for a in argv])
    told = capsys.readouterr()
    return code, told.out, told.err


def listed(capsys, *argv):
    """Return the file names a list gives, in its order."""
    code, out, _ = run(capsys, "list", *argv, "--json")
    assert code == 0
    document = json.loads(out)
    assert document["schema"] == "list/1"
    return [row["file"].rsplit("/", 1)[1] for row in document["cases"]]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a folder of five cases, each a year later than the one before, and files that are none."""
    home = tmp_path / "cases"
    (home / "old").mkdir(parents=True)

    def year(number):
        monkeypatch.setenv("DIAGNOSE_CLOCK", f"{number}-03-04T05:06:07Z")

    year(2031)
    repaired(home / "old" / "first.case", nickname="Blue  Bird", words="shook at run-up")
    year(2032)
    repaired(home / "second.case", confirmed=False, nickname="blue bird")
    log.append(home / "second.case", "unit", "", {"unit": "engine", "text": "serial ZQ-77"})
    year(2033)
    made(home / "third.case", SUSPECT, nickname="Heron", more=[("note", {"note": "order the gasket", "open": True})])
    year(2034)
    made(
        home / "fourth.case",
        nickname="Heron",
        layout="radial-9",
        more=[("note", {"note": "look at the harness", "open": True}), ("note", {"note": "looked", "closes": 2})],
    )
    year(2035)
    made(
        home / "fifth.case",
        SUSPECT,
        nickname="Stork",
        more=[
            ("repair", {"remedy": "replace_plug@3-bottom", "off": ["plug 00K1"], "on": ["plug 00K2"]}),
            ("result", {"result": "rough.runup@left=no"}),
        ],
    )
    (home / "notes.txt").write_text("no case\n")
    (home / "data.json").write_text('{"schema": "other/1"}\n')
    (home / "picture.bin").write_bytes(bytes(range(256)))
    (home / ".new-0011").write_bytes((home / "fifth.case").read_bytes())
    year(2036)
    return home


def test_newest_first_and_only_cases(folder, capsys):
    """Also those of folders inside; files of other kinds are passed over without a word."""
    assert listed(capsys, folder) == ["fifth.case", "fourth.case", "third.case", "second.case", "first.case"]
    assert run(capsys, "list", folder)[2] == ""


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (["--nickname", " BLUE bird "], ["second", "first"]),
        (["--nickname", "blue"], []),
        (["--open"], ["fifth", "fourth", "third", "second", "first"]),  # of first and fifth only the complaint was run again
        (["--serial", "zq-77"], ["second"]),
        (["--serial", "00k1"], ["fifth"]),
        (["--serial", "00K2"], ["fifth"]),
        (["--serial", "run-up"], []),
        (["--text", "RUN-UP shook"], ["first"]),
        (["--text", "gasket"], ["third"]),
        (["--cause", "plug_lead_fouled@3-bottom"], ["fifth", "third", "second", "first"]),  # a new plug ends it too
        (["--cause", "plug_lead_fouled@1-top"], []),
        (["--cause", "plug_electrodes_worn"], ["fifth"]),
        (["--cause", "plug_electrodes_worn@1-top"], []),
        (["--nickname", "Heron", "--open", "--text", "gasket"], ["third"]),
    ],
)
def test_searches(folder, capsys, wanted, found):
    """Each way alone and together; a cause is one that a repair ended or that ranks first now."""
    assert listed(capsys, folder, *wanted) == [f"{name}.case" for name in found]


def test_what_a_row_says(folder, capsys):
    """State from the entries alone, open items not closed, repairs with their day."""
    rows = {r["file"].rsplit("/", 1)[1]: r for r in json.loads(run(capsys, "list", folder, "--json")[1])["cases"]}
    assert [rows[f"{n}.case"]["state"] for n in ("first", "second", "third", "fourth", "fifth")] == [
        "gone, run not finished",
        "repaired, not confirmed",
        "open",
        "no complaint",
        "gone, run not finished",
    ]
    assert rows["third.case"]["open"] == [{"entry": 6, "text": "order the gasket"}]
    assert rows["fourth.case"]["open"] == []
    assert rows["second.case"]["repairs"] == [{"entry": 6, "time": "2032-03-04T05:06:07Z", "remedy": "clean_plug@3-bottom"}]
    assert all(r["cause"] is None for r in rows.values()), "nothing was ranked and no advice is recorded"


def test_the_state_is_read_where_the_papers_read_it(tmp_path, capsys):
    """Confirmed only once no part of the run is missing, the static rpm last; a second complaint is open though the first is gone."""
    repair = ("repair", {"remedy": "clean_plug@3-bottom"})
    path = made(tmp_path / "a.case", ["rough.runup@left=yes"], more=[repair])
    base, seen, told = loaded.rulebase(), ["rough.runup@left"], ""
    seen += [f"{part.symptom}.{part.regime}@{part.place}" for part in base.confirming.values()]
    for name in dict.fromkeys(seen):
        ident = name.partition(".")[0]
        log.append(path, "result", "anna", {"result": f"{name}={base.symptoms[ident].names[0]}"})
        (row,) = json.loads(run(capsys, "list", path, "--json")[1])["cases"]
        told = row["state"]
        left = still_open(load(path, base), loaded.network_of((), "opposed-4"))
        assert row["still_open"] == [o.text for o in left]
        assert (told == "confirmed") == (not {o.kind for o in left} & {"complaint", "again", "run"})
        assert listed(capsys, path, "--open"), "its cowling is off"
    assert told == "confirmed"
    log.append(path, "result", "anna", {"result": "rough.runup@right=yes", "complaint": True})
    (row,) = json.loads(run(capsys, "list", path, "--json")[1])["cases"]
    assert row["state"] == "one gone, one open"
    assert row["still_open"]


def test_the_first_cause_is_that_of_the_last_advice(tmp_path, capsys):
    """As recorded, without ranking; --cause works it out anew and finds the same."""
    made(tmp_path / "a.case", SUSPECT, advise=True)
    (row,) = json.loads(run(capsys, "list", tmp_path, "--json")[1])["cases"]
    assert row["cause"] == "plug_lead_fouled@3-bottom"
    (again,) = json.loads(run(capsys, "list", tmp_path, "--cause", row["cause"], "--json")[1])["cases"]
    assert again["responsible"] == pytest.approx(row["responsible"], abs=1e-9)


def test_a_broken_case_is_a_note(folder, capsys):
    """Spoilt, empty, torn, of an unknown layout: the list goes on and every bad file is named once."""
    (folder / "spoilt.case").write_bytes((folder / "third.case").read_bytes().replace(b'"kind": "result"', b'"kind": 5', 1))
    (folder / "empty.case").write_bytes(b"")
    (folder / "other.case").write_bytes((folder / "third.case").read_bytes().replace(b"opposed-4", b"opposed-5", 1))
    (folder / "deep.case").write_bytes(b"[" * 100_000 + b"\n")
    with (folder / "third.case").open("ab") as file:
        file.write(b'{"torn')
    code, out, err = run(capsys, "list", folder)
    assert code == 0
    assert "5 cases, newest first" in out
    assert len(err.splitlines()) == 4
    for name in ("spoilt", "empty", "other", "deep"):
        assert sum(f"{name}.case" in told for told in err.splitlines()) == 1
    assert len(json.loads(run(capsys, "list", folder, "--json")[1])["notes"]) == 4


def test_bad_wishes_are_refused(folder, capsys):
    """A folder that is not there, a cause nobody knows: one line, code 2."""
    for argv in ([folder / "nowhere"], [folder, "--cause", "plug_led_fouled"]):
        code, out, err = run(capsys, "list", *argv)
        assert code == 2
        assert out == ""
        assert len(err.splitlines()) == 1
    assert "plug_lead_fouled" in err


def test_texts_of_people_cannot_command_the_terminal(tmp_path, capsys):
    """Escapes and direction marks come out as their numbers, in 80 columns."""
    made(tmp_path / "a.case", SUSPECT, nickname="\x1b[31mred\u202e", more=[("note", {"note": "bell\x07 " + "word " * 60, "open": True})])
    for argv in (["list", tmp_path], ["replay", tmp_path / "a.case"], ["compare", tmp_path / "a.case", tmp_path / "a.case"]):
        out = run(capsys, *argv)[1]
        assert not set(out) & {"\x1b", "\u202e", "\x07"}
        assert max(len(line) for line in out.splitlines() if str(tmp_path) not in line) <= 80


def test_hundreds_of_cases_are_listed_in_seconds(tmp_path, capsys):
    """Three hundred of forty entries; nothing is ranked for it."""
    base = loaded.rulebase()
    entries = [("result", {"result": text}) for text in [*SUSPECT, *(f"plug_oil@{c}=no" for c in base.layouts["opposed-4"].circuits)] * 3]
    for number in range(300):
        open_case(tmp_path / f"{number}.case", base, base.layouts["opposed-4"], "", {"nickname": str(number)})
        log.append_all(tmp_path / f"{number}.case", "", entries)
    begun = time.monotonic()
    assert len(listed(capsys, tmp_path)) == 300
    assert time.monotonic() - begun < 15


def test_a_fault_that_is_back_shows_the_earlier_repairs(folder, capsys):
    """Same aircraft, same cause, same place; not the case asked from, not other aircraft, nothing without a nickname."""
    base = loaded.rulebase()
    repaired(folder / "again.case", nickname="Blue Bird")
    (folder / "first.case").write_bytes((folder / "old" / "first.case").read_bytes())
    found = earlier_cases(folder, "BLUE BIRD", base, ["plug_lead_fouled@3-bottom"], folder / "again.case")
    assert [(e.file.name, e.remedy, e.place, e.confirmed) for e in found] == [
        ("second.case", "clean_plug", "3-bottom", False),
        ("first.case", "clean_plug", "3-bottom", True),
    ]
    assert str(found[1]) == f"2031-03-04: {base.remedies['clean_plug'].label}, 3-bottom; complaint gone then (first.case)"
    assert earlier_cases(folder, "Blue Bird", base, ["plug_lead_fouled@1-top"]) == []
    assert earlier_cases(folder, "Blue Bird", base, ["magneto_points_burnt@left"]) == []
    assert earlier_cases(folder, "", base) == []
    case, network = loaded.case_at(str(folder / "again.case"))
    assert earlier_lines(case, network, ["plug_lead_fouled@3-bottom"]) == [str(e) for e in found]
    code, _, err = run(capsys, "open", folder / "new.case", "--layout", "opposed-4", "--nickname", "blue bird")
    assert code == 0
    assert sum("repaired before on this aircraft" in told for told in err.splitlines()) == 3


@pytest.mark.fast
def test_a_withdrawn_repair_is_none(tmp_path):
    """What was taken back does not count as a repair."""
    path = repaired(tmp_path / "a.case", nickname="Heron")
    log.append(path, "correct", "anna", {"corrects": 6, "withdrawn": True, "reason": "other plug"})
    assert earlier_cases(tmp_path, "Heron", loaded.rulebase()) == []
    (row,) = shelf(case_files([path]), loaded.rulebase())
    assert isinstance(row, Shelved)
    assert row.repairs == ()


def test_the_same_repair_in_two_cases_is_pointed_out(folder, capsys):
    """In the list, by aircraft and place."""
    document = json.loads(run(capsys, "list", folder, "--json")[1])
    assert [(a["nickname"], a["remedy"], len(a["files"])) for a in document["again"]] == [("blue bird", "clean_plug@3-bottom", 2)]
    assert "back again: clean_plug@3-bottom on blue bird" in " ".join(run(capsys, "list", folder)[1].split())


def test_a_case_reproduces_what_was_advised(tmp_path, capsys):
    """After every result, a repair and a correction: the same numbers to the last digit kept."""
    path = made(tmp_path / "a.case")
    for text in SUSPECT:
        log.append(path, "result", "", {"result": text, "complaint": text.startswith("rough")})
        advised(path)
    log.append(path, "correct", "", {"corrects": 6, "result": "drop_fast.runup@left=no", "reason": "misread"})
    advised(path)
    log.append(path, "repair", "", {"remedy": "clean_plug@3-bottom"})
    advised(path)
    code, out, _ = run(capsys, "replay", path, "--json")
    document = json.loads(out)
    assert (code, document["schema"], document["reproduced"]) == (0, "replay/1", True)
    assert [(a["same_rulebase"], a["reproduced"]) for a in document["advice"]] == [(True, True)] * 6
    for entry in document["advice"]:
        step = [s for s in document["steps"] if s["entry"] < entry["entry"]][-1]
        recorded = dict(map(tuple, log.read(path).events[entry["entry"] - 1].data["top"]))
        for row in step["after"]["causes"]:
            assert recorded[row["id"]] == pytest.approx(row["share"], abs=1e-9)
    for earlier, later in pairwise(document["steps"]):
        assert later["before"] == earlier["after"]
    assert "reproduced: all 6 advice entries" in run(capsys, "replay", path)[1]


@pytest.mark.parametrize("field", ["top", "unmodelled", "state", "check", "minutes"])
def test_a_number_that_is_not_reproduced_is_named(tmp_path, capsys, field):
    """A share moved by a hundred-millionth, a state, a check: code 1, the entry, the field, both values, the rule base."""
    path = made(tmp_path / "a.case", SUSPECT)
    case, network = loaded.case_at(str(path))
    said = advice(loaded.assessed(network, case.trouble), network.base)
    wrong = {
        "top": [[said["top"][0][0], said["top"][0][1] - 1e-8], *said["top"][1:]],
        "unmodelled": said["unmodelled"] + 1e-8,
        "state": "confirmed",
        "check": "look_at_plug@1-top",
        "minutes": said["minutes"] + 1,
    }
    log.append(path, "advice", "", {**said, field: wrong[field]})
    code, out, _ = run(capsys, "replay", path, "--json")
    (entry,) = json.loads(out)["advice"]
    assert code == 1
    assert [d["what"] for d in entry["differences"]] == [said["top"][0][0] if field == "top" else field]
    assert entry["entry"] == 6
    code, out, _ = run(capsys, "replay", path)
    assert code == 1
    assert "NOT REPRODUCED: 1 of 1" in out
    assert network.base.sha256[:12] in out


def test_a_change_below_the_limit_is_none(tmp_path, capsys):
    """A tenth of a billionth is rounding."""
    path = made(tmp_path / "a.case", SUSPECT)
    case, network = loaded.case_at(str(path))
    said = advice(loaded.assessed(network, case.trouble), network.base)
    log.append(path, "advice", "", {**said, "unmodelled": said["unmodelled"] + 1e-10})
    assert run(capsys, "replay", path)[0] == 0


@pytest.mark.parametrize("where", ["advice", "opening"])
def test_another_rule_base_is_a_note(tmp_path, capsys, where):
    """Numbers of another rule base may differ: code 0, told as such; an older entry goes by the opening."""
    own = tmp_path / "own"
    own.mkdir()
    (own / "own.yaml").write_text(OWN)
    path = made(tmp_path / "a.case", SUSPECT)
    case, network = loaded.case_at(str(path))
    said = advice(loaded.assessed(network, case.trouble), network.base)
    if where == "opening":
        del said["rulebase"]
    log.append(path, "advice", "", said)
    assert run(capsys, "replay", path)[0] == 0
    code, out, _ = run(capsys, "replay", path, "--rulebase", own)
    assert code == 0
    assert "another rule base" in out
    assert network.base.sha256[:12] in out


def test_nothing_recorded_is_said(tmp_path, capsys):
    """Without advice there is nothing to hold against; the steps still come."""
    path = made(tmp_path / "a.case", SUSPECT[:2])
    code, out, _ = run(capsys, "replay", path)
    assert code == 0
    assert "no advice is recorded" in out
    assert json.loads(run(capsys, "replay", path, "--json")[1])["reproduced"] is None


def test_compare_two_cases(tmp_path, capsys):
    """What only one holds, other grades, repairs, and whether the finding changes."""
    made(tmp_path / "a.case", [*SUSPECT, "plug_lead@3-bottom=yes"])
    made(
        tmp_path / "b.case",
        ["rough.runup@left=yes", "drop.runup@left=severe", "drop_fast.runup@left=yes", "egt_low.runup@1-bottom=yes"],
        more=[("repair", {"remedy": "clean_plug@1-bottom"}), ("result", {"result": "rough.runup@left=yes"})],
    )
    code, out, _ = run(capsys, "compare", tmp_path / "a.case", tmp_path / "b.case", "--json")
    document = json.loads(out)
    assert (code, document["schema"]) == (0, "compare/1")
    assert document["only_first"] == ["egt_low.runup@3-bottom=yes", "plug_lead.static@3-bottom=yes"]
    assert document["only_second"] == ["egt_low.runup@1-bottom=yes", "rough.runup@left after repair 1=yes"]
    assert document["grades"] == [{"subject": "drop.runup@left", "first": "excessive", "second": "severe"}]
    assert (document["repairs_only_first"], document["repairs_only_second"]) == ([], ["clean_plug@1-bottom"])
    first = {c["id"]: c["share"] for c in document["first"]["top"]}
    rank = json.loads(run(capsys, "rank", tmp_path / "a.case", "--json")[1])
    assert first == {c["id"]: c["responsible"] for c in rank["causes"][:5]}
    assert any("first cause plug_lead_fouled@3-bottom against" in told for told in document["finding_changes"])
    assert "THE FINDING CHANGES" in run(capsys, "compare", tmp_path / "a.case", tmp_path / "b.case")[1]


def test_a_case_compared_with_itself_is_the_same(tmp_path, capsys):
    """Nothing differs."""
    made(tmp_path / "a.case", SUSPECT)
    out = run(capsys, "compare", tmp_path / "a.case", tmp_path / "a.case")[1]
    assert "the same results, repairs and exchanges" in out
    assert "the finding stays the same" in out


def test_one_case_under_two_rule_bases(tmp_path, capsys):
    """Lead fouling made a hundred times rarer loses its lead; what each reading says equals `rank` under that rule base."""
    own = tmp_path / "own"
    own.mkdir()
    (own / "own.yaml").write_text(OWN)
    path = made(tmp_path / "a.case", SUSPECT)
    document = json.loads(run(capsys, "compare", path, "--against", own, "--json")[1])
    assert document["only_first"] == document["only_second"] == document["grades"] == []
    shares = {row["id"]: (row["first"], row["second"]) for row in document["shares"]}
    for number, extra in enumerate(([], ["--rulebase", own])):
        rank = json.loads(run(capsys, "rank", path, *extra, "--json")[1])
        known = {c["id"]: c["responsible"] for c in rank["causes"]}
        assert all(known[c] == pytest.approx(pair[number], abs=1e-9) for c, pair in shares.items())
    before, after = shares["plug_lead_fouled@3-bottom"]
    assert before > 0.1 > after
    assert any(told.startswith("first cause plug_lead_fouled@3-bottom against") for told in document["finding_changes"])
    assert run(capsys, "compare", path)[0] == 2


def test_earlier_cases_read_only_the_first_line_of_others(tmp_path, monkeypatch):
    """A folder of other aircraft costs one line each: none of them is replayed."""
    for number in range(5):
        repaired(tmp_path / f"{number}.case", nickname=f"Other {number}")
    asked = []

    def noted(path, base):
        asked.append(path)
        return load(path, base)

    monkeypatch.setattr("diagnose.review.shelf.load", noted)
    assert earlier_cases(tmp_path, "Blue Bird", loaded.rulebase()) == []
    assert asked == []
    assert len(earlier_cases(tmp_path, "Other 3", loaded.rulebase())) == 1
    assert [p.name for p in asked] == ["3.case"]
