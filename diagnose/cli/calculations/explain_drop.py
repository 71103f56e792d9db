"""`calc drop`: what one and two silent cylinders, or late timing, cost in rpm."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.drop_table import drop_answer
from diagnose.cli.calculations.options import needed

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "estimate of the drop for one and two silent cylinders and for late timing"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the estimate."""
    parser.add_argument("--rpm", default="1750", help="rpm on both; 1750 unless given")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the estimate. Raises BadInput."""
    return drop_answer(needed(args.rpm, "rpm on both", "rpm"))
