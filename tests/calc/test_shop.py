"""The sheet of a shop: how cells are written, each held against the calculation of its own; faults all at once, each at its cell."""

import pytest

from diagnose.calc.answer import Limit
from diagnose.calc.compression import CompressionReading, compression_answer
from diagnose.calc.leads import LeadReadings, lead_answer
from diagnose.calc.plugs import PlugReadings, plug_answer
from diagnose.calc.shop_cells import BY_NAME, COLUMNS, Bench, answer_of, columns_at, places, read_place
from diagnose.calc.shop_csv import blank, read_sheet
from diagnose.calc.shop_sheet import headline, judge, whole
from diagnose.calc.units import Quantity
from diagnose.problems import BadInput
from tests.calc.engines import engine

FOUR, RADIAL = engine("opposed-4"), engine("radial-9")
BENCH = Bench(FOUR)


def psi(value):
    return Quantity(value, "psi", "pressure")


def ohm(value):
    return Quantity(value, "ohm", "resistance")


# The same reading typed with its unit into the calculation itself: a cell never says more or less than that.
@pytest.mark.parametrize(
    ("column", "cell", "expected"),
    [
        *(
            ("gap", t, PlugReadings("3-bottom", gap=Quantity(0.018, "in", "length")))
            for t in (".018", "18 thou", "18", '.018"', "0.4572mm")
        ),
        ("gap", "26 mils", PlugReadings("3-bottom", gap=Quantity(0.026, "in", "length"))),
        *(("resistance", t, PlugReadings("3-bottom", resistance=ohm(6200))) for t in ("6.2k", "6.2 K", "6200", "6.2 kilohm", "0.0062M")),
        *(("resistance", t, PlugReadings("3-bottom", open_resistor=True)) for t in ("over", "OL", "open")),
    ],
)
def test_a_plug_as_it_is_written(column, cell, expected):
    assert answer_of(BY_NAME[column], "3-bottom", {column: cell}, BENCH).results == plug_answer(expected).results


KV = Quantity(10, "kV", "voltage")


@pytest.mark.parametrize(
    ("column", "cell", "expected"),
    [
        *(
            ("insulation", t, LeadReadings("3-bottom", ohm(40e6), test_voltage=KV))
            for t in ("40M at 10 kV", "40 Meg@10kV", "40 megohm @ 10 kV")
        ),
        ("insulation", "2G @ 10kV", LeadReadings("3-bottom", ohm(2e9), test_voltage=KV)),
        ("insulation", "200M at 500 V", LeadReadings("3-bottom", ohm(200e6), test_voltage=Quantity(500, "V", "voltage"))),
        ("continuity", "2 ohms", LeadReadings("3-bottom", continuity=ohm(2))),
        ("continuity", "open", LeadReadings("3-bottom", continuity_over=True)),
    ],
)
def test_a_lead_as_it_is_written(column, cell, expected):
    assert answer_of(BY_NAME[column], "3-bottom", {column: cell}, BENCH).results == lead_answer(expected).results


@pytest.mark.parametrize("hot", [False, True])
@pytest.mark.parametrize(
    ("cell", "gauge", "fed"), [("74/80", 74, 80), ("52/80 psi", 52, 80), ("74", 74, 80), ("5 bar/5.5 bar", 72.5189, 79.7708)]
)
def test_a_compression_as_it_is_written(cell, gauge, fed, hot):
    expected = compression_answer(CompressionReading(2, psi(gauge), psi(fed), hot))
    found = answer_of(BY_NAME["compression"], "2", {"compression": cell, "air": "exhaust"}, Bench(FOUR, hot=hot))
    assert found.results == expected.results
    assert "Air at the exhaust: exhaust valve." in found.says


# What could be two things is asked about, never guessed: .18 may be a slip for .018, 1.8 may be ohm or kohm, m is no M.
@pytest.mark.parametrize(
    ("column", "place", "cell", "told"),
    [
        ("gap", "3-bottom", ".18", "more than one unit"),
        ("gap", "3-bottom", "0.18 in", "did you mean mm?"),
        ("gap", "3-bottom", ".016-.018", "not a number"),
        ("resistance", "3-bottom", "1.8", "more than one unit"),
        ("continuity", "3-bottom", "2", "more than one unit"),
        ("insulation", "3-bottom", "200m at 10 kV", "write M for megohm"),
        ("insulation", "3-bottom", "200M", "no test voltage"),
        ("compression", "2", "5.1", "may be bar or psi"),
        ("compression", "2", "80/74", "above the regulated"),
        ("clearance", "left", "0,4 mm", "decimal comma"),
    ],
)
def test_what_can_be_two_things_is_not_guessed(column, place, cell, told):
    with pytest.raises(BadInput, match=told.replace("?", r"\?")):
        answer_of(BY_NAME[column], place, {column: cell}, BENCH)


@pytest.mark.parametrize("layout", [FOUR, RADIAL])
def test_an_empty_sheet_has_every_cell_of_the_engine_once_and_says_nothing(layout):
    """The order is the engine's: each cylinder with its plugs, then the magnetos; what is not looked at is no result."""
    text = blank(layout)
    rows = [line.split(",") for line in text.splitlines() if not line.startswith("#")][1:]
    assert [row[0] for row in rows] == list(places(layout))
    assert sorted(row[0] for row in rows) == sorted((*layout.circuits, *layout.places("cylinder"), "left", "right"))
    assert [row.count("") for row in rows] == [len(columns_at(row[0])) for row in rows]
    sheet, _, problems = read_sheet(text.splitlines(), Bench(layout))
    assert (problems, sheet.judged, whole(sheet, BENCH).results) == ((), (), ())


def test_only_what_was_read_is_a_result():
    """One normal gap says nothing of the other plugs, nor of this plug's resistor."""
    sheet = judge({"1-top": {"gap": ".018", "resistance": "-", "continuity": ""}}, BENCH)
    assert set(whole(sheet, BENCH).results) == {"electrodes_wide.static@1-top=no", "electrodes_narrow.static@1-top=no"}
    assert headline(sheet) == f"none out of limits, 1 within; {4 * 2 * 4 + 4 + 2 - 1} not looked at"


BAD = """\
# a sheet with every kind of fault; spreadsheets quote cells and put blanks behind commas
place,gap,resistence,insulation,compression,air
1,,,,8,exhaust
1B,.18,,200m,,
9B,.018,,,,
"3 bottom",".018\""",,90M,,
2,,,,,intake
2-top,,,,74/80,
1-bottom,.019,,,,,7
"""


def test_all_faults_of_a_file_are_told_at_once_each_at_its_cell():
    _, _, problems = read_sheet(BAD.splitlines(), BENCH, "s.csv")
    assert [(p.file, p.line, p.column) for p in problems] == [
        ("s.csv", *at) for at in ((2, 11), (3, 6), (4, 4), (4, 9), (5, 1), (6, 22), (7, 7), (8, 10), (9, 10), (9, 19))
    ]
    lines = BAD.splitlines()
    for problem in problems:
        cell = problem.message.partition("cell '")[2].partition("'")[0]
        assert lines[problem.line - 1][problem.column - 1 :].startswith(cell)
        assert problem.fix


def test_the_head_gives_the_unit_of_bare_numbers_and_semicolons_part_cells_too():
    sheet, bench, problems = read_sheet(["place;gap (mm);continuity ohm", "3b;.45;2", "3T;18 thou;"], BENCH)
    assert problems == ()
    assert [(j.place, j.verdict) for j in sheet.judged] == [("3-top", "within"), ("3-bottom", "within"), ("3-bottom", "within")]
    assert bench.units == {"gap": "mm", "continuity": "ohm"}
    assert [j.cell for j in sheet.judged] == ["18 thou", ".45 mm", "2 ohm"]  # what is kept has its unit
    wrong = read_sheet(["place;gap psi", "3b;.45"], BENCH)[2]
    assert "'psi' is not a unit of length" in wrong[0].message


def test_a_shop_s_own_limit_judges_and_is_named():
    """A gap of .018 is too wide where the shop's book says .017 at most."""

    def own(limit):
        if limit.ident != "plug_gap_max":
            return limit
        return Limit(limit.name, 0.017, "in", "book 74-20", "4", True, "", limit.ident)

    sheet = judge({"1-top": {"gap": ".018"}}, Bench(FOUR, own))
    assert [(j.verdict, j.limit.standing) for j in sheet.judged] == [("OUT", "book 74-20 (revision: 4)")]


@pytest.mark.parametrize(
    ("text", "place"),
    [("3-bottom", "3-bottom"), ("3B", "3-bottom"), ("No. 3 bottom", "3-bottom"), ("cyl 3", "3"), ("L", "left"), ("left magneto", "left")],
)
def test_a_place_as_a_shop_writes_it(text, place):
    assert read_place(text, FOUR) == place


def test_positions_of_a_radial_are_its_own():
    assert read_place("5F", RADIAL) == "5-front"
    with pytest.raises(BadInput, match="no place of this engine"):
        read_place("5B", RADIAL)


def test_every_column_of_a_reading_has_a_judge_and_every_other_one_says_whose_it_is():
    assert all((c.judge is None) == bool(c.of) for c in COLUMNS)
