"""Numbers to grades: the amount of a finding held against the limits of the rule base, by what the symptom's role measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.calc.answer import Limit, above
from diagnose.calc.mag_check import (
    TACH_BAND,
    TYPICAL_DIFFERENCE,
    TYPICAL_DROP,
    MagLimits,
    MagReadings,
    SideReading,
    check_magnetos,
    grade_drop,
    results,
)
from diagnose.calc.propeller_load import estimate_drops
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase, Symptom
from diagnose.words.clauses import SPEED_FROM, Clause, is_speed
from diagnose.words.tokens import Token

# The speed at which a drop is taken to have been read where none was said: usual check speeds are 1700 to 1800 (common practice).
CHECK_SPEED = 1700.0
# Role -> limit, which side of it is wrong, and what its unit is worth in the unit said.
HELD_AGAINST = {
    "air_lost": ("compression_min", "below", "psi"),
    "electrodes_wide": ("plug_gap_max", "above", "inch"),
    "electrodes_narrow": ("plug_gap_min", "below", "inch"),
    "contacts_wide": ("point_clearance_max", "above", "inch"),
    "contacts_narrow": ("point_clearance_min", "below", "inch"),
    "resistor_over": ("plug_resistance_max", "above", "ohm"),
    "insulation_low": ("lead_insulation_min", "below", "mohm"),
}
WORTH = {("inch", "thou"): 0.001, ("ohm", "kohm"): 1000.0, ("ohm", "mohm"): 1e6, ("mohm", "kohm"): 0.001}
APART = "each_other"
MOST_SPEED = 3500.0  # no engine of the rule base turns faster: estimate
LEAST_PRESSURE = 10.0  # psi: a number under it is no reading of the cylinder gauge (`calc/compression.py`)
DROPS = (20.0, 1500.0)  # what can be a drop in rpm at all: estimate


@dataclass(frozen=True)
class Amount:
    """The grade a number comes to, and the tokens it was read from."""

    grade: str
    used: tuple[Token, ...]


def amount(symptom: Symptom, clause: Clause, base: RuleBase, layout: Layout, grade: str = "") -> Amount | None:
    """Return the grade that a number of the clause gives a symptom, None where none can be held against a limit.

    `grade` is what its words said: with "equal" a number is the drop of each side, not the difference.
    """
    if symptom.role == "mag_drop":
        return _drop(clause, base, layout)
    if symptom.role == "drop_difference":
        return _difference(clause, base) if compared(clause) is not None or grade != symptom.names[0] else None
    held = HELD_AGAINST.get(symptom.role)
    if held is None or held[0] not in base.limits:
        return None
    found = [t for t in measured(clause.tokens) if t.unit in ("", held[2]) or (held[2], t.unit) in WORTH]
    if symptom.role == "air_lost":
        found = [t for t in found if (t.number or 0) >= LEAST_PRESSURE]
    grades = {grade_of(symptom, token, base) for token in found}
    return Amount(grades.pop(), tuple(found)) if len(grades) == 1 else None  # several that differ: whose is which was not said


def grade_of(symptom: Symptom, token: Token, base: RuleBase) -> str:
    """Return the grade of one number held against the limit of a symptom's role, which must have one."""
    limit, wrong, unit = HELD_AGAINST[symptom.role]
    value = (token.number or 0) * WORTH.get((unit, token.unit), 1.0)
    most = base.limits[limit].value.value
    return symptom.names[1] if (value > most if wrong == "above" else value < most) else symptom.names[0]


def measured(found: Sequence[Token]) -> list[Token]:
    """Return the numbers that were read off: not the 80 of "78/80" and of "78 over 80", which was put in."""
    out = []
    for i, token in enumerate(found):
        before = [t for t in found[max(0, i - 3) : i - 1] if t.kind != "all"][-1:] if i > 1 else []  # "78 76 all over 80"
        put_in = bool(before) and (found[i - 1].text == "/" or found[i - 1].kind == "above") and before[0].kind == "number"
        if token.kind == "number" and not put_in:
            out.append(token)
    return out


def limit_of(base: RuleBase, typical: Limit) -> float:
    """Return the value of a limit: that of the rule base, else the typical one."""
    return base.limits[typical.ident].value.value if typical.ident in base.limits else typical.value


def _plain_numbers(clause: Clause) -> list[Token]:
    """Return the numbers that can be an amount of rpm: no speed something is seen at, no comparison, no part of a range's other end."""
    found = list(clause.tokens)
    out = []
    for i, token in enumerate(found):
        compared = i + 1 < len(found) and found[i + 1].kind in ("more", "above")
        if token.kind == "number" and token.unit in ("", "rpm") and not is_speed(found, i) and not compared:
            out.append(token)
    return [t for t in out if DROPS[0] <= (t.number or 0) < SPEED_FROM]


def _drop(clause: Clause, base: RuleBase, layout: Layout) -> Amount | None:
    fallen = _from_to(clause)
    if fallen:
        return Amount(graded_drop((fallen[0].number or 0) - (fallen[1].number or 0), base, layout), fallen)
    numbers = _plain_numbers(clause)
    if not numbers:
        return None
    return Amount(graded_drop(max(t.number or 0 for t in numbers), base, layout), tuple(numbers))


def _from_to(clause: Clause) -> tuple[Token, ...]:
    """Return the two speeds of "1750 down to 1500" and of "from 1750 to 1500", nothing where there are not just two."""
    speeds = [t for t in clause.of("number") if t.unit in ("", "rpm") and SPEED_FROM <= (t.number or 0) <= MOST_SPEED]
    if len(speeds) != 2 or (speeds[0].number or 0) <= (speeds[1].number or 0):
        return ()
    between = [t.text.lower() for t in clause.tokens if speeds[0].start < t.start < speeds[1].start]
    return tuple(speeds) if "to" in between or "down to" in between else ()


def graded_drop(drop: float, base: RuleBase, layout: Layout) -> str:
    """Return the grade of a drop in rpm read at the usual speed of a check."""
    silent = estimate_drops(layout.cylinders, CHECK_SPEED).two_silent
    return grade_drop(drop, limit_of(base, TYPICAL_DROP), silent, TACH_BAND)


def _difference(clause: Clause, base: RuleBase) -> Amount | None:
    found = list(clause.tokens)
    limit = limit_of(base, TYPICAL_DIFFERENCE)
    numbers = [t for t in clause.of("number") if t.unit in ("", "rpm") and DROPS[0] <= (t.number or 0) <= DROPS[1] and t in found]
    if not numbers:
        return None
    return Amount(above(numbers[0].number or 0, limit, TACH_BAND), (numbers[0],))


def compared(clause: Clause) -> Token | None:
    """Return the number of "100 more than left" and of "within 25 of each other", None where no two are compared."""
    found = list(clause.tokens)
    for i, token in enumerate(found[:-1]):
        if token.kind == "number" and found[i + 1].kind in ("more", "above") and any(t.kind == "side" for t in found[i:]):
            return token
        if token.kind == "number" and found[i + 1].name == APART:
            return token
    return None


def three_speeds(found: Sequence[Token], base: RuleBase, layout: Layout) -> tuple[str, ...]:
    """Return the results of rpm on both, left and right said in a row ("1700 1620 1580", or each with its name), else nothing."""
    numbers = [t for t in found if t.kind == "number" and t.unit in ("", "rpm")]
    others = [t for t in found if t.kind not in ("number", "sign", "filler", "side", "all", "unit", "thing")]
    if len(numbers) != 3 or others or any(not 500 <= (t.number or 0) <= 3500 for t in numbers):
        return ()
    speeds = _by_name(found) or dict(zip(_order(found), (t.number or 0.0 for t in numbers), strict=True))
    if set(speeds) != {"both", "left", "right"}:
        return ()
    readings = MagReadings(speeds["both"], {side: SideReading(speeds[side]) for side in ("left", "right")})
    try:
        graded = results(check_magnetos(readings, _limits(base), layout))
    except BadInput:
        return ()
    named = ((base.with_role(text.partition(".")[0]), text.partition(".")[2]) for text in graded)
    return tuple(f"{holder}.{rest}" for holders, rest in named for holder in holders[:1])


def _limits(base: RuleBase) -> MagLimits:
    drop = replace(TYPICAL_DROP, value=limit_of(base, TYPICAL_DROP))
    difference = replace(TYPICAL_DIFFERENCE, value=limit_of(base, TYPICAL_DIFFERENCE))
    return MagLimits(drop, difference)


def _by_name(found: Sequence[Token]) -> dict[str, float]:
    """Return the speeds of "L 1680 R 1550 from 1750": each side's behind its name, the other that on both."""
    near = [t for t in found if t.kind in ("side", "number", "all")]
    sides = {near[i].name: near[i + 1] for i in range(len(near) - 1) if near[i].kind == "side" and near[i + 1].kind == "number"}
    rest = [t for t in near if t.kind == "number" and t not in sides.values()]
    if set(sides) != set(SIDES) or len(rest) != 1:
        return {}
    return {"both": rest[0].number or 0.0, **{side: t.number or 0.0 for side, t in sides.items()}}


def _order(found: Sequence[Token]) -> list[str]:
    """Return which speed is which: by the names before the numbers, or both, left, right where none is named."""
    named = ["both" if t.kind == "all" else t.name for t in found if t.kind in ("all", "side")]
    return named if len(named) == 3 else ["both", "left", "right"]
