"""``calc confirm``: what a confirming run still lacks."""

import argparse

from diagnose.calc.commands.options import REGIMES, FindLayout
from diagnose.calc.confirming import confirm_answer
from diagnose.calc.record import Answer

HELP = "what a confirming run still lacks"


def add(parser: argparse.ArgumentParser) -> None:
    """Arguments of the check."""
    parser.add_argument("result", nargs="*", help="results so far, such as drop.runup@left=normal")
    parser.add_argument("--complaint-regime", choices=REGIMES, required=True, help="condition of the complaint")


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """What is missing. Raises CalcError."""
    return confirm_answer(tuple(args.result), args.complaint_regime)
