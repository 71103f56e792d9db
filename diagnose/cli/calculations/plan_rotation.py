"""`calc rotation`: from which hole to which each plug goes."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.rotation import SCHEMES, rotation_answer
from diagnose.cli.calculations.options import add_layout, read_layout

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "plug rotation: from where to where, checked for polarity and position"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the rotation plan."""
    add_layout(parser)
    parser.add_argument(
        "--scheme",
        choices=SCHEMES,
        default="mirror",
        help="mirror: the published pairs; next: to the next cylinder in the firing order",
    )
    known = parser.add_mutually_exclusive_group()
    known.add_argument("--magnetos-same", action="store_true", help="both give a cylinder the same sign")
    known.add_argument("--magnetos-opposite", action="store_true", help="they give it opposite signs")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the rotation plan. Raises BadInput."""
    together = True if args.magnetos_same else (False if args.magnetos_opposite else None)
    return rotation_answer(read_layout(args, known), args.scheme, together)
