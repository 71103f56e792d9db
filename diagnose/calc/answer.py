"""What every calculation hands back: plain frozen records, ready for a screen, for JSON or for a case."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

from diagnose.calc.units import Quantity, convert, rounded
from diagnose.problems import BadInput

TYPICAL = "typical; enter your manual's"


@dataclass(frozen=True)
class Value:
    """One number or word with its unit; `also` is the same quantity in a second unit."""

    name: str
    value: float | str
    unit: str = ""
    also: Quantity | None = None
    note: str = ""


@dataclass(frozen=True)
class Limit:
    """A number a reading is graded against. `entered` is False for the shipped typical ones.

    `ident` is the id under which a shop's own file of limits may replace it.
    """

    name: str
    value: float
    unit: str
    document: str = ""
    revision: str = ""
    entered: bool = False
    source: str = ""
    ident: str = ""

    @property
    def standing(self) -> str:
        """Return where the limit comes from, in words."""
        if self.source.startswith("estimate"):
            return self.source
        if not self.entered:
            return f"{TYPICAL} ({self.source})" if self.source else TYPICAL
        if not self.document:
            return "entered without its document and revision: add them"
        return f"{self.document} (revision: {self.revision or 'not given'})"


@dataclass(frozen=True)
class Instruction:
    """One thing to do, with the caution that belongs to it and minutes where known."""

    text: str
    caution: str = ""
    minutes: str = ""


@dataclass(frozen=True)
class Table:
    """A small table; cells are numbers or words, None where there is nothing."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[float | str | None, ...], ...]


@dataclass(frozen=True)
class Answer:
    """The outcome of one calculation.

    `results` are written ROLE.REGIME@PLACE=GRADE; `named` puts the symptom in place of its role, and then they can be
    entered in a case as they stand.
    """

    schema: str
    title: str
    inputs: tuple[Value, ...] = ()
    values: tuple[Value, ...] = ()
    limits: tuple[Limit, ...] = ()
    tables: tuple[Table, ...] = ()
    says: tuple[str, ...] = ()
    steps: tuple[Instruction, ...] = ()
    cautions: tuple[str, ...] = ()
    results: tuple[str, ...] = ()

    @property
    def typical_limits(self) -> bool:
        """Return whether a shipped typical limit graded a reading: the results are marked for it."""
        return any(not limit.entered for limit in self.limits)

    def number(self, name: str) -> float:
        """Return the computed value called `name`. Raises KeyError if there is none, TypeError for a word."""
        for value in self.values:
            if value.name == name:
                if isinstance(value.value, str):
                    raise TypeError(f"{name} is a word: {value.value}")
                return value.value
        raise KeyError(name)


def shown(name: str, quantity: Quantity, unit: str = "", note: str = "") -> Value:
    """Return `quantity` as written, with its conversion to `unit` beside it."""
    also = convert(quantity, unit) if unit and unit != quantity.unit else None
    if also is not None:
        also = replace(also, value=rounded(also.value))
    return Value(name, quantity.value, quantity.unit, also, note)


def result(role: str, regime: str, place: str, grade: str) -> str:
    """Return a result, its symptom named by its role in the rule base."""
    return f"{role}.{regime}@{place}={grade}"


def named(answer: Answer, holders: Callable[[str], tuple[str, ...]]) -> Answer:
    """Return the answer with symptoms in its results; `holders` gives the symptoms that hold a role.

    Raises BadInput for a role that no symptom holds, or more than one.
    """
    found = []
    for text in answer.results:
        role, dot, rest = text.partition(".")
        symptoms = holders(role)
        if len(symptoms) != 1:
            raise BadInput(f"the rule base has {len(symptoms)} symptoms with `role: {role}`; give it to one")
        found.append(f"{symptoms[0]}{dot}{rest}")
    return replace(answer, results=tuple(found))


def as_json(answer: Answer) -> dict[str, Any]:
    """Return the answer as plain objects; `schema` first, limits with their standing in words."""
    body = asdict(answer)
    for shown, limit in zip(body["limits"], answer.limits, strict=True):
        shown["standing"] = limit.standing
    return {"schema": body.pop("schema"), "typical_limits": answer.typical_limits, **body}


def near(value: float, limit: float, band: float) -> bool:
    """Return whether `value` is so close to `limit` that the reading error could put it on either side."""
    return band > 0 and abs(value - limit) <= band


def above(value: float, limit: float, band: float) -> str:
    """Return `yes` above the limit, `no` up to it, `no|yes` when the reading error leaves it open."""
    if near(value, limit, band):
        return "no|yes"
    return "yes" if value > limit else "no"


def below(value: float, limit: float, band: float) -> str:
    """Return `yes` under the limit, `no` from it upwards, `no|yes` when the reading error leaves it open."""
    return above(-value, -limit, band)
