"""What questions ask: the highest level each allows of a finding in the newest look."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.told import NONE

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Entries(NamedTuple):
    """For each column, what its question caps: which column, which finding (its number in `Caps`), and the highest level allowed."""

    column: Array
    finding: Array
    most: Array


class Caps(dict[str, "Array"]):
    """Finding -> by question the highest level allowed (`NONE`: any). Question 0 asks nothing, row i is question i + 1.

    With `ways` above 1 every question is asked once for each way: those of one way follow each other.
    """

    def __init__(self, rows: Sequence[Mapping[str, int]], ways: int = 1) -> None:
        import numpy as np

        self.number: dict[str, int] = {}
        asked = [(i, self.number.setdefault(f, len(self.number)), most) for i, row in enumerate(rows, 1) for f, most in row.items()]
        row, self._finding, self._most = (np.array([one[k] for one in asked], dtype=int) for k in range(3))
        count = np.bincount(row, minlength=len(rows) + 1)
        self._first, self._count = np.tile(count.cumsum() - count, ways), np.tile(count, ways)
        table = np.full((len(self.number), len(rows) + 1), NONE)
        table[self._finding, row] = self._most
        super().__init__(zip(self.number, np.tile(table, ways), strict=True))

    def entries(self, questions: Array) -> Entries:
        """Return what the questions of some columns cap, column by column."""
        import numpy as np

        count = self._count[questions]
        column = np.repeat(np.arange(len(questions)), count)
        place = np.arange(len(column)) + (self._first[questions] - (count.cumsum() - count))[column]
        return Entries(column, self._finding[place], self._most[place])
