"""Options that several calculations share, and how their text becomes numbers."""

from __future__ import annotations

import argparse
import re
from dataclasses import replace
from typing import TYPE_CHECKING

from diagnose.calc.answer import Limit
from diagnose.calc.circuits import poles, rearranged
from diagnose.calc.units import Quantity, read_number, read_plausible, read_quantity
from diagnose.places import Layout
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

# Conditions a running-engine result can be seen in.
REGIMES = ("idle", "runup", "cruise_lean", "high_power", "hot", "wet", "altitude", "cold")


def add_layout(parser: argparse.ArgumentParser) -> None:
    """Add --layout, with another firing order or magnet where those of the layout do not fit."""
    parser.add_argument("--layout", help="engine layout (that of the case with --into); see `diagnose show layouts`")
    parser.add_argument("--firing-order", metavar="1-3-2-4", help="another firing order for that layout")
    parser.add_argument("--poles", metavar="N", help="poles of the magneto's magnet: 2, 4 or 8")


def read_layout(args: argparse.Namespace, known: Known) -> Layout:
    """Return the layout the options name. Raises BadInput."""
    if args.layout is None:
        raise BadInput("layout: not given; give --layout, such as opposed-4")
    layout = known.layout(args.layout)
    if args.firing_order is None and args.poles is None:
        return layout
    order = layout.firing_order if args.firing_order is None else whole_numbers(args.firing_order, "-", "firing order")
    count = poles(layout) if args.poles is None else whole_numbers(args.poles, "-", "poles")[0]
    return rearranged(layout, order, count)


def whole_numbers(text: str, separator: str, what: str) -> list[int]:
    """Return `"1-3-2-4"` as its numbers, each of one or two digits. Raises BadInput."""
    parts = [part.strip() for part in text.split(separator)]
    for part in parts:
        if not re.fullmatch(r"\d{1,2}", part, re.ASCII):
            shown = repr(part if len(part) <= 20 else f"{part[:20]}...")
            raise BadInput(f"{what}: {shown} is not a whole number of one or two digits; write such as 1{separator}3{separator}2")
    return [int(part) for part in parts]


def add_regime(parser: argparse.ArgumentParser) -> None:
    """Add --regime: the condition the readings were taken in."""
    parser.add_argument("--regime", choices=REGIMES, default="runup", help="condition of the readings")


def add_document(parser: argparse.ArgumentParser) -> None:
    """Add the document and revision that entered limits come from."""
    parser.add_argument("--document", default="", help="document your limits come from")
    parser.add_argument("--revision", default="", help="its revision or date")


def entered(typical: Limit, value: float | None, args: argparse.Namespace, known: Known) -> Limit:
    """Return `typical`, or in its place the user's own value, or the shop's from its file of limits.

    Raises BadInput where the shop's limit is in a unit that is none of this limit's kind.
    """
    if value is None:
        return (known.limit(typical) if typical.ident else None) or typical
    own = replace(typical, value=value, document=args.document, revision=args.revision, entered=True)
    return replace(own, source="")


def number(text: str | None, what: str, unit: str = "") -> float | None:
    """Return a number or None where the option was left out. Raises BadInput."""
    return None if text is None else read_number(text, what, unit=unit)


def needed(text: str, what: str, unit: str = "") -> float:
    """Return a number that must be there. Raises BadInput."""
    return read_number(text, what, unit=unit)


def quantity(text: str | None, kind: str, what: str) -> Quantity | None:
    """Return a number with its unit, or None where the option was left out. Raises BadInput."""
    return None if text is None else read_quantity(text, kind, what)


def in_span(text: str | None, kind: str, what: str, span: tuple[float, float, str]) -> Quantity | None:
    """Return what `quantity` does, refused outside `span` with a hint at a mixed-up unit. Raises BadInput."""
    return None if text is None else read_plausible(text, kind, what, span)


def over_range(text: str | None) -> bool:
    """Return whether it is the word that stands for a reading beyond the meter's range."""
    return text is not None and text.strip().lower() == "over"
