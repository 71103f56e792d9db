"""Parts exchanged in a case: what follows is about where they stand now - results, remedies, papers, the engines."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.assess import planned
from diagnose.belief import exact, reference
from diagnose.case import log
from diagnose.case.case import load
from diagnose.trouble.complaint import complaint_gone, completed, still_to_look_at
from diagnose.trouble.evidence import prepare
from diagnose.trouble.exchanges import Exchange, moved_links, parts_away, places_now
from diagnose.trouble.network import build
from diagnose.trouble.trouble import seen_nodes
from tests.belief.test_engines import agree
from tests.review.test_library import SUSPECT, made, run
from tests.talking import talk

BASE = loaded.rulebase()
NETWORK = loaded.network_of((), "opposed-4")
HERE, THERE = "3-bottom", "1-top"  # one of each magneto


def plugs(*pairs):
    """Return exchanges of plugs."""
    return [Exchange("swap_plug", a, b) for a, b in pairs]


def exchanged(path, results=(), after=()):
    """Return a case in which the plugs of HERE and THERE changed places, with results before and entries after."""
    more = [("exchange", {"exchange": f"swap_plug@{HERE},{THERE}"}), *after]
    return load(made(path, [*SUSPECT, *results], more=more), BASE)


@pytest.mark.parametrize(
    ("pairs", "home", "now"),
    [
        ([("1-top", "2-top")], "1-top", "2-top"),
        ([("1-top", "2-top"), ("2-top", "3-bottom")], "1-top", "3-bottom"),
        ([("1-top", "2-top"), ("2-top", "3-bottom")], "3-bottom", "2-top"),
        ([("1-top", "2-top"), ("3-bottom", "4-top")], "4-top", "3-bottom"),
    ],
)
def test_where_parts_stand_followed_by_hand(pairs, home, now):
    """Slips moved on paper: a part goes on from where the last exchange left it."""
    assert parts_away(BASE, plugs(*pairs))["swap_plug", home] == now


def test_three_exchanges_round_and_back():
    """Exchanged twice is home again; three in a ring leave one pair changed."""
    assert parts_away(BASE, plugs(("1-top", "2-top"), ("2-top", "1-top"))) == {}
    ring = parts_away(BASE, plugs(("1-top", "2-top"), ("2-top", "3-bottom"), ("1-top", "3-bottom")))
    assert ring == {("swap_plug", "2-top"): "3-bottom", ("swap_plug", "3-bottom"): "2-top"}


def test_only_causes_of_the_plug_move():
    """Lead, block and cylinder stay; every plug cause that the exchange tells moves."""
    now = places_now(NETWORK, plugs((HERE, THERE)))
    assert now[f"plug_lead_fouled@{HERE}"] == THERE
    assert now[f"plug_nose_cracked@{THERE}"] == HERE
    assert not [c for c in now if c.startswith(("lead_", "block_", "rings", "valve"))]
    assert {c.split("@")[1] for c in now} == {HERE, THERE}


def test_what_a_worn_cylinder_did_to_its_plug_goes_along():
    """Oil past the rings of No. 3 stays in No. 3, but its oily plug is now found in THERE; nothing else of it moves."""
    links = moved_links(NETWORK, plugs((HERE, THERE)))["rings_worn@3"]
    assert links["plug_oil.static@" + HERE] == "plug_oil.static@" + THERE
    assert all((a.rpartition("@")[2], b.rpartition("@")[2]) == (HERE, THERE) for a, b in links.items())


@pytest.mark.slow
def test_both_engines_agree_on_a_case_with_an_exchange(tmp_path):
    """The plain formula and the fast engine, on results before and after an exchange and a remedy."""
    case = exchanged(
        tmp_path / "a.case",
        after=[
            ("result", {"result": f"plug_lead@{THERE}=yes"}),
            ("result", {"result": f"plug_lead@{HERE}=no"}),
            ("repair", {"remedy": f"clean_plug@{THERE}"}),
            ("result", {"result": "rough@left=no"}),
        ],
    )
    kept = ("plug_lead_fouled", "plug_resistor_high", "lead_open", "rings_worn", "bottom_plugs_lead_fouled")
    few = build(replace(BASE, causes={c: BASE.causes[c] for c in kept}), NETWORK.layout)
    evidence = prepare(few, completed(BASE, case.trouble).looks).evidence
    assert len(evidence.looks) == 3
    assert sum(len(look.moved) for look in evidence.looks) > 10
    agree(exact.believe(few.model, evidence), reference.believe(few.model, evidence), 1e-9)


def test_a_result_after_the_exchange_speaks_of_the_part_that_stands_there(tmp_path):
    """Lead found on the plug now in THERE accuses the plug from HERE; without the exchange it accuses THERE's own."""
    found = ("result", {"result": f"plug_lead@{THERE}=yes"})
    moved = exchanged(tmp_path / "a.case", after=[found]).trouble
    plain = load(made(tmp_path / "b.case", SUSPECT, more=[found]), BASE).trouble
    here, there = f"plug_lead_fouled@{HERE}", f"plug_lead_fouled@{THERE}"
    with_it, without = (exact.believe(NETWORK.model, prepare(NETWORK, completed(BASE, t).looks).evidence).present for t in (moved, plain))
    assert with_it[here] > 0.5
    assert with_it[here] > without[here] + 0.1
    assert with_it[there] < without[there] / 2


def test_a_remedy_ends_the_causes_of_the_part_that_stands_there(tmp_path):
    """Cleaning the plug in THERE ends what came with it from HERE, and leaves the plug now in HERE as it was."""
    case = exchanged(tmp_path / "a.case", after=[("repair", {"remedy": f"clean_plug@{THERE}"})])
    removed = prepare(NETWORK, case.trouble.looks).removed
    assert f"plug_lead_fouled@{HERE}" in removed
    assert f"plug_lead_fouled@{THERE}" not in removed


@pytest.mark.slow
def test_the_remedy_is_offered_where_the_part_stands(tmp_path):
    """The repair group of the plug from HERE is worked on in THERE; the lead's stays."""
    case = exchanged(tmp_path / "a.case")
    groups = planned(NETWORK, completed(BASE, case.trouble))[1]
    holder = {c: key for key, g in groups.items() for c in g.causes}
    assert holder[f"plug_lead_fouled@{HERE}"] == f"clean_plug@{THERE}"
    assert holder[f"plug_lead_fouled@{THERE}"] == f"clean_plug@{HERE}"
    lead = next(c for c in NETWORK.causes if c.startswith("lead_open") and c.endswith(f"@{HERE}"))
    assert holder[lead].endswith(f"@{HERE}")


def test_what_was_seen_stays_seen_but_for_the_exchanged_places(tmp_path):
    """An exchange is no repair: nothing is asked twice that it cannot have changed, and the complaint waits for no run."""
    case = exchanged(tmp_path / "a.case", [f"plug_lead@{HERE}=no", "plug_lead@4-top=no", "timing_late@left=no"])
    seen = seen_nodes(NETWORK, case.trouble.looks)
    assert "plug_lead.static@4-top" in seen
    assert "timing_late.static@left" in seen
    assert "rough.runup@left" not in seen, "the plug went to the other magneto, and its miss with it"
    assert f"plug_lead.static@{HERE}" not in seen
    assert still_to_look_at(case.trouble.looks) == ()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("swap_plugs@1-top,2-top", "did you mean swap_plug"),
        ("look_at_plug@1-top,2-top", "no check that exchanges parts"),
        ("swap_plug@1-top", "write swap_plug@PLACE,PLACE"),
        ("swap_plug@1-top,1-top", "both places are the same"),
        ("swap_plug@1-top,9-top", "no part of it stands at '9-top'"),
        ("", "no check that exchanges parts"),
    ],
)
def test_a_wrong_exchange_is_one_line_and_nothing_is_kept(tmp_path, capsys, text, told):
    """Exit code 2, what and how to mend, the file as before."""
    path = made(tmp_path / "a.case", SUSPECT)
    before = path.read_bytes()
    code, out, err = run(capsys, "exchange", path, text)
    assert (code, out) == (2, "")
    assert told in err
    assert err.count("\n") == 1
    assert path.read_bytes() == before


@pytest.mark.slow
def test_the_exchange_on_screens_and_papers(tmp_path, capsys):
    """Ranking, JSON, hand-over, worksheet, draft and replay all say where the plug is."""
    path = made(tmp_path / "a.case", SUSPECT)
    assert run(capsys, "exchange", path, f"swap_plug@{HERE},{THERE}", "--note", "marked red", "--person", "anna")[0] == 0
    _, out, _ = run(capsys, "rank", path)
    assert f"No. 3 bottom plug, now in {THERE}: " in out
    assert "The plug of No. 3 bottom (left) is now in No. 1 top" in out
    _, out, _ = run(capsys, "rank", path, "--json")
    rows = {r["id"]: r for r in json.loads(out)["causes"]}
    assert rows[f"plug_lead_fouled@{HERE}"]["stands"] == THERE
    assert "stands" not in rows[f"lead_open@{HERE}"]
    for command in ("handover", "report"):
        _, out, _ = run(capsys, command, path)
        assert "is now in No. 1 top" in out
    _, out, _ = run(capsys, "record", path)
    assert "Plugs of No. 3 bottom (left) and No. 1 top" in out
    assert "marked red" in out
    _, out, _ = run(capsys, "replay", path)
    assert f"exchange: swap_plug@{HERE},{THERE}" in out


def test_an_exchange_withdrawn_never_was(tmp_path, capsys):
    """Corrected away, belief and groups are as before."""
    plain, path = made(tmp_path / "a.case", SUSPECT), made(tmp_path / "b.case", SUSPECT)
    run(capsys, "exchange", path, f"swap_plug@{HERE},{THERE}")
    seq = log.read(path).events[-1].seq
    assert run(capsys, "correct", path, str(seq), "--reason", "the other plug")[0] == 0
    assert load(path, BASE).trouble == load(plain, BASE).trouble


@pytest.mark.slow
def test_the_interview_asks_where_the_plug_stands(tmp_path):
    """After the exchange check: a wrong place is explained, the right one kept, and the ranking says so; b takes it back."""
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "quick.yaml").write_text("format: 1\nnumbers: estimate\nchecks:\n  swap_plug: {minutes: .5, access: []}\n")
    own = ("--rulebase", str(tmp_path / "own"))
    clean = [f"plug_{s}@{HERE}=no" for s in ("lead", "soot", "oil", "bridged", "cracked")]
    path = made(tmp_path / "a.case", ["rough@left=yes", f"egt_low@{HERE}=yes", *clean])
    listed = talk(path, "", "o", options=own)[1]
    number = next(row.split()[0] for row in listed.splitlines() if "Exchange the suspect plug" in row)
    out = talk(path, "", "o", number, "to see", "d", "on", "", "", "yes", "nowhere", THERE, "b", options=own)[1]
    assert "Where does the plug of 3-bottom stand now" in " ".join(out.split())
    assert "no part of it stands at 'nowhere'" in out
    assert f"No. 3 bottom plug, now in {THERE}: " in " ".join(out.split())
    assert "Taken back (it stays in the file): exchanged: " in " ".join(out.split())
    kinds = [e.kind for e in log.read(path).events]
    assert kinds.count("exchange") == 1
    assert load(path, BASE).trouble.looks[-1].exchange is None


def test_a_rule_base_that_says_only_half_is_refused(tmp_path, capsys):
    """`moves` without `part`, and a symptom the check does not give: told with line and fix."""
    (tmp_path / "own.yaml").write_text("format: 1\nchecks:\n  look_at_plug: {moves: fault_follows_plug}\n")
    code, out, err = run(capsys, "rank", "--layout", "opposed-4", "--result", "rough@left=yes", "--rulebase", tmp_path)
    assert code == 1
    assert "own.yaml:3" in err + out
    assert "say both" in err + out
    assert "name one of its own symptoms" in err + out
    assert main(["check", str(tmp_path)]) == 1


def test_a_fault_that_went_to_the_other_magneto_is_not_gone(tmp_path, capsys):
    """The wrong plug cleaned after an exchange across sides: the complaint is quiet where it was and shows where the plug went."""
    after = [
        ("repair", {"remedy": f"clean_plug@{HERE}"}),
        *(("result", {"result": r}) for r in ("rough.runup@left=no", "drop.runup@left=normal", "rough.runup@right=yes")),
    ]
    more = [("exchange", {"exchange": f"swap_plug@{HERE},{THERE}"}), *after]
    case = load(made(tmp_path / "a.case", SUSPECT, more=more), BASE)
    assert NETWORK.layout.side_of[HERE] != NETWORK.layout.side_of[THERE]
    assert not complaint_gone(completed(BASE, case.trouble).looks)
    quiet = [*more[:-1], ("result", {"result": "rough.runup@right=no"})]
    case = load(made(tmp_path / "b.case", SUSPECT, more=quiet), BASE)
    assert complaint_gone(completed(BASE, case.trouble).looks)


@pytest.mark.parametrize(("other", "gone"), [("1-bottom", True), ("1-top", False)])
def test_a_complaint_elsewhere_counts_only_where_the_parts_reach(tmp_path, other, gone):
    """No. 1 bottom is fired by the same magneto as No. 3 bottom: what the right one does later cannot have gone there with the plug."""
    assert NETWORK.layout.side_of["1-bottom"] == NETWORK.layout.side_of["3-bottom"] == "left" != NETWORK.layout.side_of["1-top"]
    more = [
        ("exchange", {"exchange": f"swap_plug@3-bottom,{other}"}),
        ("repair", {"remedy": f"clean_plug@{other}"}),
        *(("result", {"result": r}) for r in ("rough.runup@left=no", "drop.runup@left=normal", "rough.runup@right=yes")),
    ]
    case = load(made(tmp_path / "a.case", SUSPECT, more=more), BASE)
    assert complaint_gone(completed(BASE, case.trouble).looks) is gone


@pytest.mark.slow
def test_the_worksheet_names_the_cause_that_went_along(tmp_path, capsys):
    """Cleaned where the plug stands: the repair ended the cause that came with it, and the paper says so."""
    more = [
        ("exchange", {"exchange": f"swap_plug@{HERE},{THERE}"}),
        ("result", {"result": f"plug_lead@{THERE}=yes"}),
        ("result", {"result": f"plug_lead@{HERE}=no"}),
        ("repair", {"remedy": f"clean_plug@{THERE}"}),
        ("result", {"result": "rough.runup@left=no"}),
    ]
    _, out, _ = run(capsys, "report", made(tmp_path / "a.case", SUSPECT, more=more))
    assert "Most likely: No. 3 bottom plug, then in No. 1 top (right): fouled with lead; repaired." in " ".join(out.split())


@pytest.mark.parametrize(
    ("check", "told"),
    [
        ("bench_magneto@4-top", "it is not done at '4-top'"),
        ("bench_magnet@left", "did you mean bench_magneto"),
    ],
)
def test_a_check_at_a_place_it_is_not_done_at_is_refused(tmp_path, capsys, check, told):
    """One line, exit code 2, nothing kept."""
    path = made(tmp_path / "a.case", SUSPECT)
    before = path.read_bytes()
    code, _, err = run(capsys, "enter", path, "spark_weak@left=no", "--check", check)
    assert (code, path.read_bytes()) == (2, before)
    assert told in err
