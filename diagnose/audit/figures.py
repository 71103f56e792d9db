"""Testability figures of many runs, each with a 95 % interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import mean, stdev

from diagnose.audit.simulate import Run

Z = 1.959964  # the two-sided 95 % point of the normal distribution


@dataclass(frozen=True)
class Figure:
    """A figure with its 95 % interval; `of` is what it is a share or mean of: runs, detected faults, repairs or parts."""

    value: float
    low: float
    high: float
    count: int
    of: str


def share(hits: int, count: int, of: str) -> Figure:
    """Return a share with Wilson's interval (Wilson 1927); with nothing counted it is unknown: 0 to 1."""
    if not count:
        return Figure(0.0, 0.0, 1.0, 0, of)
    p, z2 = hits / count, Z * Z
    middle = (p + z2 / (2 * count)) / (1 + z2 / count)
    half = Z * sqrt(p * (1 - p) / count + z2 / (4 * count * count)) / (1 + z2 / count)
    return Figure(p, max(0.0, middle - half), min(1.0, middle + half), count, of)


def average(values: Sequence[float], of: str) -> Figure:
    """Return a mean with Student's interval (the 95 % point by the first two terms of its series in 1/freedom)."""
    if not values:
        return Figure(0.0, 0.0, 0.0, 0, of)
    if len(values) == 1:
        return Figure(values[0], 0.0, float("inf"), 1, of)
    free = len(values) - 1
    point = Z + (Z**3 + Z) / (4 * free) + (5 * Z**5 + 16 * Z**3 + 3 * Z) / (96 * free**2)
    middle, half = mean(values), point * stdev(values) / sqrt(len(values))
    return Figure(middle, max(0.0, middle - half), middle + half, len(values), of)


def testability(runs: Sequence[Run]) -> dict[str, Figure]:
    """Return every figure of some runs by name. FFI and the means are of detected faults, FFD of all."""
    seen = [r for r in runs if r.detected]
    own = "detected faults"
    return {
        "detected": share(len(seen), len(runs), "faults"),
        **{f"isolated_to_{k}": share(sum(r.named and r.group_size <= k for r in seen), len(seen), own) for k in (1, 2, 3)},
        "first_repair_right": share(sum(r.ended and r.repairs == 1 for r in seen), len(seen), own),
        "repaired": share(sum(r.ended for r in seen), len(seen), own),
        "unexplained": share(sum(r.unexplained for r in seen), len(seen), own),
        "group_size": average([float(r.group_size) for r in seen], own),
        "checks": average([float(len(r.checks)) for r in seen], own),
        "minutes": average([r.minutes for r in seen], own),
        "false_repairs": share(sum(r.sound_repairs for r in seen), sum(r.repairs for r in seen), "repairs"),
        "false_removals": share(sum(r.sound_parts for r in seen), sum(r.parts for r in seen), "parts"),
    }
