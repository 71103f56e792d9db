"""Looks that tell the same again and again: only how many of them were met matters.

With such looks E, and F(Q) the weight of "in E only looks of Q may be met, and one at least is",

    Z = sum over Q of (-1)^(looks of E not in Q) F(Q)

F depends on Q by counts alone: of all looks in Q for a cause that lives through, of those before its removal and of
those after it for another. So the sum runs over paths of counts (`paths`), look by look, with the tables of such causes
joined in where they change. Every F is a sum of products of non-negative numbers; only this sum subtracts, so its
error is bounded by the same sum without the signs, and past `ERROR` the answer is refused. ("One at least is met" is a
bit of its own: what meets none does not depend on Q and cancels exactly; it is left out beforehand.)
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.befallen import befallen
from diagnose.belief.flat import flat_of
from diagnose.belief.groups import Group
from diagnose.belief.hearing import Counts, Story, stories
from diagnose.belief.leaks import leaks
from diagnose.belief.model import Evidence, Look, Model
from diagnose.belief.paths import Pattern, Placed, paths_of, placed
from diagnose.belief.plain import Plain
from diagnose.belief.setting import Row, Setting
from diagnose.belief.sweep import Table
from diagnose.belief.tables import join, needed
from diagnose.belief.told import Told, accepted

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

LEAST = 3  # looks that tell the same, from which on counting pays
CLAUSES = 2  # in one of them, at most
ERROR = 1e-8
STEPS = 300  # roundings one after the other that a number has behind it, at most


def repeated_looks(model: Model, evidence: Evidence) -> tuple[int, ...]:
    """Return the looks that can be counted, the most that tell the same; none where that does not pay or cannot be done."""
    blamed = {t for t, _ in evidence.blamed} | {len(evidence.looks) - 1}
    alike: dict[object, list[int]] = {}
    for t, look in enumerate(evidence.looks):
        if t not in blamed and 0 < len(look.clauses) <= CLAUSES and _plain(model, look):
            key = (frozenset(look.bounds.items()), tuple(c.options for c in look.clauses))
            alike.setdefault(key, []).append(t)
    found = tuple(sorted(alike.values(), key=len)[-1]) if alike else ()
    if len(found) < LEAST:
        return ()
    return found if all(placed(_pattern(story, found)) for story in stories(flat_of(model), evidence)) else ()


def _plain(model: Model, look: Look) -> bool:
    """Return whether every clause has one option, and no pair is told of."""
    single = all(len(c.options) == 1 and not model.pairs_of(c) for c in look.clauses)
    return single and not any(bound == 0 and f in model.pairs for f, bound in look.bounds.items())


def _pattern(story: Story, repeated: Sequence[int]) -> Pattern:
    """Return for each repeated look the number of its part, those that are alike to a cause."""
    moved = dict(story.moved)
    known: dict[object, int] = {}
    return tuple(known.setdefault((sum(r <= t for r in story.removed), t in story.quieted, moved.get(t)), len(known)) for t in repeated)


class _Part(NamedTuple):
    """Causes to which the repeated looks fall into the same parts: their group, and the question each state of their cut asks."""

    group: Group
    cut: int
    asked: Array


class Counting:
    """The sum over paths for one evidence and list of rows (question 0 asks nothing, row i is question i + 1)."""

    def __init__(self, model: Model, evidence: Evidence, rows: Sequence[Row], repeated: Sequence[int]) -> None:
        self.model, self.evidence, self.asked = model, evidence, rows
        self.rows = len(rows) + 1
        self.told = Told(model, evidence, repeated)
        self.bits = tuple(range(self.told.width))
        common = self.told.common
        sets = range(1 << len(common))
        self.kinds = tuple(sum(b for i, b in enumerate(common) if number >> i & 1) for number in sets)
        self.signs = [(-1) ** (len(common) - number.bit_count()) for number in sets]
        by_pattern: dict[Pattern, list[Story]] = {(0,) * len(repeated): []}
        self.stories = stories(flat_of(model), evidence)
        for story in self.stories:
            by_pattern.setdefault(_pattern(story, repeated), []).append(story)
        places = {pattern: place for pattern in by_pattern if (place := placed(pattern)) is not None}
        self.paths = paths_of(len(repeated), len(self.kinds), tuple(places.values()))
        self.parts = [self._part(pattern, places[pattern], mine) for pattern, mine in by_pattern.items()]

    def _part(self, pattern: Pattern, place: Placed, stories: Sequence[Story]) -> _Part:
        """Return the causes of one pattern; with those nothing befell go the leaks, and the factor of all that is no source."""
        import numpy as np

        questions, asked = self.paths.questions(place)
        repeated = self.told.repeated
        times = [np.repeat(np.array([q[i] for q in questions]).T, self.rows, axis=1) for i in range(max(pattern) + 1)]
        taken = [tuple(t for t, part in zip(repeated, pattern, strict=True) if part == i) for i in range(max(pattern) + 1)]
        counts = Counts(self.kinds, tuple(zip(taken, times, strict=True)))
        setting = Setting(self.model, self.evidence, self.asked, self.told, counts, self.stories)
        families = befallen(setting, stories)
        by_row = (np.array(asked)[:, None] * self.rows + np.arange(self.rows)).ravel()
        if not any(pattern):
            self.plain = Plain(setting)
            more, scale = leaks(setting)
            families += [*self.plain.families(), *more]
            self.scale = (scale * self.plain.beside)[by_row]
        return _Part(Group(self.bits, [(f, np.arange(len(f.causes))) for f in families], setting), place.cut, by_row)

    def _joined(self, table: Array, tables: Sequence[Array], cut: int) -> Array:
        """Return a table after the causes of a cut."""
        for part, cells in zip(self.parts, tables, strict=True):
            if part.cut == cut:
                table = join(table, self.bits, cells, self.bits)[0]
        return table

    def _forward(self, tables: Sequence[Array], signs: Sequence[int]) -> list[Array]:
        """Return the tables (sets x (states x rows)) before each cut's causes are joined in."""
        import numpy as np

        now = np.zeros((1 << len(self.bits), len(self.paths.states[0]) * self.rows))
        now[0] = 1.0
        found = [now]
        for cut, steps in enumerate(self.paths.steps):
            by_state = self._joined(now, tables, cut).reshape(len(now), -1, self.rows)
            then = np.zeros((len(now), len(self.paths.states[cut + 1]), self.rows))
            for sign, (source, target) in zip(signs, steps, strict=True):
                _add(then, target, sign * by_state[:, source])
            now = then.reshape(len(now), -1)
            found.append(now)
        return found

    def _back(self, out: Array, cut: int) -> Array:
        """Return what is needed after a cut's causes, from what is needed before those of the next."""
        import numpy as np

        by_state = out.reshape(len(out), -1, self.rows)
        found = np.zeros((len(out), len(self.paths.states[cut]), self.rows))
        for sign, (source, target) in zip(self.signs, self.paths.steps[cut], strict=True):
            found[:, source] += sign * by_state[:, target]
        return found.reshape(len(out), -1)

    def _weights(self, tables: Sequence[Array], accept: Array, signs: Sequence[int]) -> Array:
        """Return the weight of each row."""
        last = self._joined(self._forward(tables, signs)[-1], tables, self.paths.looks)
        by_row: Array = ((accept @ last) * self.scale).reshape(-1, self.rows).sum(axis=0)
        return by_row

    def answer(self, posteriors: bool) -> tuple[Array, Array]:
        """Return the weights of every row and nobody's part; with `posteriors` the groups hold the answers for each cause.

        Raises `ArithmeticError` where the subtraction costs more than `ERROR`.
        """
        import numpy as np

        whole, nobody, size = np.zeros(self.rows), np.zeros(self.rows), np.zeros(self.rows)
        for guilty, blocks in self.told.cases:
            accept = accepted(blocks, len(self.bits))
            tables = [_read(part, part.group.table(guilty)) for part in self.parts]
            whole += self._weights(tables, accept, self.signs)
            size += self._weights(tables, accept, [1] * len(self.signs))
            if posteriors:
                self._posteriors(guilty, accept, tables)
                nobody += self._weights([_read(part, part.group.innocent(guilty)) for part in self.parts], accept, self.signs)
        if not whole[0] > 0 or np.finfo(float).eps * STEPS * size.max() > ERROR * whole[0]:
            raise ArithmeticError("counting looks would lose too many digits")
        return whole, nobody

    def _posteriors(self, guilty: int, accept: Array, tables: Sequence[Array]) -> None:
        before = self._forward(tables, self.signs)
        out = accept[:, None] * self.scale
        for cut in reversed(range(self.paths.looks + 1)):
            if cut < self.paths.looks:
                out = self._back(out, cut)
            mine = [(part, cells) for part, cells in zip(self.parts, tables, strict=True) if part.cut == cut]
            lefts = [before[cut]]
            for _, cells in mine:
                lefts.append(join(lefts[-1], self.bits, cells, self.bits)[0])
            for (part, cells), left in zip(reversed(mine), reversed(lefts[:-1]), strict=True):
                part.group.answer(guilty, _asked(part, needed(left, self.bits, out, self.bits, self.bits)))
                out = needed(cells, self.bits, out, self.bits, self.bits)

    def present(self) -> dict[int, Array]:
        """Return the weight of each cause being there, by number and row."""
        return {n: self._by_row(w) for part in self.parts for n, w in part.group.present.items()}

    def responsible(self) -> dict[int, Array]:
        """Return the weight of each cause being responsible, by number and row."""
        return {n: self._by_row(w) for part in self.parts for n, w in part.group.responsible.items()}

    def _by_row(self, weights: Array) -> Array:
        summed: Array = weights.reshape(-1, self.rows).sum(axis=0)
        return summed


def _read(part: _Part, table: Table) -> Array:
    """Return what each state and row reads of a group's table, side by side."""
    cells: Array = table.cells[:, table.column[part.asked]]
    return cells


def _asked(part: _Part, out: Array) -> Array:
    """Return what is needed by question from what is needed by state and row."""
    import numpy as np

    found = np.zeros((len(out), part.group.questions))
    _add(found, part.asked, out)
    return found


def _add(found: Array, places: Any, more: Array) -> None:
    """Add columns to those at some places, of which some may be the same."""
    import numpy as np

    np.add.at(found.swapaxes(0, 1), places, more.swapaxes(0, 1))
