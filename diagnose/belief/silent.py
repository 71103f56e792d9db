"""Links that set no bit: what bounds and questions leave of an effect.

Given the looks in which an effect shows, each of its links draws one level by itself and is kept where that is within the
lowest bound of those looks. So what is left of the effect is a product with one number for each link, for all effects at
once; a question changes it by the ratio of two such numbers for each finding it caps (it only tightens bounds, so where
nothing was left before nothing is left after).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.caps import Caps
from diagnose.belief.links import Links
from diagnose.belief.told import NONE

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Asked(NamedTuple):
    """What questions cap of some effects: the column, the pair of link and effect, the highest level allowed."""

    column: Array
    pair: Array
    most: Array

    def within(self, chosen: Array) -> Asked:
        """Return the same of some columns (rising) alone."""
        import numpy as np

        place = np.minimum(np.searchsorted(chosen, self.column), len(chosen) - 1)
        kept = chosen[place] == self.column
        return Asked(place[kept], self.pair[kept], self.most[kept])


class Silent:
    """`links` for effects numbered below `size`; `opened` gives, link after link, the depth down to which it is there for each effect."""

    def __init__(self, links: Sequence[Links], size: int, caps: Caps, opened: Sequence[Array] = ()) -> None:
        import numpy as np

        self.links, self.size, self.caps = links, size, caps
        counts = [len(one.effects) for one in links]
        self.link = np.repeat(np.arange(len(links)), counts)
        self.effect = np.concatenate([np.zeros(0, dtype=int), *(one.effects for one in links)])
        self.opened = np.concatenate(opened) if opened else None
        self.kept = np.zeros((len(self.link), max((one.levels.shape[1] for one in links), default=1)))
        for one, end in zip(links, np.cumsum(counts), strict=True):
            self.kept[end - len(one.effects) : end, : one.levels.shape[1]] = one.levels
        np.cumsum(self.kept, axis=1, out=self.kept)
        self.looks = frozenset(heard.look for one in links for heard in one.heard)
        self._known: dict[tuple[frozenset[int], float], Array] = {}
        self.newest = max((heard.look for one in links for heard in one.heard if heard.capped), default=-1)
        self._key = self.link * self.size + self.effect  # rising
        self._by_effect = np.argsort(self.effect, kind="stable")
        self._having, self._starts = np.unique(self.effect[self._by_effect], return_index=True)

    def _bounds(self, looks: Collection[int]) -> Array:
        """Return the lowest bound of each link in some looks."""
        import numpy as np

        lowest: Array = np.min([self._bound[look] for look in looks if look in self._bound], axis=0)
        return lowest

    @cached_property
    def _bound(self) -> Mapping[int, Array]:
        """Return by look the bound of each link there."""
        import numpy as np

        found = {look: np.full(len(self.links), NONE) for look in self.looks}
        for number, one in enumerate(self.links):
            for heard in one.heard:
                found[heard.look][number] = heard.bound
        return found

    def _kept(self, pairs: Array, most: Array) -> Array:
        import numpy as np

        kept: Array = self.kept[pairs, np.minimum(most, self.kept.shape[1] - 1)]
        return kept

    def left_of(self, effects: Array, asked: Asked, looks: Collection[int], depth: float = 0.0) -> Array:
        """Return what is left of effects, a column each, that show in just these looks, under what is asked of them."""
        left = self._left(frozenset(looks), depth)[effects]
        return left * self._change(asked, len(effects), looks, depth) if self.newest in looks and len(asked.column) else left

    def _left(self, looks: frozenset[int], depth: float) -> Array:
        """Return what is left of every effect without a question."""
        import numpy as np

        if (looks, depth) not in self._known:
            left = np.ones(self.size)
            if not self.looks.isdisjoint(looks):
                kept = self._kept(np.arange(len(self.link)), self._bounds(looks)[self.link])
                if self.opened is not None:
                    kept[self.opened < depth] = 1.0
                left[self._having] = np.multiply.reduceat(kept[self._by_effect], self._starts)
            self._known[looks, depth] = left
        return self._known[looks, depth]

    def asked(self, effects: Array, questions: Array) -> Asked:
        """Return what questions cap of some effects, a column each."""
        import numpy as np

        entries = self.caps.entries(questions)
        found: list[tuple[Array, ...]] = []
        for link_of in self._link_of:
            link = link_of[entries.finding]
            wanted = link * self.size + effects[entries.column]
            place = np.minimum(np.searchsorted(self._key, wanted), len(self._key) - 1)
            having = np.flatnonzero((link >= 0) & (self._key[place] == wanted))
            found.append((entries.column[having], place[having], entries.most[having]))
        return Asked(*(np.concatenate([np.zeros(0, dtype=int), *parts]) for parts in (zip(*found, strict=True) if found else ((), (), ()))))

    @cached_property
    def _link_of(self) -> list[Array]:
        """Return arrays of the link that feeds each capped finding (-1: none): one, and more where parts that moved feed it too."""
        import numpy as np

        found: list[Array] = []
        for number, one in enumerate(self.links):
            capped = one.heard[-1].capped
            if capped:
                place = self.caps.number[capped]
                free = next((at for at in found if at[place] < 0), None)
                if free is None:
                    free = np.full(len(self.caps), -1)
                    found.append(free)
                free[place] = number
        return found

    def _change(self, asked: Asked, columns: int, looks: Collection[int], depth: float) -> Array:
        """Return by column what questions leave of what is left, for effects that show in just these looks, the newest among them."""
        import numpy as np

        before = self._bounds(looks)[self.link[asked.pair]]
        had, has = self._kept(asked.pair, before), self._kept(asked.pair, np.minimum(before, asked.most))
        ratio = np.divide(has, had, out=np.ones(len(had)), where=had > 0)
        if self.opened is not None:
            ratio[self.opened[asked.pair] < depth] = 1.0
        factor = np.ones(columns)
        np.multiply.at(factor, asked.column, ratio)
        return factor
