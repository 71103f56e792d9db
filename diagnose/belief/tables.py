"""Joining a small table over some clauses with a table over all of them: OR-convolution without subtraction.

Tables have one row per set of clauses (bit b of the row number is clause b) and one column per
question, or a single column where all questions agree. For one clause, with F0, F1 the halves of a
table without and with it:

    forward   (F0 G0,            F1 (G0 + G1) + F0 G1)
    backward  (B0 G0 + B1 G1,    B1 (G0 + G1))
    dual      (F0 B0 + F1 B1,    (F0 + F1) B1)

Each takes three products for one clause, so a group reaching k of n clauses costs 3^k 2^(n-k) a column.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


def _cube(table: Array, width: int) -> Array:
    """Return the table with one axis of two per clause; clause b lies on axis width - 1 - b."""
    return table.reshape((2,) * width + (table.shape[1],))


def _spread(table: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return a small table as a cube over all clauses, length 1 along those it does not reach."""
    shape = [2 if b in bits else 1 for b in reversed(range(width))]
    return table.reshape((*shape, table.shape[1]))


def _thirds(cube: Array, axis: int, plan: tuple[str, str, str]) -> Array:
    """Return three parts of a cube along one axis: "0" without the clause, "1" with it, "+" both added."""
    import numpy as np

    low, high = np.take(cube, 0, axis=axis), np.take(cube, 1, axis=axis)
    return np.stack([{"0": low, "1": high}.get(part, low + high) for part in plan], axis=axis)


def _product(first: Array, second: Array, plans: tuple[tuple[str, str, str], ...], bits: tuple[int, ...], width: int) -> Array:
    """Return the cube of three products per clause, put back into two: the middle one joins where `plans` says."""
    import numpy as np

    axes = [width - 1 - bit for bit in bits]
    for axis in axes:
        first, second = _thirds(first, axis, plans[0]), _thirds(second, axis, plans[1])
    made = first * second
    for axis in axes:
        x0, x1, x2 = (made.take(i, axis=axis) for i in range(3))
        made = np.stack((x0 + x1, x2) if plans[2] == LOW else (x0, x1 + x2), axis=axis)
    return made


# What stands in the three products for one clause, in the order of the formulas above.
LOW, HIGH = ("low", "low", "high"), ("low", "high", "high")
FORWARD = (("0", "1", "0"), ("0", "+", "1"), HIGH)
BACKWARD = (("0", "1", "1"), ("0", "1", "+"), LOW)
DUAL = (("0", "1", "+"), ("0", "1", "1"), LOW)


def forward_join(table: Array, small: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return the table of unions of both; `small` has its clauses `bits` in rising order."""
    made = _product(_cube(table, width), _spread(small, bits, width), FORWARD, bits, width)
    return made.reshape(1 << width, made.shape[-1])


def backward_join(table: Array, small: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return, for every set, the weight of what `small` and then `table` still supply."""
    made = _product(_cube(table, width), _spread(small, bits, width), BACKWARD, bits, width)
    return made.reshape(1 << width, made.shape[-1])


def dual(before: Array, after: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return, for every set m of the clauses `bits`, the sum over sets S of before[S] after[S joined with m]."""
    made = _product(_cube(before, width), _cube(after, width), DUAL, bits, width)
    others = tuple(width - 1 - b for b in range(width) if b not in bits)
    summed: Array = made.sum(axis=others).reshape(1 << len(bits), made.shape[-1])
    return summed
