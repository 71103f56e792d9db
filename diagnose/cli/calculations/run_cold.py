"""`calc cold-cylinder`: readings round the engine after a run on one magneto."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.cold_cylinder import ColdRun, cold_answer
from diagnose.calc.readings_csv import read_cell
from diagnose.calc.spans import AIR
from diagnose.calc.units import find_unit, read_plausible, value_in
from diagnose.cli.calculations.options import add_layout, add_regime, read_layout
from diagnose.places import SIDES
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "cold-cylinder check: which cylinders did not fire on which magneto"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the cold-cylinder check."""
    add_layout(parser)
    for side in SIDES:
        parser.add_argument(f"--{side}", metavar="A,B,...", help=f"after running on {side}, - where not read")
    parser.add_argument("--unit", required=True, help="relative, F or C")
    parser.add_argument("--ambient", metavar="T", help='air temperature, needed with F or C: "20 C"')
    add_regime(parser)


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the cold-cylinder check. Raises BadInput."""
    layout = read_layout(args, known)
    unit, ambient = "relative", 0.0
    if args.unit != "relative":
        unit = find_unit(args.unit, "temperature", "--unit (relative, or a temperature)").symbol
        if args.ambient is None:
            raise BadInput(f'--ambient: not given; degrees need the air temperature: "20 {unit[-1]}"')
        ambient = value_in(read_plausible(args.ambient, "temperature", "--ambient", AIR), unit)
    runs = {}
    for side in SIDES:
        text = getattr(args, side)
        if text is not None:
            named = enumerate(text.split(","), 1)
            cells = tuple(read_cell(cell, f"{side}, cylinder {n}", unit) for n, cell in named)
            runs[side] = ColdRun(cells, ambient)
    if not runs:
        raise BadInput("readings: none given; give --left or --right, or both")
    return cold_answer(runs, layout, unit, args.regime)
