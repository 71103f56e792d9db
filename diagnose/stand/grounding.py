"""Which magnetos spark: switch, ground leads, filter and feed-through, in every switch position."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.places import SIDES, Layout
from diagnose.stand.parts import Magneto, Switch

# Sides that a sound switch grounds; START is worked out from the layout (FAA-H-8083-32B p4-22).
_GROUNDED = {"off": SIDES, "left": ("right",), "right": ("left",), "both": ()}

Acts = Callable[[str, float], bool]


def grounded_by_design(layout: Layout, position: str) -> tuple[str, ...]:
    """Return the sides that a sound switch grounds; START grounds a separate magneto that has no start aid."""
    if position != "start":
        return _GROUNDED[position]
    if layout.drive == "single" or not layout.start_sides:
        return ()
    return tuple(side for side in SIDES if side not in layout.start_sides)


def switch_grounds(layout: Layout, switch: Switch, position: str, acts: Acts) -> set[str]:
    """Return the sides whose ground lead the switch connects to ground in this run."""
    sides = set(grounded_by_design(layout, position)) - {side for side, at in switch.missing if at == position}
    if any(at == position for _, at in switch.extra) and acts("switch", switch.acts):
        sides |= {side for side, at in switch.extra if at == position}
    if switch.crossed:
        sides = {"left" if side == "right" else "right" for side in sides}
    return sides


def live(magneto: Magneto, grounded: bool, acts: Acts, name: str) -> bool:
    """Return whether a magneto is free to spark: its own ground path decides what the switch can do."""
    lead, capacitor = magneto.p_lead, magneto.capacitor
    spot = f"p-lead {lead.spot or name}"
    if lead.state == "grounded" and acts(spot, lead.acts):
        return False
    cut = (lead.state == "open" and acts(spot, lead.acts)) or (
        capacitor.state == "through_open" and acts(f"capacitor {name}", capacitor.acts)
    )
    return cut or not grounded


def live_sides(layout: Layout, magnetos: dict[str, Magneto], switch: Switch, position: str, acts: Acts) -> tuple[str, ...]:
    """Return the sides that can spark in a switch position, in the order left, right."""
    grounded = switch_grounds(layout, switch, position, acts)
    return tuple(side for side in SIDES if live(magnetos[side], side in grounded, acts, side))
