"""Options that several calculations share, and how their text becomes numbers."""

import argparse
from collections.abc import Callable
from dataclasses import replace

from diagnose.calc.layout import BUILT_IN, EngineLayout, make_layout
from diagnose.calc.problem import CalcError
from diagnose.calc.record import Limit
from diagnose.calc.units import Quantity, read_number, read_plausible, read_quantity

FindLayout = Callable[[str], EngineLayout]
FindLimit = Callable[[Limit], Limit | None]
# Conditions a running-engine result can be seen in.
REGIMES = ("idle", "runup", "cruise_lean", "high_power", "hot", "wet", "altitude", "cold")


def add_layout(parser: argparse.ArgumentParser) -> None:
    """--layout, with another firing order or magnet where the built-in one does not fit."""
    parser.add_argument("--layout", help=f"engine layout (that of the case with --into): {', '.join(BUILT_IN)}")
    parser.add_argument("--firing-order", metavar="1-3-2-4", help="another firing order for that layout")
    parser.add_argument("--poles", metavar="N", help="poles of the magneto's magnet: 2, 4 or 8")


def read_layout(args: argparse.Namespace, find_layout: FindLayout) -> EngineLayout:
    """The layout the options name. Raises CalcError."""
    if args.layout is None:
        raise CalcError("layout", "not given", "give --layout, such as opposed-4")
    layout = find_layout(args.layout)
    if args.firing_order is None and args.poles is None:
        return layout
    order = layout.firing_order
    if args.firing_order is not None:
        order = tuple(int(n) for n in whole_numbers(args.firing_order, "-", "firing order"))
    if len(order) != layout.cylinders:
        raise CalcError("firing order", f"{len(order)} cylinders", f"{args.layout} has {layout.cylinders}")
    poles = layout.poles if args.poles is None else int(whole_numbers(args.poles, "-", "poles")[0])
    return make_layout(order, layout.fires, poles, layout.name)


def whole_numbers(text: str, separator: str, what: str) -> list[str]:
    """``"1-3-2-4"`` -> its parts, each made of digits. Raises CalcError."""
    parts = text.split(separator)
    for part in parts:
        if not part.strip().isdecimal():
            raise CalcError(what, f"{part!r} is not a whole number", f"write such as 1{separator}3{separator}2")
    return parts


def add_regime(parser: argparse.ArgumentParser) -> None:
    """--regime: the condition the readings were taken in."""
    parser.add_argument("--regime", choices=REGIMES, default="runup", help="condition of the readings")


def add_document(parser: argparse.ArgumentParser) -> None:
    """The document and revision that entered limits come from."""
    parser.add_argument("--document", default="", help="document your limits come from")
    parser.add_argument("--revision", default="", help="its revision or date")


def no_limit(_: Limit) -> Limit | None:
    """No shop file of limits."""
    return None


def entered(typical: Limit, value: float | None, args: argparse.Namespace) -> Limit:
    """``typical``, or in its place the user's own value, or the shop's from its file of limits.

    Raises CalcError where the shop's limit is in a unit that is none of this limit's kind.
    """
    if value is None:
        find_limit: FindLimit = getattr(args, "find_limit", no_limit)
        return (find_limit(typical) if typical.ident else None) or typical
    own = replace(typical, value=value, document=args.document, revision=args.revision, entered=True)
    return replace(own, source="")


def number(text: str | None, what: str, unit: str = "") -> float | None:
    """A number or None where the option was left out. Raises CalcError."""
    return None if text is None else read_number(text, what, unit=unit)


def needed(text: str, what: str, unit: str = "") -> float:
    """A number that must be there. Raises CalcError."""
    return read_number(text, what, unit=unit)


def quantity(text: str | None, kind: str, what: str) -> Quantity | None:
    """A number with its unit, or None where the option was left out. Raises CalcError."""
    return None if text is None else read_quantity(text, kind, what)


def in_span(text: str | None, kind: str, what: str, span: tuple[float, float, str]) -> Quantity | None:
    """Like :func:`quantity`, refused outside ``span`` with a hint at a mixed-up unit. Raises CalcError."""
    return None if text is None else read_plausible(text, kind, what, span)


def over_range(text: str | None) -> bool:
    """True for the word that stands for a reading beyond the meter's range."""
    return text is not None and text.strip().lower() == "over"
