"""`calc compression`: differential compression of one cylinder."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer, Limit
from diagnose.calc.circuits import read_cylinder
from diagnose.calc.compression import REGULATED, WHERE, CompressionReading, compression_answer
from diagnose.calc.units import Quantity, read_quantity
from diagnose.cli.calculations.options import add_document, entered, quantity
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "differential compression: leakage, the rule it is judged by, and where the air goes"

LEAST_BARE = 10.0  # under this a number alone may be bar: a tester fed with 80 psi shows 5.5 bar at most
# The maker's figure has no typical value: only a shop's own file can give one.
MAKER = Limit("cylinder reading, at least", 0, "psi", ident="compression_min")


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


def _bare(text: str) -> bool:
    return re.fullmatch(r"[\d.\s]+", text) is not None


def pressure(text: str, what: str) -> Quantity:
    """Return a pressure; a number alone is in psi, the unit of the gauges. Raises BadInput."""
    return read_quantity(f"{text} psi" if _bare(text) else text, "pressure", what)


def gauges(args: argparse.Namespace) -> tuple[Quantity, Quantity]:
    """Return cylinder and input pressure; `74/80` gives both, as the log has them. Raises BadInput."""
    written, slash, behind = args.reading.partition("/")
    if not slash:
        reading = pressure(written, "cylinder pressure")
        if _bare(written) and 0 < reading.value < LEAST_BARE:
            raise BadInput(f"cylinder pressure: {written.strip()} may be bar or psi; write the unit, such as {written.strip()} psi")
        return reading, REGULATED if args.regulated is None else pressure(args.regulated, "regulated pressure")
    if args.regulated is not None:
        raise BadInput(f"regulated pressure: given in {args.reading!r} and in --regulated; give it once")
    unit = behind.strip().lstrip("0123456789. ")
    return pressure(f"{written} {unit}" if _bare(written) else written, "cylinder pressure"), pressure(behind, "regulated pressure")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the compression check. Raises BadInput."""
    own = entered(MAKER, None, args, known)
    lowest = None if args.maker_limit is None else pressure(args.maker_limit, "maker's limit")
    if lowest is None and own.entered:
        lowest = Quantity(own.value, "psi", "pressure")
    cylinder, regulated = gauges(args)
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
