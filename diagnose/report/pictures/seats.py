"""Where the cylinders, plugs and magnetos of a layout stand in the picture of its engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import cos, pi, sin

from diagnose.places import SIDES, Layout

MIDDLE = 180.0
ROW = 66.0  # from one pair of opposed cylinders to the next
SINGLE_ROW_MOST = 9  # a radial of more cylinders has two rows

Point = tuple[float, float]


@dataclass(frozen=True)
class Seats:
    """Centres in picture units; `hexagon` is the radius of a plug, `bottom` the line under the engine."""

    cylinders: Mapping[int, Point]
    plugs: Mapping[str, Point]
    magnetos: Mapping[str, Point]
    hexagon: float
    bottom: float


def seats(layout: Layout) -> Seats:
    """Return the seats of a layout: opposed from above with the front at the top, radial from behind."""
    return _opposed(layout) if layout.kind == "opposed" else _radial(layout)


def two_rows(layout: Layout) -> bool:
    """Return whether a radial has two rows; the even numbers are then its front row (as its layout file says)."""
    return layout.kind == "radial" and layout.cylinders > SINGLE_ROW_MOST


def _opposed(layout: Layout) -> Seats:
    cylinders: dict[int, Point] = {}
    plugs: dict[str, Point] = {}
    for direction in (1, -1):
        bank = [c for c in range(1, layout.cylinders + 1) if (c in layout.seen_right) == (direction == 1)]
        for row, cylinder in enumerate(bank):
            y = 80.0 + ROW * row
            cylinders[cylinder] = (MIDDLE + direction * 107, y)
            for number, position in enumerate(layout.positions):
                plugs[f"{cylinder}-{position}"] = (MIDDLE + direction * (94 + 48 * number), y - 8)
    under = max(y for _, y in cylinders.values()) + 58
    return Seats(cylinders, plugs, {"left": (MIDDLE - 50, under + 13), "right": (MIDDLE + 50, under + 13)}, 12.0, under + 50)


def _radial(layout: Layout) -> Seats:
    double = two_rows(layout)
    middle = 168.0 if double else 158.0
    cylinders: dict[int, Point] = {}
    plugs: dict[str, Point] = {}
    apart = 17.5 if double else 19.0
    for cylinder in range(1, layout.cylinders + 1):
        angle = 2 * pi * (cylinder - 1) / layout.cylinders
        away = (151.0 if cylinder % 2 == 0 else 89.0) if double else 128.0
        x, y = MIDDLE + away * sin(angle), middle - away * cos(angle)
        cylinders[cylinder] = (x, y)
        for position in layout.positions:
            circuit = f"{cylinder}-{position}"
            plugs[circuit] = (x + (-apart if layout.side_of[circuit] == SIDES[0] else apart), y - 6)
    out = 25.0 if double else 37.0
    magnetos = {"left": (MIDDLE - out, middle), "right": (MIDDLE + out, middle)}
    return Seats(cylinders, plugs, magnetos, 9.0 if double else 11.0, middle + (151 if double else 128) + 34)
