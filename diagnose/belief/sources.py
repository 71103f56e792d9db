"""Independent sources in arrays: what causes and leaks meet, without a question and under each that changes them.

Question 0 asks nothing. A cause is there for one life, or for several one after the other (each removal starts a new
one); its lives are joined to one source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.shown import Shown
from diagnose.belief.somehow import Somehow
from diagnose.belief.tables import Bits, join

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Cells(NamedTuple):
    """Sources side by side over the same bits: all they can do, and what they do if there now (in their newest life).

    `changed[source, question]` marks what a question changes; `whole_then` and `here_then` hold those columns, in that order.
    """

    whole: Array
    here: Array
    changed: Array
    whole_then: Array
    here_then: Array


@dataclass
class Life:
    """One life of some causes: `effects` (rising) are those that can meet a result, `first` and `count` whose they are (source x step).

    Those that only the newest look tells of are shown by `newest`, times `kept[effect, question]`; where `lasts`, by `lasting`.
    `factor[source, step, question]` is what bounds leave of all other effects; `asked[effect, question]`: the question is about a
    finding it meets. What `causes` (by number) show somehow is in `somehow`.
    """

    causes: Array
    prior: Array
    reach: Array
    effects: Array
    first: Array
    count: Array
    newest: Shown
    lasting: Shown
    lasts: Array
    kept: Array
    asked: Array
    somehow: Somehow | None = None
    somehow_asked: Array | None = None
    factor: Array | None = None

    def bits(self) -> Array:
        """Return, for every source, every bit it can set, as a mask."""
        import numpy as np

        by_effect = np.where(self.lasts, self.lasting.reach_of(self.effects), self.newest.reach_of(self.effects))
        found = self._by_source(np.bitwise_or, by_effect, np.zeros(len(self.prior), dtype=np.int64))
        return found if self.somehow is None else found | self.somehow.bits[self.causes]

    def changed(self) -> Array:
        """Return source x question: whether the question changes the source."""
        import numpy as np

        changes = self.asked | (self.kept != self.kept[:, :1])
        found = self._by_source(np.logical_or, changes, np.zeros((len(self.prior), changes.shape[1]), dtype=bool))
        if self.somehow_asked is not None:
            found |= self.somehow_asked
        if self.factor is not None:
            found |= (self.factor != self.factor[:, :, :1]).any(axis=1)
        return found

    def _by_source(self, operation: Any, values: Array, found: Array) -> Array:
        """Return values of effects put together by source; `found` stands where a source has no effect."""
        import numpy as np

        counts = self.count.sum(axis=1)
        having = np.flatnonzero(counts)
        if len(having):
            starts = (counts.cumsum() - counts)[having]
            found[having] = operation.reduceat(values, starts, axis=0)
        return found

    def built(self, members: Array, bits: Mapping[int, int]) -> _Built:
        """Return some sources built over some bits, without a question."""
        return _Built(self, members, bits)


class _Built:
    """What the effects of some sources meet without a question, kept for the questions that change only a factor of it."""

    def __init__(self, life: Life, members: Array, bits: Mapping[int, int]) -> None:
        import numpy as np

        self.life, self.bits = life, bits
        marked = np.zeros(len(life.prior), dtype=bool)
        marked[members] = True
        chosen = np.flatnonzero(np.repeat(marked, life.count.sum(axis=1)))
        self.place = np.zeros(len(life.effects), dtype=int)
        self.place[chosen] = np.arange(len(chosen))
        self.tables = self._given(chosen, np.zeros(len(chosen), dtype=int))
        self.number = np.zeros(len(life.prior), dtype=int)
        self.number[members] = np.arange(len(members))
        if life.somehow is not None:
            self.somehow = life.somehow.tables(life.causes[members], np.zeros(len(members), dtype=int), bits)

    def _given(self, effects: Array, questions: Array) -> Array:
        """Return what effects meet: those of the newest look where they occur, the others in all."""
        import numpy as np

        life = self.life
        found = np.empty((1 << len(self.bits), len(effects)))
        lasts = life.lasts[effects]
        for chosen, shown in ((lasts, life.lasting.tables), (~lasts, life.newest.given)):
            if chosen.any():
                found[:, chosen] = shown(life.effects[effects[chosen]], questions[chosen], self.bits)
        return found

    def _effects(self, effects: Array, questions: Array) -> Array:
        life = self.life
        table = self.tables[:, self.place[effects]]
        again = life.asked[effects, questions]
        if again.any():
            table[:, again] = self._given(effects[again], questions[again])
        newest = ~life.lasts[effects]
        often = life.newest.often[life.effects[effects[newest]]]
        table[:, newest] *= often * life.kept[effects[newest], questions[newest]]
        table[0, newest] += 1.0 - often
        return table

    def there(self, sources: Array, questions: Array) -> Array:
        """Return what sources meet if there, each under its question: a column per source.

        Steps from the farthest inwards: E[0] * (r[0] d + E[1] * (r[1] d + ...)), d: "meets nothing".
        """
        import numpy as np

        life = self.life
        table = np.zeros((1 << len(self.bits), len(sources)))
        bits = tuple(range(len(self.bits)))
        empty = np.ones(len(sources), dtype=bool)  # so far it meets nothing
        for step in reversed(range(life.reach.shape[1])):
            table[0] += life.reach[sources, step]
            counts, first = life.count[sources, step], life.first[sources, step]
            for number in range(counts.max(initial=0)):
                mine = np.flatnonzero(counts > number)
                effects = self._effects(first[mine] + number, questions[mine])
                new = empty[mine]
                table[:, mine[new]] = effects[:, new] * table[0, mine[new]]
                old = mine[~new]
                table[:, old] = join(table[:, old], bits, effects[:, ~new], bits)[0]
                empty[mine] = False
            if life.factor is not None:
                table *= life.factor[sources, step, questions]
        if life.somehow is not None:
            table = self._with_somehow(table, life.somehow, sources, questions)
        table *= life.prior[sources]
        return table

    def _with_somehow(self, table: Array, somehow: Somehow, sources: Array, questions: Array) -> Array:
        """Return the tables joined with what the sources show somehow."""
        import numpy as np

        life = self.life
        beside = self.somehow[:, self.number[sources]]
        again = life.somehow_asked[sources, questions] if life.somehow_asked is not None else np.zeros(0, dtype=bool)
        if again.any():
            beside[:, again] = somehow.tables(life.causes[sources[again]], questions[again], self.bits)
        meets = somehow.bits[life.causes[sources]] != 0
        table[:, ~meets] *= beside[0, ~meets]
        bits = tuple(range(len(self.bits)))
        table[:, meets] = join(table[:, meets], bits, beside[:, meets], bits)[0]
        return table


@dataclass
class Family:
    """Causes (by number; -1: a leak) whose lives begin and end in the same looks."""

    causes: Array
    lives: Sequence[Life]

    def bits(self) -> Array:
        """Return, for every source, every bit it can set, as a mask."""
        found: Array = self.lives[0].bits()
        for life in self.lives[1:]:
            found = found | life.bits()
        return found

    def cells(self, members: Array, bits: Bits, muted: Array) -> Cells:
        """Return some sources over some bits; `muted[source, question]` marks what a question mutes beside."""
        import numpy as np

        numbered = {b: i for i, b in enumerate(bits)}
        local = tuple(range(len(bits)))
        changed = (self._changed | muted)[members]
        source, question = changed.nonzero()
        asked = np.concatenate((members, members[source])), np.concatenate((np.zeros(len(members), dtype=int), question))
        here, whole = (np.zeros((1 << len(bits), len(asked[0]))) for _ in range(2))
        for number, life in enumerate(self.lives):
            there = life.built(members, numbered).there(*asked)
            then = there.copy()
            then[0] += 1.0 - life.prior[asked[0]]
            here, whole = (there, then) if number == 0 else (join(whole, local, there, local)[0], join(whole, local, then, local)[0])
        count = len(members)
        return Cells(whole[:, :count], here[:, :count], changed, whole[:, count:], here[:, count:])

    @cached_property
    def _changed(self) -> Array:
        """Return source x question: whether the question changes any of its lives."""
        found: Array = self.lives[0].changed()
        for life in self.lives[1:]:
            found = found | life.changed()
        return found


def by_number(causes: Array, weights: Array) -> dict[int, Array]:
    """Return the weights of causes by their number; those of leaks (-1) are nobody's."""
    return {int(n): w for n, w in zip(causes, weights, strict=True) if n >= 0}
