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


def merged(own: Spot, above: Spot, here: Spot | None = None) -> Spot:
    """Return what a clause says of the place, filled in from what was said before it; `here`: the place of the check it is said at."""
    if here is not None and here.cylinders and not (own or own.but):
        return above
    if own.other and (own.but or above.cylinders) and not own.sides:
        positions = own.positions or (() if own.plural else above.positions)
        return replace(own, cylinders=(), positions=positions, sides=above.sides, every=True, other=False, but=own.but or above.cylinders)
    alone = not (own.cylinders or own.positions) and (own.magneto or (bool(above.sides) and not own.plural))
    both = own.every and alone and not (here is not None and here.sides)  # "both smooth" after the left and the right
    sides = own.sides or (() if both else above.sides)
    if own.other:
        sides = tuple(s for s in SIDES if s not in above.sides) if len(above.sides) == 1 else ()
    listed = own.every and not own.plural and len(above.cylinders) > 1 and not own.sides  # "1T 2T 3T, all worn" means those
    fresh = (bool(own.positions) and len(above.cylinders) != 1) or (own.every and not listed) or (own.plural and not own.cylinders)
    cylinders = own.cylinders or (() if fresh or (own.sides and own.plural) else above.cylinders)
    positions = own.positions or (above.positions if not own.sides else ())
    pairs = own.pairs or (above.pairs if cylinders == above.cylinders and positions == above.positions else ())
    every = own.every and not listed
    return replace(
        own, sides=sides, cylinders=cylinders, positions=positions, other=False, pairs=pairs, every=every, magneto=own.magneto or both
    )


def other_side(spot: Spot) -> Spot:
    """Return the same place on the other magneto: what goes away on the right is of the left."""
    return replace(spot, sides=tuple(s for s in SIDES if s not in spot.sides))


def history_places(history: History, spot: Spot) -> Where:
    """Return where an answer on history holds."""
    return Where(spot.sides if history.at == "side" and spot.sides and not spot.every else ("engine",))


def places(symptom: Symptom, spot: Spot, layout: Layout, normal: bool) -> Where:
    """Return the places of a finding: those said, else some of them, else (for "in order") all."""
    seen_at = set(symptom.at)
    if spot.but and {"circuit", "cylinder"} & seen_at:
        of_plugs = "circuit" in seen_at and (spot.sides or spot.positions or "cylinder" not in seen_at)
        return _others("circuit" if of_plugs else "cylinder", spot, layout)
    if "circuit" in seen_at and (spot.cylinders or spot.positions or spot.sides or "cylinder" not in seen_at):
        where = _circuits(symptom, spot, layout, normal)
        if where is not None:
            return where
    if "cylinder" in seen_at:
        return _cylinders(symptom, spot, layout, normal)
    return _sides(symptom, spot, normal) if "side" in seen_at else Where((symptom.at[0],))


def _others(kind: str, spot: Spot, layout: Layout) -> Where:
    """Return every place of a kind but those of the cylinders named before ("the others")."""
    rest = [p for p in layout.places(kind) if int(p.split("-")[0]) not in spot.but]
    rest = [p for p in rest if kind == "cylinder" or not spot.positions or p.split("-")[1] in spot.positions]
    return Where(tuple(p for p in rest if kind == "cylinder" or not spot.sides or layout.side_of[p] in spot.sides))


def _cylinders(symptom: Symptom, spot: Spot, layout: Layout, normal: bool) -> Where:
    if spot.cylinders:
        return Where(tuple(str(c) for c in spot.cylinders))
    if normal:
        return Where(layout.places("cylinder"))
    return Where(("all" if "circuit" not in symptom.at and spot.every else "some",))


def _sides(symptom: Symptom, spot: Spot, normal: bool) -> Where:
    if spot.sides:
        return Where(spot.sides)
    if spot.magneto and spot.every and "side" in symptom.at and (normal or spot.each):
        return Where(SIDES)
    if "engine" in symptom.at:
        one = spot.magneto and not spot.every and not normal and "side" in symptom.some
        return Where(("some" if one else "engine",))
    return Where(SIDES if normal or spot.every else ("some",))


def _circuits(symptom: Symptom, spot: Spot, layout: Layout, normal: bool) -> Where | None:
    if spot.cylinders:
        found = tuple(c for c in layout.circuits if int(c.split("-")[0]) in spot.cylinders)
        if spot.pairs:
            return Where(tuple(c for c in found if (int(c.split("-")[0]), c.split("-")[1]) in spot.pairs))
        if spot.positions:
            return Where(tuple(c for c in found if c.split("-")[1] in spot.positions))
        if len(spot.sides) == 1:
            return Where(tuple(c for c in found if layout.side_of[c] in spot.sides))
        if "cylinder" in symptom.at:
            return None
        return Where(found, choose=len(spot.cylinders) == 1 and not (spot.plural or spot.every or normal))
    rest = ""
    if len(spot.positions) == 1 and spot.positions[0] in layout.positions:
        rest = f"-{spot.positions[0]}"
    elif len(spot.sides) == 1:
        rest = f"/{spot.sides[0]}"
    whole = normal or spot.every or (spot.plural and not spot.some)
    return Where((f"{'all' if whole else 'some'}{rest}",))
