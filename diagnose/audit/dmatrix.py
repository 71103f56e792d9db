"""Testability figures of a matrix of faults by tests, each cell "this test sees this fault" or not.

The names and the forms are the usual ones (MIL-STD-2165 style figures, IEEE 1522-2004 terms). A row
is the set of tests that see a fault, so a matrix of a thousand faults costs a thousand set look-ups.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass

Rows = Mapping[str, frozenset[Hashable]]


@dataclass(frozen=True)
class MatrixFigures:
    """`detectable` is a share of all faults by weight; `isolatable[k-1]` and `mean_size` are of the detected ones."""

    detectable: float
    isolatable: tuple[float, ...]
    mean_size: float
    groups: int


def restricted(rows: Rows, tests: Collection[Hashable]) -> dict[str, frozenset[Hashable]]:
    """Return the rows as they are when only some tests may be used."""
    allowed = frozenset(tests)
    return {fault: seen & allowed for fault, seen in rows.items()}


def alike(rows: Rows) -> list[tuple[str, ...]]:
    """Return the ambiguity groups: detected faults with equal rows, each group sorted, groups by first fault."""
    classes: dict[frozenset[Hashable], list[str]] = {}
    for fault, seen in rows.items():
        if seen:
            classes.setdefault(seen, []).append(fault)
    return sorted(tuple(sorted(members)) for members in classes.values())


def detectable(rows: Rows, weights: Mapping[str, float]) -> float:
    """Return FFD: the weight of the faults that at least one test sees, over the weight of all faults."""
    return sum(weights[f] for f, seen in rows.items() if seen) / sum(weights[f] for f in rows)


def figures(rows: Rows, weights: Mapping[str, float], item: Mapping[str, str] | None = None, most: int = 3) -> MatrixFigures:
    """Return FFD, FFI(1..most), the mean group size and the number of groups.

    `weights` are relative fault rates (any unit); `item` names what is replaced for each fault, and a group's
    size then counts items, not faults. With no detected fault FFI and the mean size are 0.
    """
    groups = alike(rows)
    sizes = [len({item[f] if item else f for f in members}) for members in groups]
    masses = [sum(weights[f] for f in members) for members in groups]
    whole = sum(masses) or 1.0
    isolatable = tuple(sum(m for m, size in zip(masses, sizes, strict=True) if size <= k) / whole for k in range(1, most + 1))
    mean = sum(m * size for m, size in zip(masses, sizes, strict=True)) / whole
    return MatrixFigures(detectable(rows, weights), isolatable, mean, len(groups))
