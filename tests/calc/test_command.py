"""The command: every calculation as text and JSON, and bad input as one line with exit status 2."""

import argparse
import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

import diagnose.calc
from diagnose.calc.command import add_arguments, run
from diagnose.calc.commands import ALL

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
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    return run(parser.parse_args([name, *options]))


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
    ("compression", ["--cylinder", "3", "--reading", "60"]),
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
    assert out.err.startswith(f"calc {name}: ")
    assert out.err.count(";") >= 1  # what and why; how to mend it


def test_600_line_file_with_one_bad_row(tmp_path, capsys):
    rows = [f"{n % 6 + 1},1300,1370" for n in range(599)]
    rows[300] = "3,1300,oops"
    file = tmp_path / "run.csv"
    file.write_text("cylinder,egt_both_F,egt_left_F\n" + "\n".join(rows) + "\n", encoding="utf-8")
    assert call("egt", *SIX, "--file", str(file)) == 2
    err = capsys.readouterr().err
    assert err.splitlines() == [f"calc egt: {file}:302: egt_left: 'oops' is not a number; write digits with a decimal point, such as 0.018"]
    file.write_text(file.read_text().replace("oops", "1370"), encoding="utf-8")
    assert call("egt", *SIX, "--file", str(file)) == 0


def test_another_source_of_layouts(capsys):
    """The caller may look layouts up elsewhere."""
    from diagnose.calc.layout import cross_fired

    parser = argparse.ArgumentParser()
    add_arguments(parser)
    args = parser.parse_args(["firing", "--layout", "mine"])
    assert run(args, lambda name: cross_fired((1, 4, 2, 3), name=name)) == 0
    assert "1-4-2-3" in capsys.readouterr().out


FOLDER = Path(diagnose.calc.__file__).parent


def test_floor_rule_imports_nothing_above():
    """The arithmetic stands alone: of this project it imports only itself."""
    for file in FOLDER.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            for name in names:
                assert not name.startswith("diagnose") or name.startswith("diagnose.calc"), (file, name)


def test_no_heavy_library_is_loaded():
    heavy = "{'numpy', 'networkx', 'rich', 'pint', 'yaml'}"
    code = f"import sys, diagnose.calc.command; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=FOLDER.parent.parent)
    assert done.stdout.strip() == "[]"


def test_every_screen_defers_and_none_signs(capsys):
    for name, options in EXAMPLES.items():
        call(name, *options)
        text = capsys.readouterr().out.lower()
        assert "airworthy" not in text
        assert "released" not in text
