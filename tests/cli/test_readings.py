"""Numbers into a case: what is kept, what is refused, and that numbers and words come to the same finding."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.cli.app import run

ROUGH = ["--both", "1800", "--left", "1560", "--left-run", "rough", "--left-change", "fast", "--right", "1740", "--right-run", "smooth"]
OWN = ["--drop-limit", "125", "--difference-limit", "50", "--document", "handbook 4-12", "--revision", "3"]


@pytest.fixture
def case(tmp_path):
    """Return a fresh case file on opposed-4."""
    return fresh(tmp_path / "a.case")


def fresh(path, layout="opposed-4"):
    base = loaded.rulebase()
    open_case(path, base, base.layouts[layout], "", {})
    return path


def live(case):
    """Return the results that count now."""
    return [str(r) for r in load(case, loaded.rulebase()).trouble.looks[-1].results]


def ranked(case):
    """Return cause -> responsibility of a case."""
    read_case, network = loaded.case_at(str(case))
    assessment = loaded.assessed(network, read_case.trouble)
    return assessment.finding.state, {r.id: r.responsible for r in assessment.finding.causes}


@pytest.mark.slow
def test_numbers_and_words_reach_the_same_finding(case, tmp_path, capsys):
    """A magneto check in rpm ranks as the same check in words."""
    words = fresh(tmp_path / "words.case")
    assert run(["calc", "mag-check", *ROUGH, *OWN, "--into", str(case), "--complaint"]) == 0
    assert run(["enter", str(words), "drop@left=excessive", "rough@left=yes", "--complaint"]) == 0
    told = [
        "no_drop@left=no",
        "drop_fast@left=yes",
        "drop_slow@left=no",
        "drop@right=normal",
        "no_drop@right=no",
        "rough@right=no",
        "drop_difference@engine=yes",
    ]
    assert run(["enter", str(words), *told]) == 0
    (state, numbers), (state_in_words, shares) = ranked(case), ranked(words)
    assert state == state_in_words
    assert numbers == pytest.approx(shares, rel=1e-9)  # summed in another order, hence not to the last bit
    first = max(ranked(case)[1].items(), key=lambda item: item[1])[0]
    assert first == "plug_lead_fouled@3-bottom" or first == "plug_lead_fouled@1-bottom"  # the left magneto's bottom plugs


def test_everything_behind_a_result_is_kept(case):
    """The reading keeps numbers, units, limits with document and revision, tool and calibration; each result names its reading."""
    more = [
        "--tool",
        "tachometer 7",
        "--calibration",
        "2027-01-31",
        "--conditions",
        "oil 60 C",
        "--procedure",
        "handbook 4-12",
        "--check",
        "mag_check@engine",
        "--person",
        "A. Tester",
    ]
    assert run(["calc", "mag-check", *ROUGH, *OWN, "--into", str(case), *more]) == 0
    events = log.read(case).events
    reading = events[1]
    assert reading.kind == "reading"
    assert reading.person == "A. Tester"
    assert {k: reading.data[k] for k in ("tool", "calibration", "conditions", "procedure", "check")} == {
        "tool": "tachometer 7",
        "calibration": "2027-01-31",
        "conditions": "oil 60 C",
        "procedure": "handbook 4-12",
        "check": "mag_check@engine",
    }
    assert [(x["value"], x["unit"], x["document"], x["revision"], x["entered"]) for x in reading.data["limits"]] == [
        (125.0, "rpm", "handbook 4-12", "3", True),
        (50.0, "rpm", "handbook 4-12", "3", True),
    ]
    assert [(x["name"], x["value"], x["unit"]) for x in reading.data["inputs"][:3]] == [
        ("both", 1800.0, "rpm"),
        ("left", 1560.0, "rpm"),
        ("right", 1740.0, "rpm"),
    ]
    assert [e.data["result"] for e in events[2:]] == list(reading.data["results"])
    assert {e.data["from"] for e in events[2:]} == {2}
    assert all(e.data["check"] == "mag_check@engine" for e in events[2:])
    assert log.verify(case)[0] == []


def test_the_complaint_is_what_was_felt_not_every_number(case):
    """With --complaint the squawks are the complaint; how fast the drop came is evidence only."""
    assert run(["calc", "mag-check", *ROUGH, *OWN, "--into", str(case), "--complaint"]) == 0
    complaint = load(case, loaded.rulebase()).trouble.looks[0].complaint
    assert {str(r) for r in complaint} == {"drop.runup@left=excessive", "rough.runup@left=yes"}


def test_a_borderline_reading_is_no_complaint(case, capsys):
    """Within the tachometer's band of the limit nothing is abnormal beyond doubt: refused, and nothing is written."""
    code = run(["calc", "mag-check", "--both", "1800", "--left", "1670", "--right", "1690", *OWN, "--into", str(case), "--complaint"])
    assert code == 2
    assert "leave --complaint out" in capsys.readouterr().err
    assert len(log.read(case).events) == 1


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (["mag-check", "--both", "nan", "--left", "1700"], "calc mag-check: rpm on both"),
        (["mag-check", "--both", "-1800", "--left", "1700"], "calc mag-check: rpm on both"),
        (["mag-check", "--both", "1800", "--left", "1900"], "a rise; read both again"),
        (["mag-check", "--both", "1800", "--left", "1700", "--layout", "opposed-6"], "--layout opposed-6 is not the case's opposed-4"),
        (["mag-check", "--both", "1800", "--left", "1700", "--check", "mag_chek@engine"], "did you mean mag_check"),
        (["plug", "--plug", "3-bottom", "--gap", "0.019 psi"], "in"),
        (["plug", "--plug", "7-bottom", "--gap", "0.019 in"], "7-bottom"),
        (["mag-check", "--both", "1800", "--left", "1700", "--calibration", "soon"], "write 2026-11-30, or: none needed"),
    ],
)
def test_what_cannot_be_used_leaves_the_case_as_it_was(case, capsys, given, told):
    """One clear line, exit 2, and not one entry more."""
    before = case.read_bytes()
    assert run(["calc", *given, "--into", str(case)]) == 2
    captured = capsys.readouterr()
    assert told in captured.err
    assert len(captured.err.strip().splitlines()) == 1
    assert captured.out == ""
    assert case.read_bytes() == before


def test_a_reading_withdrawn_takes_its_results_along(case):
    """The numbers stay readable; the results they came to no longer count."""
    assert run(["calc", "mag-check", *ROUGH, "--into", str(case)]) == 0
    assert run(["enter", str(case), "plug_lead@3-bottom=yes"]) == 0
    assert run(["correct", str(case), "2", "--reason", "read off the wrong engine"]) == 0
    assert live(case) == ["plug_lead.static@3-bottom=yes"] or live(case) == ["plug_lead@3-bottom=yes"]
    assert any(e.kind == "reading" for e in log.read(case).events)


LIMITS = """format: 1
limits:
  mag_drop_max: {label: "Our drop", value: 100, unit: rpm, document: "our handbook", revision: "B", source: [], numbers: common practice}
  plug_gap_max: {label: "Our gap", value: 0.5, unit: mm, document: "our sheet", revision: "2", source: [], numbers: common practice}
  compression_min: {label: "Our least", value: 70, unit: psi, document: "our sheet", revision: "2", source: [], numbers: common practice}
"""


def test_a_shop_s_own_limits_replace_the_typical_ones(tmp_path, capsys):
    """A drop of 110 rpm passes the typical limit and fails the shop's; the answer names the shop's document."""
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "limits.yaml").write_text(LIMITS)
    own = ["--rulebase", str(tmp_path / "own")]
    drop = ["calc", "mag-check", "--layout", "opposed-4", "--both", "1800", "--left", "1670", "--tach-band", "5", "--json"]
    assert run(drop) == 0
    typical = json.loads(capsys.readouterr().out)
    assert run([*drop, *own]) == 0
    shop = json.loads(capsys.readouterr().out)
    assert typical["results"][0] == "drop.runup@left=normal"
    assert typical["typical_limits"]
    assert shop["results"][0] == "drop.runup@left=excessive"
    assert not shop["typical_limits"]
    assert shop["limits"][0]["standing"] == "our handbook (revision: B)"
    gap = ["calc", "plug", "--layout", "opposed-4", "--plug", "3-bottom", "--gap", "0.0205 in", "--json"]  # 0.521 mm
    assert run([*gap, *own]) == 0
    assert "plug_gap_wide.static@3-bottom=yes" in json.loads(capsys.readouterr().out)["results"]
    low = ["calc", "compression", "--cylinder", "2", "--reading", "66 psi", "--hot", "--json"]
    assert run([*low, *own]) == 0
    assert json.loads(capsys.readouterr().out)["results"] == ["compression_low.hot@2=yes"]


def test_a_shop_limit_in_a_wrong_unit_is_refused(tmp_path, capsys):
    """A gap limit in psi is a mistake that must not pass."""
    (tmp_path / "limits.yaml").write_text(LIMITS.replace("unit: mm", "unit: psi"))
    assert run(["calc", "plug", "--layout", "opposed-4", "--plug", "3-bottom", "--gap", "0.02 in", "--rulebase", str(tmp_path)]) == 2
    assert "limit plug_gap_max: its unit is 'psi'; give it in in" in capsys.readouterr().err


GIVEN = {
    "mag-check": ROUGH,
    "static": ["--off-check", "fires"],
    "egt": ["--unit", "F", "--egt-both", "1300,1310,1290,1300", "--egt-left", "1380,1390,1000,1370"],
    "cold-cylinder": ["--unit", "C", "--ambient", "15 C", "--left", "90,95,20,90"],
    "compression": ["--cylinder", "3", "--reading", "50 psi", "--hot"],
    "timing": ["--specified", "25", "--left", "21", "--right", "25"],
    "points": ["--magneto", "left", "--clearance", "0.030 in", "--e-gap", "10", "--e-gap-tolerance", "2", "--e-gap-found", "15"],
    "plug": ["--plug", "3-bottom", "--gap", "0.030 in", "--resistance", "9 kohm"],
    "lead": ["--lead", "3-bottom", "--insulation", "1 Mohm", "--test-voltage", "10 kV"],
}
MOVES = {
    "mag-check": "plug",
    "egt": "3-bottom",
    "cold-cylinder": "3-bottom",
    "compression": "@3",
    "timing": "@left",
    "points": "@left",
    "plug": "3-bottom",
    "lead": "3-bottom",
    "static": "p_lead",
}


@pytest.mark.parametrize("name", GIVEN)
def test_every_calculation_feeds_a_case_and_moves_the_right_place(case, name):
    """Bad numbers of each kind raise a cause where they were measured (how the circuit works)."""
    assert run(["calc", name, *GIVEN[name], "--into", str(case)]) == 0
    read_case, network = loaded.case_at(str(case))
    before = loaded.assessed(network, type(read_case.trouble)()).finding.causes
    after = loaded.assessed(network, read_case.trouble).finding.causes
    prior = {r.id: r.probability for r in before}
    moved = sorted(after, key=lambda r: prior[r.id] - r.probability)[:4]  # a set or a harness may rise before its one plug or lead
    assert any(MOVES[name] in r.id for r in moved), moved


def test_a_torn_end_leaves_whole_entries_that_replay(case):
    """A reading and its results go down in one write; should a disc tear it, every whole line before the tear still counts."""
    assert run(["calc", "mag-check", *ROUGH, "--into", str(case)]) == 0
    whole = case.read_bytes()
    for cut in range(len(whole) - 400, len(whole), 37):
        case.write_bytes(whole[:cut])
        events = load(case, loaded.rulebase()).events
        assert 1 <= len(events) < 11


def test_calc_without_a_case_needs_no_case_options(capsys):
    """--complaint and --check mean nothing without a case."""
    assert run(["calc", "mag-check", "--layout", "opposed-4", *ROUGH, "--complaint"]) == 2
    assert "name it with --into CASE" in capsys.readouterr().err


@pytest.mark.slow
def test_chase_takes_a_check_in_numbers(case):
    """The interview asks one number after another; a wrong one is explained and an unlikely one asked about as it is typed."""
    answers = ["", "m", "eighteen", "1800", "356", "n", "1560", "rough", "fast", "1740", "smooth", *[""] * 8, "", "q"]
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "chase", str(case)],
        input="\n".join(answers) + "\n",
        capture_output=True,
        text=True,
        timeout=120,
        env={**__import__("os").environ, "DIAGNOSE_ASK": "1"},
    )
    assert done.returncode == 0
    assert "Rpm on BOTH before: 'eighteen' is not a number" in done.stdout.replace("\n", " ")
    assert "A drop of 1444 rpm, from 1800 to 356: is that right?" in done.stdout.replace("\n", " ")
    assert "drop.runup@left=excessive" in live(case)
    assert "rough.runup@left=yes" in live(case)


def test_calc_and_the_rule_base_hold_the_same_typical_limits():
    """Every limit a calculation grades by can be found by `show limits`, with the same number, and replaced by a shop's."""
    from diagnose.calc import contact_points, egt_table, leads, mag_check, plugs, timing
    from diagnose.calc.answer import Limit
    from diagnose.case.readings import ALIKE

    base = loaded.rulebase()
    typical = [
        v
        for m in (contact_points, egt_table, leads, mag_check, plugs, timing)
        for v in vars(m).values()
        if isinstance(v, Limit) and v.ident
    ]
    assert len({limit.ident for limit in typical}) == 13
    for limit in typical:
        shipped = base.limits[limit.ident]
        assert (shipped.value.value, ALIKE.get(shipped.unit, shipped.unit)) == (limit.value, limit.unit), limit.ident
