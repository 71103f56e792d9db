"""The check under way: what words given at it are about, where they do not say so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from diagnose.places import SIDES, Layout
from diagnose.words.clauses import Spot


@dataclass(frozen=True)
class Here:
    """Symptoms a check looks at, the place they share, the regime it is done in, what its places are."""

    ids: frozenset[str] = frozenset()
    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()
    things: frozenset[str] = frozenset()


def here_of(nodes: Sequence[str], layout: Layout) -> Here:
    """Return what the results of a check, each `symptom.regime@place`, have in common."""
    split = [(*node.partition("@")[0].split("."), node.partition("@")[2]) for node in nodes]
    places = {parts[-1] for parts in split}
    regimes = tuple(dict.fromkeys(parts[1] for parts in split if len(parts) == 3 and parts[1] != "static"))
    of_cylinders = any(place not in SIDES and place != "engine" for place in places)
    things = frozenset(("cylinder",) if of_cylinders else ("magneto",) if places & set(SIDES) else ())
    return Here(frozenset(parts[0] for parts in split), _shared(places, layout), regimes if len(regimes) == 1 else (), things)


def _shared(places: set[str], layout: Layout) -> Spot:
    """Return the magneto, the cylinder and the position that all places have in common."""
    sides = {place if place in SIDES else layout.side_of.get(place, "") for place in places}
    cylinders = {place.partition("-")[0] if place not in SIDES else "" for place in places}
    positions = {place.partition("-")[2] for place in places}
    spot = Spot(sides=tuple(s for s in SIDES if sides == {s}), magneto=places <= set(SIDES))
    if len(cylinders) == 1 and next(iter(cylinders)).isdigit():
        spot = replace(spot, cylinders=tuple(int(c) for c in cylinders))
        if len(positions) == 1 and "" not in positions:
            spot = replace(spot, positions=tuple(positions), sides=())
    return spot
