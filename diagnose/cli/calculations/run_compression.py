"""`calc compression`: differential compression of one cylinder."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.circuits import read_cylinder
from diagnose.calc.compression import MAKER, WHERE, CompressionReading, compression_answer, read_gauges, read_pressure
from diagnose.calc.units import Quantity
from diagnose.cli.calculations.options import add_document, entered, quantity

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "differential compression: leakage, the rule it is judged by, and where the air goes"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the compression check."""
    parser.add_argument("--cylinder", required=True, metavar="N", help="cylinder number")
    parser.add_argument("--reading", required=True, metavar="P", help='cylinder gauge over input, 74/80, or the gauge alone: "60 psi"')
    parser.add_argument("--regulated", metavar="P", help="input pressure; 80 psi unless given")
    parser.add_argument("--hot", action="store_true", help="engine has just run")
    parser.add_argument("--recheck", action="store_true", help="this is the test after the 3 minute run")
    parser.add_argument("--air", choices=tuple(WHERE), default="", help="where escaping air is heard")
    parser.add_argument("--bore", metavar="D", help='bore with unit, for the orifice: "5.125 in"')
    parser.add_argument("--maker-limit", metavar="P", help="lowest reading the maker allows, such as 60 psi")
    add_document(parser)


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the compression check. Raises BadInput."""
    own = entered(MAKER, None, args, known)
    lowest = None if args.maker_limit is None else read_pressure(args.maker_limit, "maker's limit")
    if lowest is None and own.entered:
        lowest = Quantity(own.value, "psi", "pressure")
    cylinder, regulated = read_gauges(args.reading, args.regulated)
    return compression_answer(
        CompressionReading(
            cylinder=read_cylinder(args.cylinder),
            reading=cylinder,
            regulated=regulated,
            hot=args.hot,
            recheck=args.recheck,
            air=args.air,
            bore=quantity(args.bore, "length", "bore"),
            maker_limit=lowest,
            document=args.document or own.document,
            revision=args.revision or own.revision,
        )
    )
