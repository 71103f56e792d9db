"""`calc confirm`: what a confirming run still lacks."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.confirming import confirm_answer
from diagnose.cli.calculations.options import REGIMES

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "what a confirming run still lacks"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the check."""
    parser.add_argument("result", nargs="*", help="results so far, such as drop.runup@left=normal")
    parser.add_argument("--complaint-regime", choices=REGIMES, required=True, help="condition of the complaint")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return what is missing. Raises BadInput."""
    return confirm_answer(known.confirming(), args.result, args.complaint_regime)
