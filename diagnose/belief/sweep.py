"""Tables of groups of sources joined result by result: a bit is summed out as soon as every source that can set it is in.

So results that only few sources touch never widen the tables of the others. Results that share bits are summed out together, each
set of bits weighed by whether it is accepted.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.tables import Bits, join, needed
from diagnose.belief.told import Block

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Table(NamedTuple):
    """A table over some bits; `column[question]` is the one a question reads."""

    bits: Bits
    cells: Array
    column: Array


class Step(NamedTuple):
    """One block of results: the numbers of the tables joined for it, the tables before each of them, and the last."""

    block: Block
    joined: list[int]
    before: list[Table]
    whole: Table


class Sweep:
    """Joins tables and closes all blocks; `weight[question]` is what is left."""

    def __init__(self, tables: Sequence[Table], blocks: Sequence[Block], questions: int) -> None:
        import numpy as np

        self.tables = list(tables)
        self.questions = questions
        self.steps: list[Step] = []
        self.open = list(range(len(tables)))
        left = list(blocks)
        while left:
            block = min(left, key=self._width)
            left = [b for b in left if b is not block]
            self._close(block)
        self.weight: Array = np.ones(questions)
        for number in self.open:
            self.weight = self.weight * self._scalar(number)

    def _scalar(self, number: int) -> Array:
        table = self.tables[number]
        weights: Array = table.cells[0, table.column]
        return weights

    def _touching(self, block: Block) -> list[int]:
        return [n for n in self.open if not set(block.bits).isdisjoint(self.tables[n].bits)]

    def _width(self, block: Block) -> int:
        return len({b for n in self._touching(block) for b in self.tables[n].bits}.union(block.bits))

    def _close(self, block: Block) -> None:
        """Join what touches a block, what fewest questions change and the narrowest first, and sum the block's bits out."""
        mine = sorted(self._touching(block), key=lambda n: (self.tables[n].cells.shape[1] > 1, len(self.tables[n].bits)))
        whole = _unit(block.bits, self.questions)
        before = []
        for number in mine:
            before.append(whole)
            whole = _join(whole, self.tables[number])
        self.steps.append(Step(block, mine, before, whole))
        self.open = [n for n in self.open if n not in mine]
        self.open.append(len(self.tables))
        self.tables.append(_closed(whole, block))

    def outs(self) -> list[Table]:
        """Return, for every table given, what it still needs of all others and of the results."""
        import numpy as np

        found: dict[int, Table] = {}
        given = len(self.tables) - len(self.steps)
        for number in self.open:
            others = np.ones(self.questions)
            for other in self.open:
                others = others * self._scalar(other) if other != number else others
            found[number] = _dense((), others[None, :])
        for index in reversed(range(len(self.steps))):
            step = self.steps[index]
            out = _opened(found[given + index], step.block, step.whole.bits)
            for number, before in zip(reversed(step.joined), reversed(step.before), strict=True):
                table = self.tables[number]
                found[number] = _needed(before, out, table.bits)
                out = _needed(table, out, before.bits)
        return [found[number] for number in range(given)]


def _unit(bits: Bits, questions: int) -> Table:
    """Return the table of "nothing met yet"."""
    import numpy as np

    cells = np.zeros((1 << len(bits), 1))
    cells[0] = 1.0
    return Table(bits, cells, np.zeros(questions, dtype=int))


def _dense(bits: Bits, cells: Array) -> Table:
    import numpy as np

    return Table(bits, cells, np.arange(cells.shape[1]))


def _paired(a: Table, b: Table) -> tuple[Array, Array, Array]:
    """Return two tables' columns side by side, once for every pair that some question reads, and who reads which."""
    import numpy as np

    key = a.column * b.cells.shape[1] + b.column
    pairs, column = np.unique(key, return_inverse=True)
    first, second = pairs // b.cells.shape[1], pairs % b.cells.shape[1]
    return a.cells[:, first], b.cells[:, second], column


def _join(a: Table, b: Table) -> Table:
    first, second, column = _paired(a, b)
    cells, bits = join(first, a.bits, second, b.bits)
    return Table(bits, cells, column)


def _needed(table: Table, out: Table, bits: Bits) -> Table:
    first, second, column = _paired(table, out)
    return Table(bits, needed(first, table.bits, second, out.bits, bits), column)


def _closed(table: Table, block: Block) -> Table:
    import numpy as np

    rest = tuple(b for b in table.bits if b not in block.bits)
    return Table(rest, np.einsum("a,arc->rc", block.accept, table.cells[_apart(table.bits, block.bits)]), table.column)


def _opened(closed: Table, block: Block, bits: Bits) -> Table:
    """Return what the table before closing still needs, from what the closed one needs: the transpose of `_closed`."""
    import numpy as np

    found = np.empty((1 << len(bits), closed.cells.shape[1]))
    found[_apart(bits, block.bits)] = block.accept[:, None, None] * closed.cells[None]
    return Table(bits, found, closed.column)


@cache
def _apart(bits: Bits, apart: Bits) -> Array:
    """Return the row numbers of a table with the sets of some bits along the first axis and those of the rest along the second."""
    import numpy as np

    rows = np.zeros((1, 1), dtype=int)
    for place, bit in enumerate(bits):
        rows = np.concatenate((rows, rows + (1 << place)), axis=0 if bit in apart else 1)
    return rows
