"""`calc plug`: one spark plug on the bench."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.circuits import side_of
from diagnose.calc.plugs import GAP_HIGH, GAP_LOW, GAP_SPAN, RESISTANCE_HIGH, SIZE_SPAN, PlugLimits, PlugReadings, Wear, plug_answer
from diagnose.calc.spans import PLUG_RESISTANCE
from diagnose.calc.units import read_quantity, written_in
from diagnose.cli.calculations.options import add_document, add_layout, entered, in_span, over_range, read_layout

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "one spark plug: gap, electrode wear, resistor"
_SIZES = ("ground", "ground-new", "centre-short", "centre-long", "flat", "fine-wire", "fine-wire-new")


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the plug check."""
    add_layout(parser)
    parser.add_argument("--plug", required=True, metavar="PLACE", help="where it was, such as 3-bottom")
    parser.add_argument("--gap", metavar="D", help='gap with unit: "0.018 in"')
    parser.add_argument("--go", choices=("passes", "stops"), help="wire of the lower limit")
    parser.add_argument("--no-go", choices=("passes", "stops"), help="wire of the upper limit")
    parser.add_argument("--gap-low", metavar="D", help="your manual's lower gap limit, with unit")
    parser.add_argument("--gap-high", metavar="D", help="your manual's upper gap limit, with unit")
    for name in _SIZES:
        parser.add_argument(f"--{name}", metavar="D", help="size with unit")
    parser.add_argument("--resistance", metavar="R", help='with unit: "1.5 kohm"; "over" beyond the meter')
    parser.add_argument("--resistance-limit", metavar="R", help="your maker's upper limit, with unit")
    add_document(parser)


def _limit(text: str | None, what: str) -> float | None:
    length = in_span(text, "length", what, GAP_SPAN)
    return None if length is None else written_in(length, "in")


def _wear(args: argparse.Namespace) -> Wear:
    names = [name.replace("-", "_") for name in _SIZES]
    spans = {name: (0.0, 0.1, "in") if name == "flat" else SIZE_SPAN for name in names}
    return Wear(**{name: in_span(getattr(args, name), "length", name.replace("_", " "), spans[name]) for name in names})


def _wire(text: str | None) -> bool | None:
    return None if text is None else text == "passes"


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the plug check. Raises BadInput."""
    side_of(read_layout(args, known), args.plug)
    over = over_range(args.resistance)
    readings = PlugReadings(
        circuit=args.plug,
        gap=in_span(args.gap, "length", "plug gap", GAP_SPAN),
        go=_wire(args.go),
        no_go=_wire(args.no_go),
        wear=_wear(args),
        resistance=None if over else in_span(args.resistance, "resistance", "plug resistance", PLUG_RESISTANCE),
        open_resistor=over,
    )
    ohms = None
    if args.resistance_limit is not None:
        ohms = written_in(read_quantity(args.resistance_limit, "resistance", "resistance limit"), "ohm")
    return plug_answer(
        readings,
        PlugLimits(
            entered(GAP_LOW, _limit(args.gap_low, "gap limit, lower"), args, known),
            entered(GAP_HIGH, _limit(args.gap_high, "gap limit, upper"), args, known),
            entered(RESISTANCE_HIGH, ohms, args, known),
        ),
    )
