"""Sources that can set the same bits, side by side in one group: their joint table, and the answers for each of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diagnose.belief.line import Line
from diagnose.belief.setting import Setting
from diagnose.belief.sources import Cells, Family, by_number
from diagnose.belief.sweep import Table
from diagnose.belief.tables import Bits
from diagnose.belief.told import bits_of
from diagnose.belief.tree import Tree

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

WORTH = 5_000  # products that a group of its own must save
WIDE = 10  # bits from which on sources go one after the other


def grouped(setting: Setting, families: Sequence[Family]) -> list[Group | Line]:
    """Return all sources in groups."""
    import numpy as np

    reached = [(family, family.bits().tolist()) for family in families]
    into = _merged(Counter(mask for _, reach in reached for mask in reach), setting.told.width, setting.questions)
    found: dict[int, list[tuple[Family, Array]]] = {}
    for family, reach in reached:
        for mask in {into[m] for m in reach}:
            found.setdefault(mask, []).append((family, np.array([i for i, m in enumerate(reach) if into[m] == mask])))
    return [(Line if mask.bit_count() >= WIDE else Group)(bits_of(mask), parts, setting) for mask, parts in found.items()]


def _merged(counts: Counter[int], width: int, questions: int) -> dict[int, int]:
    """Return, for every set of bits that sources reach, the bits of the group they go into: wider where that costs little."""
    every = (1 << width) - 1
    if width < WIDE and sum(counts.values()) * 3**width * questions < 25 * WORTH:
        return dict.fromkeys(counts, every)
    into = {}
    for mask, count in sorted(counts.items(), key=lambda item: item[0].bit_count()):
        wider = [other for other in counts if other & mask == mask and other != mask]
        best = min((m for m in wider if m.bit_count() < WIDE), key=int.bit_count, default=mask)
        cost = count * (3 ** best.bit_count() - 3 ** mask.bit_count()) * questions
        into[mask] = best if cost < WORTH else mask
        if into[mask] != mask:
            counts[best] += count
            del counts[mask]
    return {mask: _last(into, mask) for mask in into}


def _last(into: dict[int, int], mask: int) -> int:
    while into[mask] != mask:
        mask = into[mask]
    return mask


class Group:
    """Sources over the same bits; `present` and `responsible` gather the answers by cause number."""

    def __init__(self, bits: Bits, parts: Sequence[tuple[Family, Array]], setting: Setting) -> None:
        import numpy as np

        self.bits = bits
        self.questions = setting.questions
        self.causes = np.concatenate([family.causes[members] for family, members in parts])
        muted = [setting.muted(family.causes) for family, _ in parts]
        cells = [family.cells(members, bits, mute) for (family, members), mute in zip(parts, muted, strict=True)]
        self.cells = cells[0] if len(cells) == 1 else _side_by_side(cells)
        self.source, self.question = self.cells.changed.nonzero()
        mutes = np.concatenate([mute[members] for (_, members), mute in zip(parts, muted, strict=True)])
        self.mutes = mutes[self.source, self.question]
        self.plain = None if self.mutes.any() else Tree(self.cells.whole, self.cells.changed, self.cells.whole_then)
        blank = np.zeros((len(self.causes), setting.questions))
        self.there, self.guilty = blank, blank.copy()

    def _met(self, guilty: int) -> Array:
        """Return, for every set of the group's bits, whether one of them is blamed."""
        import numpy as np

        local = sum(1 << i for i, b in enumerate(self.bits) if guilty >> b & 1)
        met: Array = np.arange(1 << len(self.bits)) & local != 0
        return met

    def _tree(self, guilty: int) -> Tree:
        if self.plain is not None:
            return self.plain
        then = self.cells.whole_then.copy()
        then[self._met(guilty)[:, None] & self.mutes] = 0.0
        return Tree(self.cells.whole, self.cells.changed, then)

    def table(self, guilty: int) -> Table:
        """Return the joint table; muted causes meet nothing blamed."""
        self.tree = self._tree(guilty)
        cells, column = self.tree.root
        return Table(self.bits, cells, column)

    def innocent(self, guilty: int) -> Table:
        """Return the joint table with every cause meeting nothing blamed; a leak meets it all the same."""
        met = self._met(guilty)
        whole, then = self.cells.whole.copy(), self.cells.whole_then.copy()
        for cells, causes in ((whole, self.causes), (then, self.causes[self.source])):
            cells[met[:, None] & (causes >= 0)] = 0.0
        cells, column = Tree(whole, self.cells.changed, then).root
        return Table(self.bits, cells, column)

    def answer(self, guilty: int, out: Array) -> None:
        """Add the weights of every source, from what the group still needs under each question (sets x questions)."""
        outside = self.tree.outside(out)
        self.there += self._weights(outside, self.cells.here, self.cells.here_then)
        met = self._met(guilty)
        if met.any():
            self.guilty += self._weights(outside[met], self.cells.whole[met], self.cells.whole_then[met])

    def _weights(self, outside: Array, base: Array, then: Array) -> Array:
        import numpy as np

        found: Array = np.einsum("snq,sn->nq", outside, base)
        if len(self.source):
            found[self.source, self.question] = np.einsum("sc,sc->c", outside[:, self.source, self.question], then)
        return found

    @property
    def present(self) -> dict[int, Array]:
        """Return the weight of each cause being there, by number."""
        return by_number(self.causes, self.there)

    @property
    def responsible(self) -> dict[int, Array]:
        """Return the weight of each cause being responsible, by number."""
        return by_number(self.causes, self.guilty)


def _side_by_side(parts: Sequence[Cells]) -> Cells:
    import numpy as np

    return Cells(
        np.concatenate([p.whole for p in parts], axis=1),
        np.concatenate([p.here for p in parts], axis=1),
        np.concatenate([p.changed for p in parts]),
        np.concatenate([p.whole_then for p in parts], axis=1),
        np.concatenate([p.here_then for p in parts], axis=1),
    )
