"""Places of one engine's ignition layout, and how they relate to each other.

Places are short texts: `engine`, `switch`, `start`, `left`, `right` (a magneto, and running on it
alone), `3` (a cylinder), `3-bottom` (a circuit: that plug with its lead).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

SIDES = ("left", "right")
KINDS = ("engine", "side", "cylinder", "circuit", "switch", "start")
RELATIONS = (
    "here",
    "engine",
    "switch",
    "start",
    "side",
    "other_side",
    "cylinder",
    "twin",
    "next_circuit",
    "each_circuit",
    "each_bottom",
    "each_top",
    "each_cylinder",
    "each_side",
)


@dataclass(frozen=True)
class Layout:
    """One engine's ignition arrangement.

    `fires` maps each side to the circuits its magneto fires; `start_aid` maps each side to `none`,
    `impulse` or `vibrator`; `poles` maps each side to the magnet's poles.
    """

    id: str
    label: str
    kind: str
    cylinders: int
    firing_order: tuple[int, ...]
    positions: tuple[str, ...]
    fouls_first: str
    fires: Mapping[str, tuple[str, ...]]
    start_aid: Mapping[str, str]
    poles: Mapping[str, int]
    drive: str
    pressurised: bool
    seen_right: tuple[int, ...] = ()
    source: tuple[str, ...] = ()
    _cache: dict[tuple[str, str], tuple[str, ...]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def circuits(self) -> tuple[str, ...]:
        """Return every circuit, by cylinder, then in the order of `positions`."""
        return tuple(f"{c}-{p}" for c in range(1, self.cylinders + 1) for p in self.positions)

    @cached_property
    def side_of(self) -> Mapping[str, str]:
        """Return circuit -> the side whose magneto fires it."""
        return {circuit: side for side in SIDES for circuit in self.fires[side]}

    @cached_property
    def start_sides(self) -> tuple[str, ...]:
        """Return the sides whose magneto has a start aid."""
        return tuple(side for side in SIDES if self.start_aid[side] != "none")

    @cached_property
    def features(self) -> frozenset[str]:
        """Return the features of the whole layout that `needs:` can ask for."""
        return frozenset(
            {
                "single_drive" if self.drive == "single" else "separate_drive",
                "pressurised" if self.pressurised else "unpressurised",
                self.kind,
            }
        )

    def places(self, kind: str) -> tuple[str, ...]:
        """Return every place of one kind, in a fixed order."""
        if kind == "side":
            return SIDES
        if kind == "cylinder":
            return tuple(str(c) for c in range(1, self.cylinders + 1))
        if kind == "circuit":
            return self.circuits
        if kind == "start":
            return ("start",) if self.start_sides else ()
        return (kind,)

    def has(self, place: str, need: str) -> bool:
        """Return whether a feature named under `needs:` holds at a place."""
        if need in ("impulse", "vibrator", "start_aid"):
            fired = [side for side in SIDES if place in self.fires[side]]  # a circuit has what its magneto has
            sides = [place] if place in SIDES else fired or list(self.start_sides)
            aids = {self.start_aid[side] for side in sides} - {"none"}
            return bool(aids) if need == "start_aid" else need in aids
        if need == "start_aid_alone":
            return self.start_sides == (place,) and self.drive != "single"  # one coupling on a common shaft serves both
        if need == "no_start_aid":
            return place in SIDES and bool(self.start_sides) and place not in self.start_sides
        if need == "impulse_driven":  # its own coupling, or the one on the shaft it shares
            return place in SIDES and any(self.start_aid[s] == "impulse" for s in (SIDES if self.drive == "single" else (place,)))
        if need == "start_aid_shared":
            return place in self.start_sides and (len(self.start_sides) > 1 or self.drive == "single")
        return need in self.features

    def related(self, place: str, relation: str) -> tuple[str, ...]:
        """Return the places that stand in `relation` to `place`; empty where there is none."""
        key = (place, relation)
        if key not in self._cache:
            self._cache[key] = _related(self, place, relation)
        return self._cache[key]


def kind_of(place: str) -> str:
    """Return the kind of a place by its spelling alone."""
    if place in SIDES:
        return "side"
    if place in ("engine", "switch", "start"):
        return place
    return "circuit" if "-" in place else "cylinder"


def inside(layout: Layout, inner: str, outer: str) -> bool:
    """Return whether `inner` is `outer` or a part of it (a circuit of a cylinder or side, anything of the engine)."""
    if inner == outer or outer == "engine":
        return True
    if kind_of(inner) != "circuit":
        return False
    return outer in (inner.split("-")[0], layout.side_of[inner])


def _related(layout: Layout, place: str, relation: str) -> tuple[str, ...]:
    if relation == "here":
        return (place,)
    if relation in ("engine", "switch"):
        return (relation,)
    if relation == "start":
        return layout.places("start")
    if relation.startswith("each_"):
        return _each(layout, place, relation.removeprefix("each_"))
    return _single(layout, place, relation)


def _single(layout: Layout, place: str, relation: str) -> tuple[str, ...]:
    kind = kind_of(place)
    if relation in ("side", "other_side"):
        sides = _own_sides(layout, place) if kind in ("circuit", "side", "start") else ()
        if relation == "side":
            return sides
        return tuple(s for s in SIDES if s not in sides) if sides else ()
    if relation == "cylinder":
        return (place.split("-")[0],) if kind in ("circuit", "cylinder") else ()
    if kind != "circuit":
        return ()
    if relation == "twin":
        return tuple(c for c in layout.circuits if c.split("-")[0] == place.split("-")[0] and c != place)
    return (_next_fired(layout, place),)


def _own_sides(layout: Layout, place: str) -> tuple[str, ...]:
    kind = kind_of(place)
    if kind == "side":
        return (place,)
    if kind == "circuit":
        return (layout.side_of[place],)
    return layout.start_sides if kind == "start" else SIDES


def _next_fired(layout: Layout, circuit: str) -> str:
    order = layout.firing_order
    after = order[(order.index(int(circuit.split("-")[0])) + 1) % len(order)]
    mine = layout.fires[layout.side_of[circuit]]
    return next(c for c in mine if c.split("-")[0] == str(after))


def _each(layout: Layout, place: str, what: str) -> tuple[str, ...]:
    kind = kind_of(place)
    if what == "side":
        return _own_sides(layout, place)
    if what == "cylinder":
        return (place.split("-")[0],) if kind in ("circuit", "cylinder") else layout.places("cylinder")
    circuits = tuple(
        c
        for c in layout.circuits
        if c == place
        or (kind == "cylinder" and c.split("-")[0] == place)
        or (kind not in ("circuit", "cylinder") and layout.side_of[c] in _own_sides(layout, place))
    )
    if what == "circuit":
        return circuits
    first = layout.fouls_first
    return tuple(c for c in circuits if (c.split("-")[1] == first) == (what == "bottom"))
