"""The command: every calculation as text and JSON, and bad input as one line with exit status 2."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.cli.app import run
from diagnose.cli.calculations import ALL
from tests.calc.engines import LAYOUTS, engine
from tests.house.floors import arrows, floors, room

FOUR = ["--layout", "opposed-4"]
SIX = ["--layout", "opposed-6"]
EXAMPLES = {
    "mag-check": [*FOUR, "--both", "1750", "--left", "1470", "--left-run", "rough", "--right", "dies"],
    "static": [
        "--rpm",
        "2230",
        "--low",
        "2250",
        "--temperature",
        "30 C",
        "--elevation",
        "1200 ft",
        "--off-check",
        "fires",
    ],
    "confirm": ["--complaint-regime", "high_power", "drop.runup@left=normal"],
    "egt": [*FOUR, "--unit", "F", "--egt-both", "1320,1310,1335,-", "--egt-left", "1395,1380,1100,1375"],
    "cold-cylinder": [
        *SIX,
        "--unit",
        "relative",
        "--right",
        "180,170,100,145,70,60",
        "--left",
        "170,175,170,60,155,45",
    ],
    "compression": ["--cylinder", "3", "--reading", "60 psi", "--air", "exhaust", "--bore", "5.125 in"],
    "timing": [
        *SIX,
        "--specified",
        "22",
        "--left",
        "20",
        "--right",
        "22",
        "--left-lag",
        "30",
        "--left-last",
        "22",
    ],
    "points": [
        *SIX,
        "--clearance",
        "0.010 in",
        "--e-gap",
        "10",
        "--e-gap-tolerance",
        "4",
        "--main-plate",
        "10",
        "--retard",
        "25",
    ],
    "plug": [*FOUR, "--plug", "3-bottom", "--gap", "0.6 mm", "--resistance", "over"],
    "lead": [
        *FOUR,
        "--lead",
        "3-bottom",
        "--insulation",
        "20 Mohm",
        "--test-voltage",
        "10 kV",
        "--continuity",
        "over",
    ],
    "plug-service": [*FOUR, "--torque-low", "300 lb-in", "--torque-high", "30 lb-ft"],
    "rotation": [*SIX, "--scheme", "next"],
    "firing": [*SIX, "--side", "left", "--crossed", "all"],
    "drop": [],
    "spark-voltage": [],
    "units": ["300 lb-in", "N m"],
}


def call(name, *options):
    return run(["calc", name, *options])


def test_every_calculation_has_an_example():
    assert set(EXAMPLES) == set(ALL)


@pytest.mark.parametrize("name", EXAMPLES)
def test_text_fits_80_columns(name, capsys):
    assert call(name, *EXAMPLES[name]) == 0
    out = capsys.readouterr()
    assert out.err == ""
    assert max(map(len, out.out.splitlines())) <= 80
    assert not any(line != line.rstrip() for line in out.out.splitlines())


@pytest.mark.parametrize("name", EXAMPLES)
def test_json_carries_the_same_results(name, capsys):
    assert call(name, *EXAMPLES[name], "--json") == 0
    body = json.loads(capsys.readouterr().out)
    assert body["schema"].startswith("calc-")
    assert body["schema"].endswith("/1")
    call(name, *EXAMPLES[name])
    text = capsys.readouterr().out
    assert all(result in text for result in body["results"])
    assert all(limit["standing"] for limit in body["limits"])


# Calculation, options, a value of its answer, and what it is worked out by hand; a new calculation begins with a row here.
BY_HAND = [
    ("units", ["300 lb-in", "lb-ft"], "in lb-ft", 25),  # twelve inches to the foot
]


# Their values are worked out in the other modules beside this one.
ELSEWHERE = {
    "mag-check",
    "static",
    "confirm",
    "egt",
    "cold-cylinder",
    "compression",
    "timing",
    "points",
    "plug",
    "lead",
    "plug-service",
    "rotation",
    "firing",
    "drop",
    "spark-voltage",
}


def test_every_calculation_has_a_value_worked_out_by_hand():
    assert ELSEWHERE | {name for name, *_ in BY_HAND} == set(ALL)


@pytest.mark.parametrize(("name", "options", "value", "by_hand"), BY_HAND)
def test_values_worked_out_by_hand(name, options, value, by_hand, capsys):
    assert call(name, *options, "--json") == 0
    values = {v["name"]: v["value"] for v in json.loads(capsys.readouterr().out)["values"]}
    assert values[value] == pytest.approx(by_hand)


def test_schemas_are_distinct(capsys):
    seen = []
    for name, options in EXAMPLES.items():
        call(name, *options, "--json")
        seen.append(json.loads(capsys.readouterr().out)["schema"])
    assert len(set(seen)) == len(seen)


BAD = [
    ("mag-check", [*FOUR, "--both", "nan", "--left", "1700"]),
    ("mag-check", [*FOUR, "--both", "inf", "--left", "1700"]),
    ("mag-check", [*FOUR, "--both", "1750", "--left", "-50"]),
    ("mag-check", [*FOUR, "--both", "1750", "--left", "1800"]),
    ("mag-check", [*FOUR, "--both", "1750", "--left", "17oo"]),
    ("mag-check", [*FOUR, "--both", "1750"]),
    ("mag-check", ["--layout", "opposed-5", "--both", "1750", "--left", "1700"]),
    ("mag-check", [*FOUR, "--firing-order", "1-3-2", "--both", "1750", "--left", "1700"]),
    ("plug", [*FOUR, "--plug", "3-bottom", "--gap", "0.018 mm"]),
    ("plug", [*FOUR, "--plug", "3-bottom", "--gap", "0.018"]),
    ("plug", [*FOUR, "--plug", "7-bottom", "--gap", "0.018 in"]),
    ("plug-service", [*FOUR, "--torque-low", "300 lb-ft", "--torque-high", "360 lb-ft"]),
    ("egt", [*FOUR, "--unit", "K", "--egt-both", "1,2,3,4"]),
    ("egt", [*FOUR, "--egt-both", "1,2,3,4"]),
    ("egt", [*FOUR, "--file", "no/such/file.csv"]),
    ("cold-cylinder", [*FOUR, "--unit", "C", "--left", "90,80,90,90"]),
    ("compression", ["--cylinder", "3", "--reading", "60 furlong"]),
    ("units", ["100 furlong"]),
    ("lead", [*FOUR, "--lead", "3-bottom", "--insulation", "20 Mohm"]),
    ("timing", [*FOUR, "--left", "20"]),
    ("points", FOUR),
    ("spark-voltage", ["--new", "3 in"]),
    ("drop", ["--rpm", "nan"]),
    ("static", ["--rpm", "-2200"]),
    ("firing", [*FOUR, "--crossed", "1,3"]),
    ("confirm", ["--complaint-regime", "idle", "drop@left"]),
]


@pytest.mark.parametrize(("name", "options"), BAD)
def test_bad_input_is_one_line_and_exit_2(name, options, capsys):
    assert call(name, *options) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert len(out.err.splitlines()) == 1
    assert out.err.startswith(f"diagnose: calc {name}: ")
    assert out.err.count(";") >= 1  # what and why; how to mend it


DIGITS = "7" * 5_000


@pytest.mark.parametrize(
    ("name", "options", "told"),
    [
        ("compression", ["--cylinder", DIGITS, "--reading", "60 psi"], "cylinder: '77777777777777777777...' is not on this engine"),
        ("firing", [*FOUR, "--side", "left", "--crossed", f"1,{DIGITS}"], "crossed leads: '77777777777777777777...'"),
        ("firing", [*FOUR, "--firing-order", f"1-{DIGITS}"], "firing order: '77777777777777777777...'"),
        ("firing", [*FOUR, "--poles", DIGITS], "poles: '77777777777777777777...'"),
        ("firing", [*FOUR, "--side", "left", "--found", f"{DIGITS}=1-bottom"], "terminal: '77777777777777777777...'"),
        ("mag-check", [*FOUR, "--both", DIGITS, "--left", "1700"], "is 5000 characters long"),
        ("compression", ["--cylinder", "29", "--reading", "60 psi"], "use 1 to 28"),
        ("compression", ["--cylinder", "0", "--reading", "60 psi"], "use 1 to 28"),
        ("compression", ["--cylinder", "3", "--reading", "74/80", "--regulated", "80 psi"], "give it once"),
        ("compression", ["--cylinder", "3", "--reading", "74/80/80"], "is not a number"),
        ("compression", ["--cylinder", "3", "--reading", "74/"], "regulated pressure"),
        ("compression", ["--cylinder", "3", "--reading", "4.2"], "may be bar or psi"),
        ("compression", ["--cylinder", "3", "--reading", "4.2/5.5"], "did you mean bar?"),
        ("compression", ["--cylinder", "3", "--reading", "510"], "did you mean kPa?"),
    ],
)
def test_what_no_gauge_shows_is_told_in_a_line(name, options, told, capsys):
    assert call(name, *options) == 2
    err = capsys.readouterr().err
    assert told in err
    assert len(err.splitlines()) == 1
    assert len(err) < 250


def test_a_value_of_two_dashes_is_refused_by_its_option(capsys):
    """The option parser takes the two dashes for the end of options and would find no value left."""
    assert call("plug", *FOUR, "--plug", "3-bottom", "--resistance=--") == 2
    assert "--resistance" in capsys.readouterr().err
    assert run(["rank", "--layout=--"]) == 2
    assert "--layout" in capsys.readouterr().err


WRITTEN = ["74/80", "74 / 80", "74/80 psi", "74 psi/80 psi", "74", "74 psi", " 74psi "]


@pytest.mark.parametrize("text", WRITTEN)
def test_compression_as_it_is_written_in_the_log(text, capsys):
    assert call("compression", "--cylinder", "3", "--reading", text, "--json") == 0
    inputs = {v["name"]: (v["value"], v["unit"]) for v in json.loads(capsys.readouterr().out)["inputs"]}
    assert (inputs["cylinder"], inputs["regulated"]) == ((74, "psi"), (80, "psi"))


def test_kilopascals_over_kilopascals(capsys):
    assert call("compression", "--cylinder", "3", "--reading", "510/552 kPa", "--json") == 0
    assert [(v["value"], v["unit"]) for v in json.loads(capsys.readouterr().out)["inputs"][:2]] == [(552, "kPa"), (510, "kPa")]


def test_several_bad_rows_are_told_one_by_one(tmp_path, capsys):
    file = tmp_path / "run.csv"
    file.write_text("cylinder,egt_both_F\n" + "1,oops\n" * 30, encoding="utf-8")
    assert call("egt", *FOUR, "--file", str(file)) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 21
    assert lines[0].startswith(f"{file}:2:1: error: egt_both: 'oops'")
    assert "30 rows cannot be used (the first 20 are above); mend them" in lines[-1]


def test_600_line_file_with_one_bad_row(tmp_path, capsys):
    rows = [f"{n % 6 + 1},1300,1370" for n in range(599)]
    rows[300] = "3,1300,oops"
    file = tmp_path / "run.csv"
    file.write_text("cylinder,egt_both_F,egt_left_F\n" + "\n".join(rows) + "\n", encoding="utf-8")
    assert call("egt", *SIX, "--file", str(file)) == 2
    err = capsys.readouterr().err
    told = "egt_left: 'oops' is not a number; write digits with a decimal point, such as 0.018"
    assert err.splitlines() == [f"diagnose: calc egt: {file}:302:1: error: {told} [reading]"]
    file.write_text(file.read_text().replace("oops", "1370"), encoding="utf-8")
    assert call("egt", *SIX, "--file", str(file)) == 0


def test_every_layout_of_the_rule_base_is_there(capsys):
    """There is one table of layouts: whatever the rule base holds, a calculation takes."""
    for name in LAYOUTS:
        assert call("firing", "--layout", name) == 0
        assert "-".join(map(str, engine(name).firing_order)) in capsys.readouterr().out


TOP = Path(__file__).parents[2]
FLOOR = floors((TOP / "DEVELOPERS.md").read_text(encoding="utf-8"))


def test_floor_rule_imports_nothing_above():
    """The arithmetic stands on the ground floors alone, and knows neither argparse nor how a page is laid out."""
    mine = [a for a in arrows(TOP / "diagnose") if room(a.source) == "calc"]
    assert len(mine) > 50
    assert {room(a.target) for a in mine} <= {"calc", "places", "problems"}
    assert all(FLOOR[r] < FLOOR["calc"] for r in ("places", "problems"))
    for file in (TOP / "diagnose" / "calc").rglob("*.py"):
        assert "argparse" not in file.read_text(encoding="utf-8"), file


def test_no_heavy_library_is_loaded():
    """Reading the options of every calculation costs nothing: the rule base waits until a calculation asks for it."""
    heavy = "{'numpy', 'networkx', 'rich', 'pint', 'yaml'}"
    code = f"import sys; from diagnose.cli.parser import make_parser; make_parser('calc'); print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=TOP)
    assert done.stdout.strip() == "[]"


def test_every_screen_defers_and_none_signs(capsys):
    for name, options in EXAMPLES.items():
        call(name, *options)
        text = capsys.readouterr().out.lower()
        assert "airworthy" not in text
        assert "released" not in text
