"""`calc timing`: magneto-to-engine timing."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.timing import BAND, SYNCHRONY, TOLERANCE, TimingReadings, timing_answer
from diagnose.cli.calculations.options import add_document, add_layout, entered, number, read_layout
from diagnose.places import SIDES
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "timing found on each magneto against the data plate, synchronization, impulse lag, drift"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the timing check."""
    add_layout(parser)
    parser.add_argument("--specified", metavar="DEG", help="data plate, crank degrees before top centre, both sides")
    for side in SIDES:
        parser.add_argument(f"--{side}", metavar="DEG", help=f"found on {side}, crank degrees before top centre")
        parser.add_argument(f"--{side}-specified", metavar="DEG", help="where the sides are staggered")
        parser.add_argument(f"--{side}-last", metavar="DEG", help=f"found on {side} last time")
        parser.add_argument(f"--{side}-lag", metavar="DEG", help="impulse coupling's lag, magnet degrees")
    parser.add_argument("--tolerance", metavar="DEG", help="your manual's tolerance either way")
    parser.add_argument("--synchronization", metavar="DEG", help="your manual's largest difference")
    parser.add_argument("--band", metavar="DEG", help="reading error of the protractor; 0.5 unless given")
    add_document(parser)


def _by_side(args: argparse.Namespace, suffix: str, what: str) -> dict[str, float]:
    texts = {side: getattr(args, f"{side}{suffix}") for side in SIDES}
    return {side: value for side, text in texts.items() if (value := number(text, f"{what}, {side}")) is not None}


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the timing check. Raises BadInput."""
    common = number(args.specified, "timing specified")
    specified = {} if common is None else dict.fromkeys(SIDES, common)
    specified |= _by_side(args, "_specified", "timing specified")
    found = _by_side(args, "", "timing found")
    lag = _by_side(args, "_lag", "impulse lag")
    if not found and not lag:
        raise BadInput("timing: nothing was read; give --left or --right, in degrees before top centre")
    band = number(args.band, "protractor band")
    readings = TimingReadings(specified, found, _by_side(args, "_last", "last timing"), lag, BAND if band is None else band)
    return timing_answer(
        readings,
        read_layout(args, known),
        entered(TOLERANCE, number(args.tolerance, "timing tolerance"), args, known),
        entered(SYNCHRONY, number(args.synchronization, "synchronization limit"), args, known),
    )
