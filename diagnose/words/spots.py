"""From what was said of the place to the places of a result."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.places import SIDES, Layout
from diagnose.rulebase.records import History, Symptom
from diagnose.words.clauses import Spot


@dataclass(frozen=True)
class Where:
    """The places of one finding; `choose`: only one of them is meant, and it was not said which."""

    places: tuple[str, ...]
    choose: bool = False


def merged(own: Spot, above: Spot) -> Spot:
    """Return what a clause says of the place, filled in from what was said before it."""
    sides = own.sides or above.sides
    if own.other:
        sides = tuple(s for s in SIDES if s not in above.sides) if len(above.sides) == 1 else ()
    fresh = bool(own.positions) or own.every or (own.plural and not own.cylinders)
    cylinders = own.cylinders or (() if fresh or (own.sides and own.plural) else above.cylinders)
    positions = own.positions or (above.positions if not own.sides else ())
    return replace(own, sides=sides, cylinders=cylinders, positions=positions, other=False)


def history_places(history: History, spot: Spot) -> Where:
    """Return where an answer on history holds."""
    return Where(spot.sides if history.at == "side" and spot.sides and not spot.every else ("engine",))


def places(symptom: Symptom, spot: Spot, layout: Layout, normal: bool) -> Where:
    """Return the places of a finding: those said, else some of them, else (for "in order") all."""
    if "circuit" in symptom.at and (spot.cylinders or spot.positions or spot.sides or "cylinder" not in symptom.at):
        where = _circuits(symptom, spot, layout, normal)
        if where is not None:
            return where
    if "cylinder" in symptom.at:
        if spot.cylinders:
            return Where(tuple(str(c) for c in spot.cylinders))
        return (
            Where(("all" if "circuit" not in symptom.at and (normal or spot.every) else "some",))
            if not (normal and "circuit" in symptom.at)
            else Where(layout.places("cylinder"))
        )
    if "side" in symptom.at:
        if spot.sides:
            return Where(spot.sides)
        if "engine" in symptom.at:
            one = spot.magneto and not spot.every and not normal and "side" in symptom.some
            return Where(("some" if one else "engine",))
        return Where(SIDES if normal or spot.every else ("some",))
    return Where((symptom.at[0],))


def _circuits(symptom: Symptom, spot: Spot, layout: Layout, normal: bool) -> Where | None:
    if spot.cylinders:
        found = [c for c in layout.circuits if int(c.split("-")[0]) in spot.cylinders]
        if spot.positions:
            return Where(tuple(c for c in found if c.split("-")[1] in spot.positions))
        if len(spot.sides) == 1:
            return Where(tuple(c for c in found if layout.side_of[c] in spot.sides))
        if "cylinder" in symptom.at:
            return None
        if spot.plural or spot.every or normal:
            return Where(tuple(found))
        return Where(tuple(found), choose=len(spot.cylinders) == 1) if len(spot.cylinders) == 1 else Where(tuple(found))
    rest = ""
    if len(spot.positions) == 1 and spot.positions[0] in layout.positions:
        rest = f"-{spot.positions[0]}"
    elif len(spot.sides) == 1:
        rest = f"/{spot.sides[0]}"
    whole = normal or spot.every or (spot.plural and not spot.some)
    return Where((f"{'all' if whole else 'some'}{rest}",))
