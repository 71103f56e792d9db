"""Spark polarity at each plug, by following the sparks one by one.

A magneto's sparks alternate in sign. With an even number of cylinders each plug therefore always gets the
same sign; with an odd number it gets both by turns, and rotation then matters for deposits only. What sign
one magneto gives against the other is not known from the layout: it must be told.
"""

from diagnose.calc.circuits import cylinder_of, side_of
from diagnose.places import Layout


def signs(layout: Layout, side: str, cycles: int = 2) -> dict[str, frozenset[int]]:
    """Return the signs (+1, -1) every plug of `side` sees over some engine cycles; the first spark counts as +1."""
    seen: dict[int, set[int]] = {cylinder: set() for cylinder in layout.firing_order}
    sign = 1
    for _ in range(cycles):
        for cylinder in layout.firing_order:
            seen[cylinder].add(sign)
            sign = -sign
    return {circuit: frozenset(seen[cylinder_of(circuit)]) for circuit in layout.fires[side]}


def compare_signs(layout: Layout, start: str, end: str, together: bool | None) -> str:
    """Return the polarity after moving a plug: `opposite`, `same`, `alternates` or `unknown`.

    `together` tells whether both magnetos give a cylinder the same sign; None = not known.
    """
    first, second = side_of(layout, start), side_of(layout, end)
    before, after = signs(layout, first)[start], signs(layout, second)[end]
    if len(before) > 1:
        return "alternates"
    if first != second and together is None:
        return "unknown"
    flip = first != second and together is False
    return "same" if (before == after) is not flip else "opposite"
