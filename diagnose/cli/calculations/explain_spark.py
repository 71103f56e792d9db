"""`calc spark-voltage`: the voltage a spark needs."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.spark_voltage import GAP_SPAN, voltage_answer
from diagnose.calc.units import read_plausible, read_quantity

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "voltage a spark needs, new and worn gap, and what altitude does to the distributor"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the explanation."""
    parser.add_argument("--new", default="0.018 in", metavar="D", help="new gap with unit; 0.018 in unless given")
    parser.add_argument("--worn", default="0.030 in", metavar="D", help="worn gap with unit; 0.030 in unless given")
    parser.add_argument("--altitude", default="20000 ft", metavar="H", help="height with unit; 20000 ft unless given")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the explanation. Raises BadInput."""
    return voltage_answer(
        read_plausible(args.new, "length", "new gap", GAP_SPAN),
        read_plausible(args.worn, "length", "worn gap", GAP_SPAN),
        read_quantity(args.altitude, "height", "altitude"),
    )
