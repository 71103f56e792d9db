"""Joining tables over sets of bits: OR-convolution without subtraction.

A table has a row per set of its bits (the i-th bit of the row number is its i-th bit) and a column per question or source.
For one shared bit, with F0, F1 the rows of a table without and with it:

    join      (F0 G0,            F1 (G0 + G1) + F0 G1)
    needed    (F0 O0 + F1 O1,    (F0 + F1) O1)

`needed` is the transpose: for every set m, the sum over sets S of F[S] O[S joined with m]. Each takes three products
for a shared bit, two for one that only one table has. Bits are split off one by one, whole rows at a time; where the columns are few,
the three parts of the first bits are laid side by side as columns instead, since a step costs about as much as 500 products.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

Bits = tuple[int, ...]  # rising
Operation = Callable[["Array", "Array", "Array", "Array"], None]
LEAST = 500  # columns worth a step
MOST = 1 << 17  # cells of a table worked on at once: about what the cache holds


def join(first: Array, first_bits: Bits, second: Array, second_bits: Bits) -> tuple[Array, Bits]:
    """Return the table of unions of both, and its bits; columns match one to one, or one table has a single one."""
    if first_bits == second_bits:
        return _in_parts(_join, first, second), first_bits
    bits = tuple(sorted({*first_bits, *second_bits}))
    shared = tuple(b for b in first_bits if b in second_bits)
    order = [shared, tuple(b for b in first_bits if b not in shared), tuple(b for b in second_bits if b not in shared)]
    columns = max(first.shape[1], second.shape[1])
    made = _in_parts(_join, _spread(first, first_bits, order, columns), _spread(second, second_bits, order, columns))
    return _ordered(made, order, bits, columns), bits


def needed(table: Array, table_bits: Bits, out: Array, out_bits: Bits, bits: Bits) -> Array:
    """Return, over `bits`, what sets before `table` still need of `out`; its bits are those of both together."""
    if table_bits == bits:
        return _in_parts(_needed, table, out)
    shared = tuple(b for b in bits if b in table_bits)
    order = [shared, tuple(b for b in table_bits if b not in bits), tuple(b for b in bits if b not in table_bits)]
    columns = max(table.shape[1], out.shape[1])
    made = _in_parts(_needed, _spread(table, table_bits, order, columns), _spread(out, out_bits, order, columns))
    made = made.reshape(1 << len(shared), 1 << len(order[1]), -1).sum(axis=1)
    return _ordered(made, [shared, order[2]], bits, columns)


def _spread(table: Array, own: Bits, order: Sequence[Bits], columns: int) -> Array:
    """Return the table with the sets of the first bits of `order` as rows, of all others as columns beside its own."""
    import numpy as np

    axes = [own[::-1].index(b) if b in own else -1 for bits in order for b in bits[::-1]]
    cube = table.reshape((2,) * len(own) + (table.shape[1],)).transpose([a for a in axes if a >= 0] + [len(own)])
    cube = cube.reshape([2 if a >= 0 else 1 for a in axes] + [table.shape[1]])
    return np.broadcast_to(cube, (2,) * len(axes) + (columns,)).reshape(1 << len(order[0]), -1)


def _ordered(made: Array, order: Sequence[Bits], bits: Bits, columns: int) -> Array:
    """Return the table with its bits rising: the way back from `_spread`."""
    axes = [b for group in order for b in group[::-1]]
    cube = made.reshape((2,) * len(axes) + (columns,)).transpose([axes.index(b) for b in bits[::-1]] + [len(axes)])
    return cube.reshape(1 << len(bits), columns)


def _in_parts(operation: Operation, first: Array, second: Array) -> Array:
    """Return an operation on two tables of the same bits, so many columns at a time that they stay in the cache."""
    import numpy as np

    columns = max(first.shape[1], second.shape[1])
    if columns < LEAST and len(first) > 1:
        return _aside(operation, first, second, columns)
    out = np.empty((len(first), columns))
    step = max(LEAST, MOST // len(first))
    spare = np.empty((len(first), min(step, columns)))
    for start in range(0, columns, step):
        part = slice(start, start + step)
        a, b = (t if t.shape[1] == 1 else t[:, part] for t in (first, second))
        operation(out[:, part], a, b, spare[:, : out[:, part].shape[1]])
    return out


def _aside(operation: Operation, first: Array, second: Array, columns: int) -> Array:
    """Return an operation on tables of few columns: the three products of the last bit as columns side by side."""
    import numpy as np

    first, second = (t if t.shape[1] == columns else np.repeat(t, columns, axis=1) for t in (first, second))
    (f0, f1), (s0, s1) = _halves(first), _halves(second)
    if operation is _join:
        lefts, rights = (f0, f1, f0), (s0, s0 + s1, s1)
    else:
        lefts, rights = (f0, f1, f0 + f1), (s0, s1, s1)
    made = _in_parts(operation, np.concatenate(lefts, axis=1), np.concatenate(rights, axis=1))
    x0, x1, x2 = (made[:, i * columns : (i + 1) * columns] for i in range(3))
    return np.concatenate((x0, x1 + x2) if operation is _join else (x0 + x1, x2))


def _halves(table: Array) -> tuple[Array, Array]:
    half = len(table) // 2
    return table[:half], table[half:]


def _join(out: Array, first: Array, second: Array, spare: Array) -> None:
    """Write the join of two tables of the same bits; `spare` is room to work in, as large as they are."""
    import numpy as np

    if len(out) == 1:
        np.multiply(first, second, out=out)
        return
    (low, high), (f0, f1), (s0, s1) = _halves(out), _halves(first), _halves(second)
    here, rest = _halves(spare)
    if len(out) == 2:
        np.multiply(first, s0, out=out)
        high += np.multiply(f0 + f1, s1, out=here)
        return
    _join(low, f0, s0, rest)
    _join(high, f1, np.add(s0, s1, out=here[:, : second.shape[1]]), rest)
    _join(here, f0, s1, rest)
    high += here


def _needed(out: Array, table: Array, after: Array, spare: Array) -> None:
    """Write what sets before `table` still need of `after`."""
    import numpy as np

    if len(out) == 1:
        np.multiply(table, after, out=out)
        return
    (low, high), (f0, f1), (o0, o1) = _halves(out), _halves(table), _halves(after)
    here, rest = _halves(spare)
    if len(out) == 2:
        np.multiply(f0, after, out=out)
        out += np.multiply(f1, o1, out=here)
        return
    _needed(high, np.add(f0, f1, out=here[:, : table.shape[1]]), o1, rest)
    _needed(here, f1, o1, rest)
    _needed(low, f0, o0, rest)
    low += here
