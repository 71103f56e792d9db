"""Units of the trade: read a number with its unit, convert it, keep what was written.

The factors are exact (`Fraction`), from the definitions 1 in = 25.4 mm,
1 lb = 0.45359237 kg, g = 9.80665 m/s2 and 0 degC = 32 degF. A general units library was measured and left out
of the running program (start-up of about a third of a second for these few units, and its plain `F` and
`C` are farad and coulomb); the tests compare every factor with it.

A temperature and a temperature *difference* are two kinds: 100 degF of rise is 55.6 degC of rise, and
only a temperature has the 32 in it.
"""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from diagnose.problems import BadInput


@dataclass(frozen=True)
class Unit:
    """One unit: `base = value * factor + offset`, in the base unit of its kind."""

    symbol: str
    factor: Fraction
    offset: Fraction = Fraction(0)
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True)
class Quantity:
    """A number as it was written, with its unit and kind (`length`, `torque` ...)."""

    value: float
    unit: str
    kind: str


_POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")  # newton
_INCH = Fraction("0.0254")  # metre
_FIVE_NINTHS = Fraction(5, 9)

# Spellings that differ only by case or by a space, point or raised dot are folded before the look-up,
# except for resistance and voltage, where m and M are a thousand million apart. A meter's bare k, M and G are kohm, Mohm, Gohm.
KINDS: dict[str, tuple[Unit, ...]] = {
    "length": (
        Unit("mm", Fraction(1), aliases=("millimetre", "millimeter")),
        Unit("in", _INCH * 1000, aliases=("inch", "inches", '"')),
        Unit("thou", _INCH, aliases=("mil", "mils", "thousandths")),
    ),
    "temperature": (
        Unit("degC", Fraction(1), aliases=("C", "°C")),
        Unit("degF", _FIVE_NINTHS, Fraction(-160, 9), ("F", "°F")),
    ),
    "temperature difference": (
        Unit("degC", Fraction(1), aliases=("C", "°C")),
        Unit("degF", _FIVE_NINTHS, aliases=("F", "°F")),
    ),
    "torque": (
        Unit("N m", Fraction(1), aliases=("Nm", "N-m", "newton-metre")),
        Unit("lb-in", _POUND_FORCE * _INCH, aliases=("in-lb", "lbf-in", "in-lbf")),
        Unit("lb-ft", _POUND_FORCE * _INCH * 12, aliases=("ft-lb", "lbf-ft", "ft-lbf")),
    ),
    "pressure": (
        Unit("kPa", Fraction(1)),
        Unit("psi", _POUND_FORCE / _INCH**2 / 1000),
        Unit("bar", Fraction(100)),
    ),
    "resistance": (
        Unit("ohm", Fraction(1), aliases=("Ohm", "Ω", "ohms", "Ohms")),
        Unit("kohm", Fraction(1000), aliases=("kOhm", "kΩ", "k", "K", "Kohm", "KOhm", "KΩ", "kohms", "kilohm", "kilohms")),
        Unit("Mohm", Fraction(1_000_000), aliases=("MOhm", "MΩ", "M", "Meg", "meg", "megs", "Mohms", "megohm", "megohms")),
        Unit("Gohm", Fraction(1_000_000_000), aliases=("GOhm", "GΩ", "G", "Gig", "gigohm", "gigohms")),
    ),
    "voltage": (Unit("V", Fraction(1)), Unit("kV", Fraction(1000))),
    "height": (Unit("m", Fraction(1)), Unit("ft", _INCH * 12, aliases=("feet", "foot"))),
}
_CASE_MATTERS = {"resistance", "voltage"}
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?|[+-]?(?:nan|inf(?:inity)?)", re.I | re.A)
MOST_LETTERS = 60  # no reading with its unit is longer


def allowed(kind: str) -> str:
    """Return the unit symbols of `kind`, as a message names them."""
    return ", ".join(unit.symbol for unit in KINDS[kind])


def _fold(text: str, kind: str) -> str:
    folded = re.sub(r"[\s._·]+", "", text)
    return folded if kind in _CASE_MATTERS else folded.lower()


def _unit(text: str, kind: str) -> Unit | None:
    folded = _fold(text, kind)
    return next((u for u in KINDS[kind] if folded in {_fold(name, kind) for name in (u.symbol, *u.aliases)}), None)


def find_unit(text: str, kind: str, what: str = "unit") -> Unit:
    """Return the unit that `text` spells. Raises BadInput naming the allowed ones."""
    unit = _unit(text, kind)
    if unit is not None:
        return unit
    why = f"no unit given for a {kind}" if not text.strip() else f"{text!r} is not a unit of {kind} known here"
    raise BadInput(f"{what}: {why}; use one of: {allowed(kind)}")


def finite(value: float, what: str, low: float = -math.inf, high: float = math.inf, unit: str = "") -> float:
    """Return `value` if it is an ordinary number inside [low, high]; raises BadInput otherwise."""
    if not math.isfinite(value):
        raise BadInput(f"{what}: {value} is not a reading; give an ordinary number")
    if not low <= value <= high:
        span = f"{low:g} to {high:g} {unit}".strip()
        raise BadInput(f"{what}: {f'{value:g} {unit}'.strip() + ' cannot be right'}; give a value from {span}")
    return value


def read_number(text: str, what: str, low: float = -math.inf, high: float = math.inf, unit: str = "") -> float:
    """Return a plain number (`unit` may follow it and must then match). Raises BadInput."""
    value, tail = _split(text, what)
    if tail and _fold(tail, "length") != _fold(unit, "length"):
        mend = f"give it in {unit}" if unit else "give a plain number"
        raise BadInput(f"{what}: unit {tail!r} does not belong here; {mend}")
    return finite(value, what, low, high, unit)


def _split(text: str, what: str) -> tuple[float, str]:
    written = text.strip()
    if len(written) > MOST_LETTERS:
        raise BadInput(f"{what}: {written[:20]!r}... is {len(written)} characters long; write a number of a few digits")
    match = _NUMBER.match(written)
    tail = written[match.end() :].strip() if match else ""
    if tail.startswith(","):
        raise BadInput(f"{what}: {written!r} has a decimal comma; use a decimal point")
    if match is None or re.search(r"\d", tail):
        raise BadInput(f"{what}: {written!r} is not a number; write digits with a decimal point, such as 0.018")
    return float(match[0]), tail


def kind_of_unit(text: str, kinds: Iterable[str], what: str) -> str:
    """Return the first of `kinds` that has the unit of a number; empty where none has. Raises BadInput for a bad number."""
    tail = _split(text, what)[1]
    return next((kind for kind in kinds if _unit(tail, kind)), "")


def read_quantity(text: str, kind: str, what: str) -> Quantity:
    """Return `"0.018 in"` -> Quantity. Raises BadInput for a bad number, or a wrong or missing unit."""
    value, tail = _split(text, what)
    unit = find_unit(tail, kind, what)
    return Quantity(finite(value, what), unit.symbol, kind)


def convert(quantity: Quantity, unit: str) -> Quantity:
    """Return the same quantity in another unit of its kind. Raises BadInput for a unit of another kind."""
    source = find_unit(quantity.unit, quantity.kind)
    target = find_unit(unit, quantity.kind)
    if source == target:
        return quantity
    base = Fraction(repr(quantity.value)) * source.factor + source.offset  # of the number as written: .018 in is .4572 mm
    return Quantity(float((base - target.offset) / target.factor), target.symbol, quantity.kind)


def rounded(value: float) -> float:
    """Return a converted number as a mechanic writes it: four figures, or whole from a thousand up."""
    return float(f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}")


def value_in(quantity: Quantity, unit: str) -> float:
    """Return the number of `quantity` expressed in `unit`."""
    return convert(quantity, unit).value


def written_in(quantity: Quantity, unit: str) -> float:
    """Return the number of `quantity` in `unit` as it would be written on a sheet: rounded where it had to be converted."""
    return quantity.value if quantity.unit == unit else rounded(value_in(quantity, unit))


def plausible(quantity: Quantity, what: str, low: float, high: float, unit: str) -> Quantity:
    """Return `quantity` if it lies in [low, high] `unit`; else BadInput, naming a likely mixed-up unit."""
    value = value_in(quantity, unit)
    if low <= value <= high:
        return quantity
    others = [u.symbol for u in KINDS[quantity.kind] if u.symbol != quantity.unit]
    fitting = [u for u in others if low <= value_in(Quantity(quantity.value, u, quantity.kind), unit) <= high]
    written = f"{quantity.value:g} {quantity.unit}"
    same = "" if unit == quantity.unit else f" = {value:.4g} {unit}"
    mend = f"did you mean {' or '.join(fitting)}?" if fitting else "read it again"
    raise BadInput(f"{what}: {written}{same} is outside {low:g} to {high:g} {unit}; {mend}")


def read_plausible(text: str, kind: str, what: str, span: tuple[float, float, str]) -> Quantity:
    """Return a quantity read and held against its span; `span` is (low, high, unit)."""
    return plausible(read_quantity(text, kind, what), what, *span)


def positive(values: Iterable[float], what: str) -> None:
    """Raise BadInput unless every value is an ordinary number above zero."""
    for value in values:
        if finite(value, what) <= 0:
            raise BadInput(f"{what}: {value:g} is not above zero; give a positive number")
