"""The few questions the arithmetic asks of a layout: which plug, which magneto, how many poles."""

import re
from collections.abc import Sequence
from dataclasses import replace

from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

MOST_CYLINDERS = 28  # four rows of seven, the most that flew


def read_cylinder(text: str, most: int = MOST_CYLINDERS) -> int:
    """Return a cylinder number as written. Raises BadInput."""
    written = text.strip()
    if not re.fullmatch(r"\d{1,2}", written, re.ASCII) or not 1 <= int(written) <= most:
        shown = repr(written if len(written) <= 20 else f"{written[:20]}...")
        raise BadInput(f"cylinder: {shown} is not on this engine; use 1 to {most}")
    return int(written)


def cylinder_of(circuit: str) -> int:
    """Return the cylinder of a circuit: `3-bottom` -> 3."""
    return int(circuit.partition("-")[0])


def position_of(circuit: str) -> str:
    """Return the plug position of a circuit: `3-bottom` -> `bottom`."""
    return circuit.partition("-")[2]


def circuit_on(layout: Layout, cylinder: int, side: str) -> str:
    """Return the circuit of `cylinder` that magneto `side` fires. Raises BadInput."""
    for circuit in layout.fires[side]:
        if cylinder_of(circuit) == cylinder:
            return circuit
    raise BadInput(f"cylinder: {cylinder} is not on this engine; use 1 to {layout.cylinders}")


def side_of(layout: Layout, circuit: str) -> str:
    """Return the magneto that fires `circuit`. Raises BadInput naming the circuits there are."""
    if circuit not in layout.side_of:
        known = ", ".join(c for side in SIDES for c in layout.fires[side])
        raise BadInput(f"plug: {circuit!r} is not on this engine; use one of: {known}")
    return layout.side_of[circuit]


def poles(layout: Layout) -> int:
    """Return the poles of the magnet; where the two magnetos differ, the greater number."""
    return max(layout.poles.values())


def rearranged(layout: Layout, firing_order: Sequence[int], pole_count: int) -> Layout:
    """Return the layout with another firing order and magnet. Raises BadInput for an order or a magnet that cannot be."""
    if sorted(firing_order) != list(range(1, layout.cylinders + 1)):
        order = "-".join(map(str, firing_order))
        raise BadInput(f"firing order: {order} skips or repeats a cylinder; name each of 1 to {layout.cylinders} once")
    if pole_count < 2 or pole_count % 2:
        raise BadInput(f"magnet poles: {pole_count} is not possible; give an even number: 2, 4 or 8")
    return replace(layout, firing_order=tuple(firing_order), poles=dict.fromkeys(SIDES, pole_count), _cache={})
