"""Many sources that can set the same bits, joined pairwise as a tree, and back down to each of them with all others joined.

Most questions change few sources. A node has one column for all questions that change nothing below it, and one
for each that does; `column[node, question]` says which. Question 0 asks nothing: it changes no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.tables import Bits, join, needed

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Level(NamedTuple):
    """The nodes of one level: their tables side by side, and which of them each question reads."""

    cells: Array
    column: Array
    changed: Array


class Tree:
    """`base`: a column per source; `changed[source, question]`; `instead`: a column for each of those, in that order."""

    def __init__(self, base: Array, changed: Array, instead: Array) -> None:
        import numpy as np

        self.bits: Bits = tuple(range(len(base).bit_length() - 1))
        column = np.repeat(np.arange(base.shape[1])[:, None], changed.shape[1], axis=1)
        column[changed] = base.shape[1] + np.arange(instead.shape[1])
        self.levels = [Level(np.concatenate((base, instead), axis=1) if instead.size else base, column, changed)]
        while len(self.levels[-1].column) > 1:
            self.levels.append(self._above(self.levels[-1]))

    def _above(self, below: Level) -> Level:
        import numpy as np

        pairs = len(below.column) // 2
        left, right = below.column[: 2 * pairs : 2], below.column[1 : 2 * pairs : 2]
        changed = below.changed[: 2 * pairs : 2] | below.changed[1 : 2 * pairs : 2]
        node, question = changed.nonzero()
        rows = np.arange(pairs)
        lefts = np.concatenate((left[:, 0], left[node, question]))
        rights = np.concatenate((right[:, 0], right[node, question]))
        cells = self._join(below.cells, lefts, below.cells, rights)
        column = np.repeat(rows[:, None], changed.shape[1], axis=1)
        column[node, question] = pairs + np.arange(len(node))
        if len(below.column) % 2:
            last, place = np.unique(below.column[-1], return_inverse=True)
            column = np.concatenate((column, cells.shape[1] + place[None, :]))
            changed = np.concatenate((changed, below.changed[-1:]))
            cells = np.concatenate((cells, below.cells[:, last]), axis=1)
        return Level(cells, column, changed)

    def _join(self, first: Array, lefts: Array, second: Array, rights: Array) -> Array:
        return join(first[:, lefts], self.bits, second[:, rights], self.bits)[0]

    @property
    def root(self) -> tuple[Array, Array]:
        """Return the joint table of all sources: its columns, and which of them each question reads."""
        top = self.levels[-1]
        return top.cells, top.column[0]

    def outside(self, out: Array) -> Array:
        """Return what each source still needs (sets x sources x questions), from what the root needs under each question."""
        questions = out.shape[1]
        out = out[:, None, :]
        for level in reversed(self.levels[:-1]):
            out = self._below(level, out, questions)
        return out

    def _below(self, level: Level, out: Array, questions: int) -> Array:
        import numpy as np

        nodes = len(level.column)
        pairs = nodes // 2
        found = np.empty((len(out), nodes, questions))
        parents = out[:, :pairs].reshape(len(out), -1)
        for mine, other in ((0, 1), (1, 0)):
            beside = level.cells[:, level.column[other : 2 * pairs : 2].ravel()]
            found[:, mine : 2 * pairs : 2] = needed(beside, self.bits, parents, self.bits, self.bits).reshape(len(out), pairs, questions)
        if nodes % 2:
            found[:, -1] = out[:, -1]
        return found
