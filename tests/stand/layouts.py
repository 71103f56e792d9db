"""Layouts for the tests, written out from public facts."""

from __future__ import annotations

from diagnose.places import Layout


def cross_fired(order, *, aid=("impulse", "none"), drive="separate", pressurised=False, poles=2):
    """An opposed engine: right magneto fires upper right (odd) and lower left plugs (airframe chapter 74, 30 Nov 2000)."""
    numbers = range(1, len(order) + 1)
    right = tuple(f"{n}-{'top' if n % 2 else 'bottom'}" for n in numbers)
    left = tuple(f"{n}-{'bottom' if n % 2 else 'top'}" for n in numbers)
    return Layout(
        id=f"opposed-{len(order)}",
        label=f"opposed {len(order)}",
        kind="opposed",
        cylinders=len(order),
        firing_order=tuple(order),
        positions=("top", "bottom"),
        fouls_first="bottom",
        fires={"left": left, "right": right},
        start_aid={"left": aid[0], "right": aid[1]},
        poles={"left": poles, "right": poles},
        drive=drive,
        pressurised=pressurised,
    )


def radial(cylinders, poles=4, aid=("impulse", "none")):
    """A single-row radial: right magneto fires the front plugs, left the rear ones (FAA-H-8083-32B p4-8)."""
    numbers = range(1, cylinders + 1)
    return Layout(
        id=f"radial-{cylinders}",
        label=f"radial {cylinders}",
        kind="radial",
        cylinders=cylinders,
        firing_order=tuple(range(1, cylinders + 1, 2)) + tuple(range(2, cylinders + 1, 2)),
        positions=("front", "rear"),
        fouls_first="front",
        fires={"left": tuple(f"{n}-rear" for n in numbers), "right": tuple(f"{n}-front" for n in numbers)},
        start_aid={"left": aid[0], "right": aid[1]},
        poles={"left": poles, "right": poles},
        drive="separate",
        pressurised=False,
    )


FOUR = cross_fired((1, 3, 2, 4))  # FAA-H-8083-32B p1-16
SIX = cross_fired((1, 4, 5, 2, 3, 6))  # FAA-H-8083-32B p1-16
NINE = radial(9)
FOUR_VIBRATOR = cross_fired((1, 3, 2, 4), aid=("vibrator", "none"))
FOUR_SINGLE_DRIVE = cross_fired((1, 3, 2, 4), aid=("impulse", "impulse"), drive="single")
SIX_PRESSURISED = cross_fired((1, 4, 5, 2, 3, 6), pressurised=True)
