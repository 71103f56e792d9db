"""What bounds alone leave of all effects at once.

Most causes meet no result: a normal result, or a question "normal here?", only makes each of their effects less
likely. Given that an effect occurs, the chance that it adds nothing above the bounds is a product over its
links, e; the effect then weighs 1 - strength (1 - e) in its cause. That holds for any number of looks, as long as
only the newest one tells anything of the effect: often x shows is the strength per look.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.flat import Fed, Flat
from diagnose.belief.told import NONE

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Bound(NamedTuple):
    """Links that add at most `most`, and under each question at most `caps`, where there are any."""

    fed: Fed
    most: int
    caps: Array | None


class Kept:
    """`table` has a row per touched effect and a column per question: the chance that the effect breaks no bound, given that it occurs.

    `row` gives the row of an effect (-1: untouched).
    """

    def __init__(self, flat: Flat, bounds: Sequence[Bound], questions: int) -> None:
        import numpy as np

        self.flat = flat
        touched = np.zeros(len(flat.strengths), dtype=bool)
        for bound in bounds:
            touched[bound.fed.effects] = True
        self.effects = np.flatnonzero(touched)
        self.row = np.full(len(flat.strengths), -1)
        self.row[self.effects] = np.arange(len(self.effects))
        self.table = np.ones((len(self.effects), questions))
        for bound in bounds:
            self._bound(self.row[bound.fed.effects], bound)

    def _bound(self, rows: Array, bound: Bound) -> None:
        import numpy as np

        kept = bound.fed.kept
        most = min(bound.most, kept.shape[1] - 1)
        caps = np.full(self.table.shape[1], NONE) if bound.caps is None else bound.caps
        others = np.flatnonzero(caps < most)
        asked = self.table[np.ix_(rows, others)] * kept[:, caps[others]]
        if bound.most < NONE:
            self.table[rows] *= kept[:, most][:, None]
        self.table[np.ix_(rows, others)] = asked

    def of(self, effects: Array) -> Array:
        """Return what is left of some effects under every question, given that they occur."""
        import numpy as np

        found = np.ones((len(effects), self.table.shape[1]))
        rows = self.row[effects]
        found[rows >= 0] = self.table[rows[rows >= 0]]
        return found

    def factors(self, apart: Array) -> tuple[Array, Array]:
        """Return causes (rising) and, by step and question, the factor of all their touched effects but those marked in `apart`."""
        import numpy as np

        chosen = ~apart[self.effects]
        effects = self.effects[chosen]
        steps = self.flat.reach.shape[1]
        causes, places = np.unique(self.flat.owners[effects], return_inverse=True)
        found = np.ones((len(causes), steps, self.table.shape[1]))
        if not len(effects):
            return causes, found
        weights = self.table[chosen]  # 1 - strength (1 - kept), in place: the table can be tens of megabytes
        weights -= 1.0
        weights *= self.flat.strengths[effects][:, None]
        weights += 1.0
        segments = places * steps + self.flat.steps[effects]
        starts = np.flatnonzero(np.r_[True, segments[1:] != segments[:-1]])
        found.reshape(-1, found.shape[-1])[segments[starts]] = np.multiply.reduceat(weights, starts, axis=0)
        return causes, found
