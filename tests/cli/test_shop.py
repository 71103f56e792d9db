"""`shop`: a sheet of readings into a case in one write, or not at all; asked for place by place where there is a terminal."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.cli.app import run
from tests.talking import talk

SHEET = """place,gap,resistance,insulation,compression,air,clearance
2,,,,52/80,exhaust,
3B,26 thou,1.8k,40M at 10 kV,,,
right,,,,,,18
"""
RESULTS = {
    "compression_low.hot@2=yes",
    "plug_gap_wide.static@3-bottom=yes",
    "plug_gap_narrow.static@3-bottom=no",
    "plug_resistance_high.static@3-bottom=no",
    "lead_leakage.static@3-bottom=yes",
    "points_gap_narrow.static@right=no",
    "points_gap_wide.static@right=no",
}


@pytest.fixture
def case(tmp_path):
    base = loaded.rulebase()
    open_case(tmp_path / "a.case", base, base.layouts["opposed-4"], "", {})
    return tmp_path / "a.case"


def live(case):
    return {str(r) for r in load(case, loaded.rulebase()).trouble.looks[-1].results}


def test_a_sheet_is_one_entry_of_readings_with_its_results(case, tmp_path, capsys):
    """Cells as written, limits with their standing, tool and person stand in the reading; withdrawn, it takes all results along."""
    (tmp_path / "s.csv").write_text(SHEET)
    more = ["--hot", "--tool", "tester 4", "--calibration", "2099-01-31", "--person", "Ann"]
    assert run(["shop", str(case), "--csv", str(tmp_path / "s.csv"), *more]) == 0
    out = capsys.readouterr().out
    assert out.startswith("3 OUT OF LIMITS, 2 within; 33 not looked at")
    assert "typical; enter your manual's" in out
    assert "AC 43.13-1B para 8-14" in out
    assert live(case) == RESULTS
    reading, *results = log.read(case).events[1:]
    assert [r.kind for r in results] == ["result"] * 7
    assert {r.data["from"] for r in results} == {reading.seq}
    assert (reading.person, reading.data["tool"], reading.data["calibration"]) == ("Ann", "tester 4", "2099-01-31")
    given = {v["name"]: v["value"] for v in reading.data["inputs"]}
    assert given["compression"] == "2 52/80, air heard at exhaust"
    assert (given["plug gap"], given["point clearance"]) == ("3-bottom 26 thou", "right 18 thou")
    assert all(limit["standing"] for limit in reading.data["limits"])
    assert run(["correct", str(case), str(reading.seq), "--reason", "another engine"]) == 0
    assert live(case) == set()


def test_one_bad_cell_and_nothing_is_stored(case, tmp_path, capsys):
    before = case.read_bytes()
    (tmp_path / "s.csv").write_text(SHEET.replace("18\n", "18 miles\n").replace("1.8k", "1.8"))
    assert run(["shop", str(case), "--csv", str(tmp_path / "s.csv"), "--json"]) == 1
    said = capsys.readouterr()
    assert [(p["line"], p["column"]) for p in json.loads(said.out)["problems"]] == [(3, 12), (4, 12)]
    assert "nothing was stored" in said.err
    assert case.read_bytes() == before


def test_an_empty_sheet_enters_nothing(case, tmp_path, capsys):
    before, sheet = case.read_bytes(), str(tmp_path / "s.csv")
    assert run(["shop", str(case), "--blank", "--out", sheet]) == 0
    assert run(["shop", str(case), "--csv", sheet]) == 0
    assert "nothing was entered" in capsys.readouterr().err
    assert case.read_bytes() == before


def test_without_a_case_a_sheet_is_judged_by_the_shop_s_own_limits(tmp_path, capsys):
    mine = tmp_path / "mine"
    mine.mkdir()
    limit = "{label: 'Widest gap', value: 0.4, unit: mm, document: 'book 74-20', revision: '4', source: [memory], numbers: from memory}"
    (mine / "limits.yaml").write_text(f"format: 1\nlimits:\n  plug_gap_max: {limit}\n")
    (tmp_path / "s.csv").write_text("place,gap\n1T,.018\n")
    assert run(["shop", "--layout", "opposed-6", "--csv", str(tmp_path / "s.csv"), "--json", "--rulebase", str(mine)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [(c["place"], c["verdict"]) for c in found["cells"]] == [("1-top", "OUT")]
    assert found["limits"][1]["standing"] == "book 74-20 (revision: 4)"
    assert len(found["not_read"]) == 12 * 4 + 6 + 2 - 1


def test_asked_place_by_place(case):
    """Gaps and compressions only; b goes back to the plug before, a wrong cell is told at its own prompt; Enter is not looked at."""
    answers = ["5 1", "y", "74/80", "", ".018", ".19", "b", "17 thou", "26 thou", "q", ""]
    code, screen, _ = talk(case, *answers, command="shop")
    assert code == 0
    assert "may be in more than one unit" in screen
    assert "OUT: Gap too wide" in screen
    assert "No. 1 top (right), plug gap" in screen
    assert "resistance" not in screen.split("SHOP SHEET", 1)[1].split("not looked at")[0]
    assert {r for r in live(case) if not r.endswith("=no")} == {"plug_gap_wide.static@1-bottom=yes"}
    assert log.read(case).events[1].data["inputs"][0]["value"] == "1-top 17 thou; 1-bottom 26 thou"


@pytest.mark.parametrize("answers", [("1", ".018", "q", "n"), ("1", ".018"), ("q",)])
def test_nothing_is_kept_unless_it_is_said_to_be_right(case, answers):
    before = case.read_bytes()
    assert talk(case, *answers, command="shop")[0] == 0
    assert case.read_bytes() == before


def test_where_nobody_can_be_asked_it_says_what_to_give(case, capsys):
    assert run(["shop", str(case)]) == 2
    assert "--csv FILE" in capsys.readouterr().err
