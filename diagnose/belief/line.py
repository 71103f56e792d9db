"""Wide sources one after the other: each applied to the table of their bits effect by effect, link by link.

A link costs 2^bits, a join of two tables 3^bits: from some nine bits on that is cheaper, and no source needs a table of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diagnose.belief.setting import Setting
from diagnose.belief.shown import Lift, lifted, needing, nothing_met
from diagnose.belief.sources import Family, Life, by_number
from diagnose.belief.sweep import Table
from diagnose.belief.tables import Bits
from diagnose.belief.told import squeezed

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Line:
    """The same as a `Group`; a column for each question."""

    def __init__(self, bits: Bits, parts: Sequence[tuple[Family, Array]], setting: Setting) -> None:
        import numpy as np

        self.bits = bits
        self.numbered = {b: i for i, b in enumerate(bits)}
        self.causes = np.concatenate([family.causes[members] for family, members in parts])
        self.sources = [(family, int(i)) for family, members in parts for i in members]
        self.muted = np.concatenate([setting.muted(family.causes)[members] for family, members in parts])
        self.questions = np.arange(setting.questions)
        self.there, self.guilty = (np.zeros((len(self.causes), setting.questions)) for _ in range(2))

    def table(self, guilty: int) -> Table:
        """Return the joint table; muted causes meet nothing blamed."""
        self.before, table = self._forward(guilty, self.muted)
        return table

    def innocent(self, guilty: int) -> Table:
        """Return the joint table with every cause meeting nothing blamed; a leak meets it all the same."""
        import numpy as np

        return self._forward(guilty, np.repeat(self.causes[:, None] >= 0, len(self.questions), axis=1))[1]

    def _forward(self, guilty: int, muted: Array) -> tuple[list[Array], Table]:
        """Return the table before each source, and that of all."""
        table = nothing_met(len(self.bits), len(self.questions))
        before, barred = [], self._barred(guilty, lifted)
        for number in range(len(self.sources)):
            before.append(table)
            whole = self._after(number, table, barred if muted[number].all() else lifted)[0]
            if muted[number].any() and not muted[number].all():
                whole[:, muted[number]] = self._after(number, table, barred)[0][:, muted[number]]
            table = whole
        return before, Table(self.bits, table, self.questions)

    def _barred(self, guilty: int, lift: Lift) -> Lift:
        """Return the lift that drops what would meet a blamed bit."""
        local = squeezed(guilty & sum(1 << b for b in self.bits), self.numbered)
        return lambda table, mask: table * 0.0 if mask & local else lift(table, mask)

    def _after(self, number: int, table: Array, lift: Lift) -> tuple[Array, Array]:
        """Return a table after a source: whole, and with its newest life there."""
        family, source = self.sources[number]
        for life in family.lives[:-1]:
            table = self._there(life, source, table, lift) + table * (1.0 - life.prior[source])
        last = family.lives[-1]
        here = self._there(last, source, table, lift)
        return here + table * (1.0 - last.prior[source]), here

    def _there(self, life: Life, source: int, table: Array, lift: Lift) -> Array:
        """Return a table after one life of a source that is there: steps from the farthest inwards, as in `sources`."""
        import numpy as np

        found: Array = np.zeros(table.shape)
        for step in reversed(range(life.reach.shape[1])):
            found = found + table * life.reach[source, step]
            first = int(life.first[source, step])
            for effect in range(first, first + int(life.count[source, step])):
                found = self._effect(life, effect, found, lift)
            if life.factor is not None:
                found = found * life.factor[source, step]
        if life.somehow is not None:
            cause = np.full(len(self.questions), life.causes[source])
            found = life.somehow.tables(cause, self.questions, self.numbered, found, lift)
        found *= life.prior[source]
        return found

    def _effect(self, life: Life, effect: int, table: Array, lift: Lift) -> Array:
        import numpy as np

        shown = life.lasting if life.lasts[effect] else life.newest
        number = np.full(len(self.questions), life.effects[effect])
        often = float(shown.often[life.effects[effect]])
        hit = shown.given(number, self.questions, self.numbered, table, lift)
        after: Array = hit * (often * life.kept[effect]) + table * (1.0 - often)
        return after

    def answer(self, guilty: int, out: Array) -> None:
        """Add the weights of every source, from what the line still needs under each question (sets x questions)."""
        barred = self._barred(guilty, needing)
        for number in reversed(range(len(self.sources))):
            before = self.before[number]
            whole, here = self._after(number, out, needing)
            if self.causes[number] >= 0:
                clean = self._after(number, out, barred)[0]
                self.there[number] += (before * here).sum(axis=0)
                self.guilty[number] += (before * (whole - clean)).sum(axis=0)
                whole[:, self.muted[number]] = clean[:, self.muted[number]]
            out = whole

    @property
    def present(self) -> dict[int, Array]:
        """Return the weight of each cause being there, by number."""
        return by_number(self.causes, self.there)

    @property
    def responsible(self) -> dict[int, Array]:
        """Return the weight of each cause being responsible, by number."""
        return by_number(self.causes, self.guilty)
