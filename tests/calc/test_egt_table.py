"""EGT and CHT tables: healthy rise, a silent circuit, probes, units, and files."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.egt_table import RISE_HIGH, RISE_LOW, egt_results, examine
from diagnose.calc.egt_words import egt_answer
from diagnose.calc.readings_csv import Temperatures, read_csv, typed
from diagnose.problems import BadInput
from tests.calc.engines import engine

FOUR = engine("opposed-4")
SIX = engine("opposed-6")
HEALTHY = {
    "egt_both": "1320,1310,1335,1300",
    "egt_left": "1395,1380,1405,1375",
    "egt_right": "1390,1385,1410,1370",
}


def results(lists, unit="degF", layout=FOUR):
    return egt_results(examine(typed(lists, unit, layout.cylinders), layout), "runup")


def kinds(lists, unit="degF", layout=FOUR):
    return {c.circuit: c.kind for c in examine(typed(lists, unit, layout.cylinders), layout).changes}


def test_healthy_rise_is_the_published_span():
    """50 to 100 degF on healthy cylinders (trade text, Sep/Oct 2010)."""
    assert (RISE_LOW.value, RISE_HIGH.value) == (50, 100)
    assert set(kinds(HEALTHY).values()) == {"healthy"}
    assert {r.partition("=")[2] for r in results(HEALTHY)} == {"no"}


def test_one_circuit_falls_and_its_twin_is_not_blamed():
    """Falling EGT on one magneto is that plug circuit (trade text); its other plug carried the cylinder on
    both."""
    lists = HEALTHY | {"egt_left": "1395,1380,1100,1375", "egt_right": "1390,1385,1340,1370"}
    got = kinds(lists)
    assert got["3-bottom"] == "falls"
    assert got["3-top"] == "already"
    out = results(lists)
    assert "egt_falls.runup@3-bottom=yes" in out
    assert "egt_falls.runup@3-top=no" in out
    assert [r for r in out if r.endswith("=yes")] == ["egt_falls.runup@3-bottom=yes"]


def test_a_small_rise_is_left_open_when_the_twin_is_sound():
    """Well under 50 degF, with the other plug of that cylinder rising as it should: not told apart."""
    out = results(HEALTHY | {"egt_left": "1395,1380,1355,1375"})
    assert "egt_falls.runup@3-bottom=no|yes" in out
    assert "egt_falls.runup@3-top=no" in out


def test_readings_stay_in_their_own_unit_beside_the_change():
    table = egt_answer(typed({"egt_both": "700,710,720,-", "egt_left": "740,750,600,-"}, "degC", 4), FOUR).tables[0]
    assert table.columns[2:5] == ("both C", "alone C", "change")
    assert table.rows[0][2:5] == (700.0, 740.0, "+72")
    assert table.rows[2][2:5] == (720.0, 600.0, "-216")


def test_no_rise_at_all_grades_the_side_and_no_circuit():
    """No drop and no EGT rise: the other magneto still fires (owners' post, agrees with H-8083-32B
    p10-26)."""
    out = results(HEALTHY | {"egt_right": "1322,1309,1336,1300"})
    assert "egt_no_rise.runup@right=yes" in out
    assert "egt_no_rise.runup@left=no" in out
    assert not [r for r in out if "-top" in r and "1-top" in r and "egt_falls" in r]


def test_late_side_rises_too_much_alike():
    """Retarded timing: EGT up on all cylinders of that side (common practice)."""
    lists = HEALTHY | {"egt_left": "1460,1450,1480,1440"}
    assert {kinds(lists)[c] for c in FOUR.fires["left"]} == {"high"}
    answer = egt_answer(typed(lists, "degF", 4), FOUR)
    assert any("fires late, not one plug" in text for text in answer.says)
    assert any("left magneto may be timed later" in text for text in answer.says)


def test_missing_and_dead_probes_are_not_normal():
    out = results(HEALTHY | {"egt_both": "1320,-,1335,70"})
    assert "egt_falls.runup@2-top=cannot" in out
    assert "egt_falls.runup@4-top=unknown" in out
    assert not [r for r in out if r.endswith(("@2-top=no", "@2-bottom=no", "@4-top=no", "@4-bottom=no"))]


def test_unstable_on_one_magneto_only_is_the_plug_and_on_all_the_probe():
    """Unstable EGT of one cylinder on one magneto: that plug is failing (trade text, Jan 2012)."""
    steady = {(f"egt_{p}", n): (1300.0 + add,) * 3 for n in (1, 2, 3, 4) for p, add in (("both", 0), ("left", 70), ("right", 70))}
    wild = (1300.0, 1400.0, 1340.0)
    one = Temperatures("degF", steady | {("egt_left", 3): wild})
    assert {c.circuit: c.kind for c in examine(one, FOUR).changes}["3-bottom"] == "unstable"
    every = Temperatures("degF", steady | {(f"egt_{p}", 3): wild for p in ("both", "left", "right")})
    got = {c.circuit: c.kind for c in examine(every, FOUR).changes}
    assert got["3-bottom"] == got["3-top"] == "probe"


@given(st.lists(st.integers(-300, 200), min_size=4, max_size=4))
def test_degrees_c_give_the_same_answer_as_degrees_f(changes):
    """Differences are converted as differences: the same engine read in F and in C is graded alike."""
    # Multiples of 9 degF are whole degrees C, so that both tables are exact.
    both = [1301, 1310, 1319, 1328]
    one = [b + 9 * (c // 9) for b, c in zip(both, changes, strict=True)]
    in_f = {"egt_both": ",".join(map(str, both)), "egt_left": ",".join(map(str, one))}
    in_c = {name: ",".join(str(round((int(v) - 32) / 1.8, 6)) for v in text.split(",")) for name, text in in_f.items()}
    assert kinds(in_f) == kinds(in_c, "degC")


def test_cold_head_by_cht():
    lists = HEALTHY | {"cht_both": "380,375,390,370", "cht_left": "375,370,300,366"}
    out = results(lists)
    assert "stays_cold.runup@3-bottom=yes" in out
    assert "stays_cold.runup@1-bottom=no" in out


HEADER = "cylinder,egt_both_F,egt_left_F,egt_right_F"


def lines_600():
    rows = [f"{n % 6 + 1},{1300 + n % 7},{1370 + n % 5},{1372 + n % 3}" for n in range(599)]
    return [HEADER, *rows]


def test_600_lines_are_samples_of_six_cylinders():
    table, problems = read_csv(lines_600(), 6)
    assert not problems
    assert sum(len(v) for (column, _), v in table.samples.items() if column == "egt_both") == 599
    assert {c.kind for c in examine(table, SIX).changes} == {"healthy"}


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("3,1300,nan,1370", "nan is not a reading"),
        ("3,1300,13x0,1370", "'13x0'"),
        ("3,1300,1370", "has 3 cells where the header has 4"),
        ("9,1300,1370,1370", "use 1 to 6"),
        ("3,1300,99999,1370", "cannot be right"),
        ("3,1300,1370 C,1370", "does not belong here"),
    ],
)
def test_one_bad_row_in_600_is_one_line_with_its_number(row, says):
    lines = lines_600()
    lines[412] = row
    _, problems = read_csv(lines, 6)
    assert [p.line for p in problems] == [413]
    assert says in str(problems[0])
    assert "\n" not in str(problems[0])


def test_a_bad_row_adds_none_of_its_readings():
    table, problems = read_csv([HEADER, "1,1300,1370,oops", "2,1300,1370,1370"], 6)
    assert len(problems) == 1
    assert {n for _, n in table.samples} == {2}


@pytest.mark.parametrize(
    "header",
    [
        "cyl,egt_both_F",
        "cylinder,egt_both",
        "cylinder,egt_both_K",
        "cylinder,egt_both_F,egt_left_C",
        "cylinder",
        "cylinder,egt_both_F,egt_both_F",
    ],
)
def test_bad_headers(header):
    with pytest.raises(BadInput, match="header"):
        read_csv([header, "1,1300"], 6)


def test_empty_file_and_wrong_count():
    with pytest.raises(BadInput, match="empty"):
        read_csv([], 6)
    with pytest.raises(BadInput, match="3 readings for 4 cylinders"):
        typed({"egt_both": "1,2,3"}, "degF", 4)


@pytest.mark.parametrize("cell", ["1" * 200_000, '"13"00', "9" * 5_000])
def test_a_cell_that_is_no_reading_is_a_problem_of_its_line(cell):
    """A field over the reader's 131,072 characters, a quote in the middle, a number without end."""
    table, problems = read_csv(["# a comment", HEADER, "1,1300,1370,1370", f"2,1300,{cell},1370", f"{cell},1300,1370,1370"], 6, "run.csv")
    assert [(p.file, p.line, p.code) for p in problems] == [("run.csv", 4, "reading"), ("run.csv", 5, "reading")]
    assert all(p.fix and len(str(p)) < 250 for p in problems)
    assert {n for _, n in table.samples} == {1}


def test_quoted_cells_are_read():
    table, problems = read_csv(['"cylinder","egt_both_F"', '"1","1300"', '"",""'], 6)
    assert (problems, table.samples) == ((), {("egt_both", 1): (1300.0,)})
