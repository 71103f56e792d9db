"""The few facts about an engine that the arithmetic needs, as one small record."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from diagnose.calc.problem import CalcError

SIDES = ("left", "right")


@dataclass(frozen=True)
class EngineLayout:
    """One engine's ignition arrangement.

    ``fires`` names, for each magneto, its circuits such as ``"3-bottom"``, one per cylinder;
    ``positions`` are the plug positions (top, bottom or front, rear); ``poles`` those of the magnet.
    """

    cylinders: int
    firing_order: tuple[int, ...]
    fires: Mapping[str, tuple[str, ...]]
    positions: tuple[str, ...]
    poles: int
    name: str = ""


def make_layout(firing_order: tuple[int, ...], fires: Mapping[str, tuple[str, ...]], poles: int, name: str = "") -> EngineLayout:
    """A checked layout from plain fields. Raises CalcError for a gap, a double or an unknown side."""
    count = len(firing_order)
    if count < 2 or sorted(firing_order) != list(range(1, count + 1)):
        raise CalcError(
            "firing order",
            f"{'-'.join(map(str, firing_order))} skips or repeats a cylinder",
            "name every cylinder from 1 up exactly once",
        )
    if poles < 2 or poles % 2:
        raise CalcError("magnet poles", f"{poles} is not possible", "give an even number: 2, 4 or 8")
    if set(fires) != set(SIDES):
        raise CalcError("magnetos", f"got {', '.join(sorted(fires))}", "name left and right")
    for side in SIDES:
        if sorted(_cylinder(circuit) for circuit in fires[side]) != list(range(1, count + 1)):
            raise CalcError(f"{side} magneto", "does not fire every cylinder once", "list one circuit per cylinder")
    circuits = [circuit for side in SIDES for circuit in fires[side]]
    if len(set(circuits)) != len(circuits):
        raise CalcError("magnetos", "one plug is fired by both", "list each plug under one magneto")
    positions = tuple(dict.fromkeys(circuit.partition("-")[2] for circuit in circuits))
    order = ("top", "bottom", "front", "rear")
    positions = tuple(sorted(positions, key=lambda p: order.index(p) if p in order else len(order)))
    frozen = MappingProxyType({side: tuple(fires[side]) for side in SIDES})
    return EngineLayout(count, tuple(firing_order), frozen, positions, poles, name)


def _cylinder(circuit: str) -> int:
    number, dash, position = circuit.partition("-")
    if not (number.isdecimal() and dash and position):
        raise CalcError("circuit", f"{circuit!r} is not a plug", "write cylinder-position, such as 3-bottom")
    return int(number)


def cylinder_of(circuit: str) -> int:
    """The cylinder of a circuit id."""
    return _cylinder(circuit)


def position_of(circuit: str) -> str:
    """The plug position of a circuit id: ``"3-bottom"`` -> ``"bottom"``."""
    return circuit.partition("-")[2]


def circuit_on(layout: EngineLayout, cylinder: int, side: str) -> str:
    """The circuit of ``cylinder`` that magneto ``side`` fires. Raises CalcError."""
    for circuit in layout.fires[side]:
        if _cylinder(circuit) == cylinder:
            return circuit
    raise CalcError("cylinder", f"{cylinder} is not on this engine", f"use 1 to {layout.cylinders}")


def side_of(layout: EngineLayout, circuit: str) -> str:
    """The magneto that fires ``circuit``. Raises CalcError naming the circuits there are."""
    for side in SIDES:
        if circuit in layout.fires[side]:
            return side
    known = ", ".join(c for side in SIDES for c in layout.fires[side])
    raise CalcError("plug", f"{circuit!r} is not on this engine", f"use one of: {known}")


def all_circuits(layout: EngineLayout) -> tuple[str, ...]:
    """Every circuit id, by cylinder, then by position."""
    numbers = range(1, layout.cylinders + 1)
    return tuple(f"{number}-{position}" for number in numbers for position in layout.positions)


def cross_fired(firing_order: tuple[int, ...], poles: int = 2, name: str = "") -> EngineLayout:
    """An opposed engine, odd cylinders on the right: right magneto fires upper right and lower left.

    Source: an airframe manufacturer's chapter 74-00, 30 Nov 2000, for the flat four; common practice on
    others.
    """
    numbers = sorted(firing_order)
    right = tuple(f"{n}-{'top' if n % 2 else 'bottom'}" for n in numbers)
    left = tuple(f"{n}-{'bottom' if n % 2 else 'top'}" for n in numbers)
    return make_layout(firing_order, {"right": right, "left": left}, poles, name)


def radial(cylinders: int, poles: int, name: str = "") -> EngineLayout:
    """A radial: right magneto fires the front plugs, left the rear ones (FAA-H-8083-32B p4-8)."""
    numbers = range(1, cylinders + 1)
    fires = {"right": tuple(f"{n}-front" for n in numbers), "left": tuple(f"{n}-rear" for n in numbers)}
    return make_layout(radial_order(cylinders), fires, poles, name)


def radial_order(cylinders: int) -> tuple[int, ...]:
    """Firing order of a radial by the rules of FAA-H-8083-32B p1-16.

    Single row: every other cylinder, odd numbers first. 14 cylinders: add 9 or take away 5; 18: add 11 or
    take away 7, whichever stays on the engine. Raises CalcError for other counts.
    """
    if cylinders in (5, 7, 9):
        return tuple(range(1, cylinders + 1, 2)) + tuple(range(2, cylinders + 1, 2))
    steps = {14: (9, 5), 18: (11, 7)}.get(cylinders)
    if steps is None:
        raise CalcError("radial", f"{cylinders} cylinders has no rule here", "use 5, 7, 9, 14 or 18")
    order = [1]
    while len(order) < cylinders:
        up = order[-1] + steps[0]
        order.append(up if up <= cylinders else order[-1] - steps[1])
    return tuple(order)


BUILT_IN = (
    "opposed-4",
    "opposed-6",
    "opposed-8",
    "radial-5",
    "radial-7",
    "radial-9",
    "radial-14",
    "radial-18",
)
_OPPOSED = {
    "opposed-4": (1, 3, 2, 4),  # FAA-H-8083-32B p1-16; 1-4-2-3 also exists
    "opposed-6": (1, 4, 5, 2, 3, 6),  # FAA-H-8083-32B p1-16
    "opposed-8": (1, 5, 8, 3, 2, 7, 4, 6),  # from memory, no source
}
_RADIAL_POLES = {5: 2, 7: 4, 9: 4, 14: 8, 18: 8}  # 7 to 18: study notes, module 16.6; 5: estimate


def built_in(name: str) -> EngineLayout:
    """A layout by name. Raises CalcError naming the ones there are."""
    if name in _OPPOSED:
        return cross_fired(_OPPOSED[name], 2, name)
    if name in BUILT_IN:
        cylinders = int(name.partition("-")[2])
        return radial(cylinders, _RADIAL_POLES[cylinders], name)
    raise CalcError("layout", f"{name!r} is not known", f"use one of: {', '.join(BUILT_IN)}")
