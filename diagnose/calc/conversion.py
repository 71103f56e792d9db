"""A number in other units of its kind, as one answer."""

from diagnose.calc.answer import Answer, Value
from diagnose.calc.units import KINDS, Quantity, allowed, convert, find_unit, kind_of_unit, read_quantity
from diagnose.problems import BadInput

SCHEMA = "calc-units/1"


def _kinds(difference: bool) -> list[str]:
    left_out = "temperature" if difference else "temperature difference"
    return [kind for kind in KINDS if kind != left_out]


def read_any(text: str, difference: bool) -> Quantity:
    """Return a number with a unit of whatever kind. Raises BadInput naming every unit there is."""
    kinds = _kinds(difference)
    kind = kind_of_unit(text, kinds, "number")
    if not kind:
        names = "; ".join(f"{kind}: {allowed(kind)}" for kind in kinds)
        raise BadInput(f"number: {text!r} has no unit known here; use one of: {names}")
    return read_quantity(text, kind, "number")


def conversion_answer(text: str, to: str | None, difference: bool) -> Answer:
    """Return `text` in the unit `to`, or in every unit of its kind. Raises BadInput."""
    quantity = read_any(text, difference)
    if difference and quantity.kind != "temperature difference":
        raise BadInput(f"--difference: {quantity.unit} is not a temperature; leave it out")
    wanted = [unit.symbol for unit in KINDS[quantity.kind]] if to is None else [find_unit(to, quantity.kind).symbol]
    values = tuple(Value(f"in {unit}", convert(quantity, unit).value, unit) for unit in wanted if unit != quantity.unit or to)
    says = ("A difference: no 32 is added.",) if difference else ()
    return Answer(
        SCHEMA,
        f"Units of {quantity.kind}",
        (Value("number", quantity.value, quantity.unit),),
        values,
        says=says,
    )
