"""`calc mag-check`: rpm on both, left and right."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.mag_check import TACH_BAND, TYPICAL_DIFFERENCE, TYPICAL_DROP, MagLimits, MagReadings, SideReading, check_magnetos
from diagnose.calc.mag_check import answer as mag_answer
from diagnose.cli.calculations.options import add_document, add_layout, add_regime, entered, needed, number, read_layout
from diagnose.places import SIDES
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "magneto check: drops, difference and trend against limits, and what the size looks like"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the magneto check."""
    add_layout(parser)
    parser.add_argument("--both", required=True, metavar="RPM", help="rpm on both, before")
    parser.add_argument("--both-after", metavar="RPM", help="rpm on both, after")
    parser.add_argument("--both-run", choices=("smooth", "rough"), default="", help="how it runs on both")
    for side in SIDES:
        parser.add_argument(f"--{side}", metavar="RPM", help=f'rpm on {side} alone, or "dies"')
        parser.add_argument(f"--{side}-run", choices=("smooth", "rough"), default="", help=f"how {side} runs")
        parser.add_argument(f"--{side}-change", choices=("fast", "slow", "both"), default="", help="how the drop came")
        parser.add_argument(f"--{side}-last", metavar="RPM", help=f"drop on {side} at the last check")
    parser.add_argument("--drop-limit", metavar="RPM", help="your manual's largest drop")
    parser.add_argument("--difference-limit", metavar="RPM", help="your manual's largest difference")
    add_document(parser)
    parser.add_argument("--tach-band", metavar="RPM", help="error of the tachometer either way; 25 unless given")
    parser.add_argument("--propeller", choices=("fixed", "low-pitch-stop", "governing"), default="fixed")
    parser.add_argument("--mixture", default="", help="rich, leaned to peak rpm, ...")
    parser.add_argument("--power", default="", help="manifold pressure or power, as words")
    parser.add_argument("--rise-repeated", action="store_true", help="a rise was read again and is real")
    add_regime(parser)


def _side(args: argparse.Namespace, side: str) -> SideReading | None:
    text = getattr(args, side)
    run, change, last = (getattr(args, f"{side}_{name}") for name in ("run", "change", "last"))
    if text is None:
        if run or change or last:
            raise BadInput(f'{side} magneto: details but no rpm; give --{side} RPM, or "dies"')
        return None
    previous = number(last, f"last drop on {side}", "rpm")
    if text.strip().lower() == "dies":
        return SideReading(None, run, change, previous)
    return SideReading(needed(text, f"rpm on {side}", "rpm"), run, change, previous)


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the magneto check. Raises BadInput."""
    sides = {side: reading for side in SIDES if (reading := _side(args, side)) is not None}
    if not sides:
        raise BadInput("magneto check: neither side was read; give --left or --right, or both")
    band = number(args.tach_band, "tachometer band", "rpm")
    readings = MagReadings(
        both=needed(args.both, "rpm on both", "rpm"),
        sides=sides,
        both_after=number(args.both_after, "rpm on both after", "rpm"),
        both_run=args.both_run,
        regime=args.regime,
        mixture=args.mixture,
        power=args.power,
        propeller=args.propeller,
        tach_band=TACH_BAND if band is None else band,
        rise_repeated=args.rise_repeated,
    )
    limits = MagLimits(
        entered(TYPICAL_DROP, number(args.drop_limit, "drop limit", "rpm"), args, known),
        entered(TYPICAL_DIFFERENCE, number(args.difference_limit, "difference limit", "rpm"), args, known),
    )
    return mag_answer(check_magnetos(readings, limits, read_layout(args, known)))
