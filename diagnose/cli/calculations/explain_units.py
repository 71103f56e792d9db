"""`calc units`: one number in other units."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.conversion import conversion_answer

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "one number in other units; a temperature difference is not a temperature"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the conversion."""
    parser.add_argument("number", help='number with unit: "300 lb-in"')
    parser.add_argument("to", nargs="?", help="unit wanted; all of the kind unless given")
    parser.add_argument("--difference", action="store_true", help="degrees of rise or fall, not a temperature")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the conversion. Raises BadInput."""
    return conversion_answer(args.number, args.to, args.difference)
