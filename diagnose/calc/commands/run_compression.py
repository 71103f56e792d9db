"""``calc compression``: differential compression of one cylinder."""

import argparse

from diagnose.calc.commands.options import FindLayout, add_document, entered, quantity, whole_numbers
from diagnose.calc.compression import REGULATED, WHERE, CompressionReading, compression_answer
from diagnose.calc.record import Answer, Limit
from diagnose.calc.units import Quantity, read_quantity

HELP = "differential compression: leakage, the rule it is judged by, and where the air goes"

# The maker's figure has no typical value: only a shop's own file can give one.
MAKER = Limit("cylinder reading, at least", 0, "psi", ident="compression_min")


def add(parser: argparse.ArgumentParser) -> None:
    """Options of the compression check."""
    parser.add_argument("--cylinder", required=True, metavar="N", help="cylinder number")
    parser.add_argument("--reading", required=True, metavar="P", help='cylinder gauge with unit: "60 psi"')
    parser.add_argument("--regulated", metavar="P", help="input pressure with unit; 80 psi unless given")
    parser.add_argument("--hot", action="store_true", help="engine has just run")
    parser.add_argument("--recheck", action="store_true", help="this is the test after the 3 minute run")
    parser.add_argument("--air", choices=tuple(WHERE), default="", help="where escaping air is heard")
    parser.add_argument("--bore", metavar="D", help='bore with unit, for the orifice: "5.125 in"')
    parser.add_argument("--maker-limit", metavar="P", help="lowest reading the maker allows, with unit")
    add_document(parser)


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """The compression check. Raises CalcError."""
    own = entered(MAKER, None, args)
    lowest = quantity(args.maker_limit, "pressure", "maker's limit")
    if lowest is None and own.entered:
        lowest = Quantity(own.value, "psi", "pressure")
    return compression_answer(
        CompressionReading(
            cylinder=int(whole_numbers(args.cylinder, ",", "cylinder")[0]),
            reading=read_quantity(args.reading, "pressure", "cylinder pressure"),
            regulated=quantity(args.regulated, "pressure", "regulated pressure") or REGULATED,
            hot=args.hot,
            recheck=args.recheck,
            air=args.air,
            bore=quantity(args.bore, "length", "bore"),
            maker_limit=lowest,
            document=args.document or own.document,
            revision=args.revision or own.revision,
        )
    )
