"""``calc units``: one number in other units."""

import argparse

from diagnose.calc.commands.options import FindLayout
from diagnose.calc.conversion import conversion_answer
from diagnose.calc.record import Answer

HELP = "one number in other units; a temperature difference is not a temperature"


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of the conversion."""
    parser.add_argument("number", help='number with unit: "300 lb-in"')
    parser.add_argument("to", nargs="?", help="unit wanted; all of the kind unless given")
    parser.add_argument("--difference", action="store_true", help="degrees of rise or fall, not a temperature")


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """The conversion. Raises CalcError."""
    return conversion_answer(args.number, args.to, args.difference)
