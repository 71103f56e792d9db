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


def _stack(parts: tuple[Array, Array, Array], axis: int) -> Array:
    import numpy as np

    return np.stack(parts, axis=axis)


def _halves(cube: Array, axis: int) -> tuple[Array, Array]:
    import numpy as np

    return np.take(cube, 0, axis=axis), np.take(cube, 1, axis=axis)


def _spread(table: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return a small table as a cube over all clauses, length 1 along those it does not reach."""
    shape = [2 if b in bits else 1 for b in reversed(range(width))]
    return table.reshape((*shape, table.shape[1]))


def forward_join(table: Array, small: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return the table of unions of both; `small` has its clauses `bits` in rising order."""
    big, part = _cube(table, width), _spread(small, bits, width)
    for bit in bits:
        axis = width - 1 - bit
        f0, f1 = _halves(big, axis)
        g0, g1 = _halves(part, axis)
        big, part = _stack((f0, f1, f0), axis), _stack((g0, g0 + g1, g1), axis)
    made = big * part
    for bit in bits:
        axis = width - 1 - bit
        x0, x1, x2 = (made.take(i, axis=axis) for i in range(3))
        made = _pair(x0, x1 + x2, axis)
    return made.reshape(1 << width, made.shape[-1])


def backward_join(table: Array, small: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return, for every set, the weight of what `small` and then `table` still supply."""
    big, part = _cube(table, width), _spread(small, bits, width)
    for bit in bits:
        axis = width - 1 - bit
        b0, b1 = _halves(big, axis)
        g0, g1 = _halves(part, axis)
        big, part = _stack((b0, b1, b1), axis), _stack((g0, g1, g0 + g1), axis)
    made = big * part
    for bit in bits:
        axis = width - 1 - bit
        x0, x1, x2 = (made.take(i, axis=axis) for i in range(3))
        made = _pair(x0 + x1, x2, axis)
    return made.reshape(1 << width, made.shape[-1])


def dual(before: Array, after: Array, bits: tuple[int, ...], width: int) -> Array:
    """Return, for every set m of the clauses `bits`, the sum over sets S of before[S] after[S joined with m]."""
    first, last = _cube(before, width), _cube(after, width)
    for bit in bits:
        axis = width - 1 - bit
        f0, f1 = _halves(first, axis)
        b0, b1 = _halves(last, axis)
        first, last = _stack((f0, f1, f0 + f1), axis), _stack((b0, b1, b1), axis)
    made = first * last
    for bit in bits:
        axis = width - 1 - bit
        x0, x1, x2 = (made.take(i, axis=axis) for i in range(3))
        made = _pair(x0 + x1, x2, axis)
    others = tuple(width - 1 - b for b in range(width) if b not in bits)
    summed: Array = made.sum(axis=others).reshape(1 << len(bits), made.shape[-1])
    return summed


def _pair(low: Array, high: Array, axis: int) -> Array:
    import numpy as np

    return np.stack((low, high), axis=axis)
