"""``calc drop``: what one and two silent cylinders, or late timing, cost in rpm."""

import argparse

from diagnose.calc.commands.options import FindLayout, needed
from diagnose.calc.drop_table import drop_answer
from diagnose.calc.record import Answer

HELP = "estimate of the drop for one and two silent cylinders and for late timing"


def add(parser: argparse.ArgumentParser) -> None:
    """Options of the estimate."""
    parser.add_argument("--rpm", default="1750", help="rpm on both; 1750 unless given")


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """The estimate. Raises CalcError."""
    return drop_answer(needed(args.rpm, "rpm on both", "rpm"))
