"""`calc egt`: a table of EGT and CHT per cylinder, from a file or typed."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.egt_table import RISE_HIGH, RISE_LOW, RiseLimits
from diagnose.calc.egt_words import egt_answer
from diagnose.calc.readings_csv import COLUMNS, HEADER, Temperatures, read_csv, typed
from diagnose.calc.units import find_unit, read_quantity, written_in
from diagnose.cli.calculations.options import add_document, add_layout, add_regime, entered, read_layout
from diagnose.problems import BadInput
from diagnose.report.text import say

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

MOST_LINES = 20
HELP = "EGT and CHT per cylinder on both, left and right: which circuit does not do its work"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the EGT table."""
    add_layout(parser)
    parser.add_argument("--file", metavar="CSV", help=f"readings; header: {HEADER}")
    for column in COLUMNS:
        option = "--" + column.replace("_", "-")
        parser.add_argument(option, metavar="A,B,...", help="one reading per cylinder, - where not read")
    parser.add_argument("--unit", help="F or C, of the typed readings")
    parser.add_argument("--rise-low", metavar="D", help='healthy rise from, with unit: "50 F"')
    parser.add_argument("--rise-high", metavar="D", help='healthy rise to, with unit: "100 F"')
    add_document(parser)
    add_regime(parser)


def _from_file(name: str, cylinders: int) -> Temperatures:
    try:
        lines = Path(name).read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(f"{name}: cannot be read ({reason}); give a CSV file of readings") from error
    table, problems = read_csv(lines, cylinders, name)
    if len(problems) == 1:
        raise BadInput(str(problems[0]))
    if problems:
        for problem in problems[:MOST_LINES]:
            say(str(problem))
        shown = f" (the first {MOST_LINES} are above)" if len(problems) > MOST_LINES else ""
        raise BadInput(f"{name}: {len(problems)} rows cannot be used{shown}; mend them and read the file again")
    return table


def _typed(args: argparse.Namespace, cylinders: int) -> Temperatures:
    lists = {column: text for column in COLUMNS if (text := getattr(args, column)) is not None}
    if not lists:
        raise BadInput("readings: none given; give --file, or --egt-both and --egt-left or --egt-right")
    return typed(lists, find_unit(args.unit or "", "temperature", "--unit").symbol, cylinders)


def _rise(text: str | None, what: str) -> float | None:
    return None if text is None else written_in(read_quantity(text, "temperature difference", what), "degF")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the EGT table. Raises BadInput."""
    layout = read_layout(args, known)
    table = _from_file(args.file, layout.cylinders) if args.file else _typed(args, layout.cylinders)
    low = entered(RISE_LOW, _rise(args.rise_low, "healthy rise, from"), args, known)
    high = entered(RISE_HIGH, _rise(args.rise_high, "healthy rise, to"), args, known)
    if not 0 < low.value < high.value:
        raise BadInput(f"healthy rise: {low.value:g} to {high.value:g} degF; give a smaller, then a larger rise")
    return egt_answer(table, layout, RiseLimits(low, high), args.regime)
