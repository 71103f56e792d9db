"""`calc points`: E-gap, contact clearance, retard points."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.contact_points import CLEARANCE_HIGH, CLEARANCE_LOW, CLEARANCE_SPAN, EGap, PointsReadings, points_answer
from diagnose.calc.units import written_in
from diagnose.cli.calculations.options import add_document, add_layout, entered, in_span, number, read_layout
from diagnose.places import SIDES
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "internal timing: E-gap, contact clearance and which way to move, retard points on the plate"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the points check."""
    add_layout(parser)
    parser.add_argument("--magneto", choices=SIDES, default="", help="which magneto; needed for results for a case")
    parser.add_argument("--clearance", metavar="D", help='contact clearance with unit: "0.018 in"')
    parser.add_argument("--clearance-low", metavar="D", help="your manual's lower limit, with unit")
    parser.add_argument("--clearance-high", metavar="D", help="your manual's upper limit, with unit")
    parser.add_argument("--e-gap", metavar="DEG", help="specified E-gap, magnet degrees past neutral")
    parser.add_argument("--e-gap-tolerance", metavar="DEG", help="its tolerance either way")
    parser.add_argument("--e-gap-found", metavar="DEG", help="where the points open now")
    parser.add_argument("--main-plate", metavar="DEG", help="main points' reading on the timing plate")
    parser.add_argument("--retard", metavar="DEG", help="specified retard angle, magnet degrees")
    parser.add_argument("--retard-found", metavar="DEG", help="retard points' reading on the timing plate")
    add_document(parser)


def _inches(text: str | None, what: str) -> float | None:
    quantity = in_span(text, "length", what, CLEARANCE_SPAN)
    return None if quantity is None else written_in(quantity, "in")


def _e_gap(args: argparse.Namespace) -> EGap | None:
    specified = number(args.e_gap, "E-gap")
    if specified is None:
        if args.e_gap_found is not None or args.e_gap_tolerance is not None:
            raise BadInput("E-gap: no specified angle; give --e-gap")
        return None
    tolerance = number(args.e_gap_tolerance, "E-gap tolerance")
    return EGap(specified, 0.0 if tolerance is None else tolerance, number(args.e_gap_found, "E-gap found"))


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the points check. Raises BadInput."""
    readings = PointsReadings(
        in_span(args.clearance, "length", "contact clearance", CLEARANCE_SPAN),
        _e_gap(args),
        number(args.main_plate, "main points on the plate"),
        number(args.retard, "retard angle"),
        number(args.retard_found, "retard points on the plate"),
        args.magneto,
    )
    if readings == PointsReadings(magneto=args.magneto):
        raise BadInput("points: nothing was given; give --clearance, --e-gap or --retard")
    low = entered(CLEARANCE_LOW, _inches(args.clearance_low, "clearance limit, lower"), args, known)
    high = entered(CLEARANCE_HIGH, _inches(args.clearance_high, "clearance limit, upper"), args, known)
    return points_answer(readings, read_layout(args, known), low, high)
