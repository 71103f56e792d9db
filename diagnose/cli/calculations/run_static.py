"""`calc static`: static rpm and the OFF check of a confirming run."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer, Limit
from diagnose.calc.mag_check import TACH_BAND
from diagnose.calc.static_run import FieldConditions, StaticRun, static_run
from diagnose.cli.calculations.options import add_document, number, quantity
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "static full-throttle rpm against its limits with field conditions, and the OFF check at idle"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the static run."""
    parser.add_argument("--rpm", metavar="RPM", help="static rpm at full throttle")
    parser.add_argument("--low", metavar="RPM", help="lower limit, from the type data sheet or manual")
    parser.add_argument("--high", metavar="RPM", help="upper limit")
    add_document(parser)
    parser.add_argument("--temperature", metavar="T", help='air temperature with unit, such as "30 C"')
    parser.add_argument("--elevation", metavar="H", help='field elevation with unit, such as "1200 ft"')
    parser.add_argument("--off-check", choices=("stops", "fires"), default="", help="firing in OFF at idle")
    parser.add_argument("--tach-band", metavar="RPM", help="error of the tachometer either way; 25 unless given")


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the static run. Raises BadInput."""
    if args.rpm is None and not args.off_check:
        raise BadInput("static run: nothing was read; give --rpm or --off-check, or both")
    band = number(args.tach_band, "tachometer band", "rpm")
    low, high = (_limit(name, text, args) for name, text in (("at least", args.low), ("at most", args.high)))
    if low and high and low.value >= high.value:
        raise BadInput(f"static rpm limits: {low.value:g} is not under {high.value:g}; swap --low and --high")
    field = FieldConditions(
        quantity(args.temperature, "temperature", "air temperature"),
        quantity(args.elevation, "height", "field elevation"),
    )
    rpm = number(args.rpm, "static rpm", "rpm")
    return static_run(StaticRun(rpm, low, high, field, TACH_BAND if band is None else band, args.off_check))


def _limit(name: str, text: str | None, args: argparse.Namespace) -> Limit | None:
    value = number(text, f"static rpm, {name}", "rpm")
    if value is None:
        return None
    return Limit(f"static rpm, {name}", value, "rpm", args.document, args.revision, entered=True)
