"""Whether a layout holds together: every cylinder fires once, every plug is fired by one magneto."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from diagnose.places import SIDES, Layout
from diagnose.problems import Problem
from diagnose.rulebase.nodes import Node, problem


def layout_problems(layout: Layout, node: Node) -> list[Problem]:
    """Return every contradiction of a layout, each at the key it belongs to."""
    marks = {key.text or "": value.mark for key, value in node.pairs or ()}
    return [
        problem(marks.get(key, node.mark), "layout", message, fix)
        for key, message, fix in (*_order(layout), *_positions(layout), *_fires(layout))
    ]


def _order(layout: Layout) -> Iterator[tuple[str, str, str]]:
    wanted = set(range(1, layout.cylinders + 1))
    counts = Counter(layout.firing_order)
    for cylinder, count in sorted(counts.items()):
        if count > 1:
            yield "firing_order", f"cylinder {cylinder} fires {count} times", "name each cylinder once"
    for cylinder in sorted(wanted - set(counts)):
        yield "firing_order", f"cylinder {cylinder} never fires", "name each cylinder once"
    for cylinder in sorted(set(counts) - wanted):
        yield "firing_order", f"there is no cylinder {cylinder}", f"cylinders are 1 to {layout.cylinders}"
    for cylinder in sorted(set(layout.seen_right) - wanted):
        yield "seen_right", f"there is no cylinder {cylinder}", f"cylinders are 1 to {layout.cylinders}"


def _positions(layout: Layout) -> Iterator[tuple[str, str, str]]:
    if len(set(layout.positions)) != 2 or len(layout.positions) != 2:
        yield "positions", "a cylinder has two plugs at two positions", "name two, such as [top, bottom]"
    for position in layout.positions:
        if not position.isalpha() or position in SIDES:
            yield "positions", f"'{position}' cannot be a position", "use a plain word other than left, right"
    if layout.fouls_first not in layout.positions:
        yield "fouls_first", f"'{layout.fouls_first}' is none of the positions", "name one of them"


def _fires(layout: Layout) -> Iterator[tuple[str, str, str]]:
    known = set(layout.circuits)
    fired = Counter(circuit for side in SIDES for circuit in layout.fires[side])
    for circuit in sorted(known - set(fired)):
        yield "fires", f"plug {circuit} is fired by no magneto", "add it to left or right"
    for circuit, count in sorted(fired.items()):
        if circuit not in known:
            yield "fires", f"there is no plug {circuit}", "plugs are CYLINDER-POSITION"
        elif count > 1:
            yield "fires", f"plug {circuit} is fired {count} times", "name it once"
    for side in SIDES:
        cylinders = Counter(c.split("-")[0] for c in layout.fires[side])
        for cylinder, count in sorted(cylinders.items()):
            if count > 1:
                yield "fires", f"the {side} magneto fires both plugs of cylinder {cylinder}", "one each"
