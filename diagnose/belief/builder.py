"""Independent sources of the fast engine: what each meets, by bit mask, for many questions at once.

A question (`Row`) tightens bounds of the newest look and can mute causes. Weights are floats where
every question agrees, else one number per question.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, product
from typing import TYPE_CHECKING, Any

from diagnose.belief.flat import NONE, Kept, flat_of
from diagnose.belief.model import CauseNode, Evidence, Link, Model, occurrence, prior_with_odds
from diagnose.belief.one_source import Draw, Mass, Source, join

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Row:
    """One question: tighter bounds on findings of the newest look, and causes that meet no blamed clause."""

    bounds: Mapping[str, int] = field(default_factory=dict)
    muted: frozenset[str] = frozenset()


class Builder:
    """Builds the sources of one model and evidence for a list of rows.

    A cause whose effects meet no clause is no source: `free` counts it at once with all the others of its kind.
    """

    def __init__(self, model: Model, evidence: Evidence, rows: Sequence[Row]) -> None:
        self.model = model
        self.evidence = evidence
        self.rows = rows
        self.now = len(evidence.looks) - 1
        self.complaint = evidence.complaint_findings
        self.bits, self.blamed, self.width = _number_clauses(evidence)
        self.caps = self._row_bounds()
        self.within: dict[tuple[str, int], Array] = {}
        self.made: dict[tuple[tuple[float, ...], tuple[tuple[int, str], ...]], Mass] = {}
        self.silenced: dict[str, list[int]] = {}
        for index, row in enumerate(rows):
            for cause in row.muted:
                self.silenced.setdefault(cause, []).append(index)
        self.moves = any(look.moved for look in evidence.looks)
        self.touched = {f for look in evidence.looks for f in look.bounds} | set(self.bits) | set(self.caps)
        self._sort_out()

    def _row_bounds(self) -> dict[str, Array]:
        import numpy as np

        caps: dict[str, Array] = {}
        for index, row in enumerate(self.rows):
            for finding, bound in row.bounds.items():
                if finding not in caps:
                    caps[finding] = np.full(len(self.rows), NONE)
                caps[finding][index] = bound
        return caps

    def _sort_out(self) -> None:
        """Tell the effects that meet clauses or are told of in an earlier look from those that bounds alone tell of."""
        flat, looks = flat_of(self.model), self.evidence.looks
        old = {f for look in looks[:-1] for f in look.bounds} | {f for f, by in self.bits.items() if by.keys() - {self.now}}
        met = {f for f, by in self.bits.items() if self.now in by}
        self.apart = old | met | self.complaint
        self.simple = {f: b for f, b in looks[-1].bounds.items() if f not in self.apart}
        caps = {f: c for f, c in self.caps.items() if f not in self.apart}
        self.old = flat.effects_of(old)
        self.meeting = self.old | flat.effects_of(met)
        self.special = {c for look in looks for c in (*look.removed, *look.quieted, *look.moved)} & flat.numbers.keys()
        self.kept = Kept(flat, self.simple, caps, len(self.rows))
        self.factors = self._factors()

    def _factors(self) -> dict[int, Any]:
        """Return, by cause, the factor of its effects that only bounds tell of, where there is one."""
        owners, factors, varies = self.kept.causes(self.meeting)
        self.bounded = (owners, factors)
        return {int(c): f if vary else float(f[0]) for c, f, vary in zip(owners, factors, varies, strict=True)}

    def coupled(self) -> list[int]:
        """Return the causes that are sources, by number."""
        flat = flat_of(self.model)
        found = {int(c) for c in flat.owners[sorted(self.meeting)]} if self.meeting else set()
        return sorted(found | {flat.numbers[c] for c in self.special})

    def sources(self) -> list[Source]:
        """Return every source that can meet a clause, or is told of in more than the newest look."""
        found = [s for number in self.coupled() for s in self._cause(number)]
        leaks = (self._leak(f) for f in self.model.leaks if f in self.touched and f in self.apart)
        return found + [Source("", 0, self.now, 0.0, 1.0, (Draw(1.0, (leak,)),)) for leak in leaks]

    def free(self, coupled: Sequence[int]) -> tuple[Any, dict[str, Any]]:
        """Return the factor of everything that is no source, and for each such cause how likely it is there, per row."""
        import numpy as np

        flat = flat_of(self.model)
        prior = flat.priors.copy()
        for cause, factor in self.evidence.odds.items():
            if cause in flat.numbers:
                prior[flat.numbers[cause]] = prior_with_odds(prior[flat.numbers[cause]], factor)
        owners, factors = self.bounded
        chosen = ~np.isin(owners, coupled)
        there = prior[owners[chosen]][:, None] * factors[chosen]
        whole = there + (1.0 - prior[owners[chosen]])[:, None]
        scale = self._free_leaks() * whole.prod(axis=0)
        present: dict[str, Any] = {cause.id: p for cause, p in zip(self.model.causes, prior.tolist(), strict=True)}
        present.update({self.model.causes[n].id: p for n, p in zip(owners[chosen], there / whole, strict=True)})
        for number in coupled:
            del present[self.model.causes[number].id]
        return scale, present

    def _free_leaks(self) -> Array:
        import numpy as np

        scale = np.ones(len(self.rows))
        for finding in (f for f in dict.fromkeys((*self.simple, *self.caps)) if f not in self.apart):
            levels = self.model.leaks.get(finding, (1.0,))
            kept = [*accumulate(levels), *(1.0,) * (NONE + 1 - len(levels))]
            bound = self.simple.get(finding, NONE)
            scale *= kept[bound]
            if finding not in self.caps or kept[bound] == 0.0:
                continue
            caps = self.caps[finding]
            columns = np.flatnonzero(caps < bound)
            scale[columns] *= np.array(kept)[caps[columns]] / kept[bound]
        return scale

    def _cause(self, number: int) -> Iterable[Source]:
        cause = self.model.causes[number]
        cuts = [t for t, look in enumerate(self.evidence.looks) if t and cause.id in look.removed]
        starts = [0, *cuts]
        muted = self._muted(cause.id)
        for first, end in zip(starts, [*cuts, self.now + 1], strict=True):
            factor = self.evidence.odds.get(cause.id, 1.0) if first == 0 else 1.0
            prior = prior_with_odds(cause.prior if first == 0 else self.evidence.bad_repair, factor)
            scale, draws = prior, []
            if cause.id in self.special:
                draws = [*self._special(cause, first, end)]
            else:
                scale, draws = prior * self.factors.get(number, 1.0), [*self._meeting(cause, number)]
            if muted is not None:
                draws = [Draw(d.often, tuple(self._deaf(link, muted) for link in d.links)) for d in draws]
            yield Source(cause.id, first, end - 1, 1.0 - prior, scale, tuple(draws))

    def _deaf(self, link: Mass, heard: Array) -> Mass:
        return {m: w * heard if m & self.blamed else w for m, w in link.items()}

    def _special(self, cause: CauseNode, first: int, end: int) -> Iterable[Draw]:
        """Yield every effect of a cause that was removed, moved or quieted in some look."""
        for effect in cause.effects:
            links = [link for link in effect.links if self._touches(cause.id, link.finding)]
            if links:
                yield Draw(1.0, (self._effect(cause.id, effect.strength, links, first, end),))

    def _meeting(self, cause: CauseNode, number: int) -> Iterable[Draw]:
        """Yield the effects that meet a clause or are told of in an earlier look."""
        first = flat_of(self.model).first[number]
        for index, effect in enumerate(cause.effects, first):
            if index in self.old:
                links = [link for link in effect.links if link.finding in self.touched]
                yield Draw(1.0, (self._effect(cause.id, effect.strength, links, 0, self.now + 1),))
            elif index in self.meeting:
                masses = (self._levels(x.levels, [(self.now, x.finding)]) for x in effect.links if x.finding in self.bits)
                kept = self.kept.of(index)
                yield Draw(effect.strength, (*masses,) if isinstance(kept, float) and kept == 1.0 else ({0: kept}, *masses))

    def _muted(self, cause: str) -> Array | None:
        import numpy as np

        if cause not in self.silenced:
            return None
        heard: Array = np.ones(len(self.rows))
        heard[self.silenced[cause]] = 0.0
        return heard

    def _effect(self, cause: str, strength: float, links: list[Link], first: int, end: int) -> Mass:
        often, shows = occurrence(strength, self.evidence.show_again, end - first)
        occurs: Mass = {0: 1.0 - often}
        told = [t for t in range(first, end) if any(self._tells(self.evidence.looks[t].fed(cause, x.finding), t) for x in links)]
        for shown, chance in _patterns(told, shows):
            mass: Mass = {0: often * chance}
            for link in links:
                mass = join(mass, self._levels(link.levels, self._heard(cause, link.finding, shown)))
            for m, w in mass.items():
                occurs[m] = occurs[m] + w if m in occurs else w
        return occurs

    def _tells(self, finding: str, look: int) -> bool:
        """Return whether anything is known of a finding in a look, or asked: where not, its showing there sums to one."""
        return (
            look in self.bits.get(finding, ()) or finding in self.evidence.looks[look].bounds or (look == self.now and finding in self.caps)
        )

    def _touches(self, cause: str, finding: str) -> bool:
        return finding in self.touched or (self.moves and any(look.fed(cause, finding) in self.touched for look in self.evidence.looks))

    def _heard(self, cause: str, finding: str, shown: tuple[int, ...]) -> list[tuple[int, str]]:
        """Return the looks in which a link is heard, each with the finding it feeds there."""
        looks = self.evidence.looks
        fed = [(t, looks[t].fed(cause, finding)) for t in shown] if self.moves else [(t, finding) for t in shown]
        return [(t, f) for t, f in fed if f not in self.complaint or cause not in looks[t].quieted]

    def _levels(self, levels: tuple[float, ...], fed: Sequence[tuple[int, str]]) -> Mass:
        """Return the weights of one level drawn once, which feeds a finding in each of some looks.

        Many causes feed one finding alike: each such table is made once, and never written to.
        """
        key = (levels, tuple(fed))
        if key not in self.made:
            self.made[key] = self._new_levels(levels, fed)
        return self.made[key]

    def _new_levels(self, levels: tuple[float, ...], fed: Sequence[tuple[int, str]]) -> Mass:
        looks = self.evidence.looks
        relevant = [
            (self.bits.get(f, {}).get(t, {}), looks[t].bounds.get(f, NONE), f if t == self.now and f in self.caps else "") for t, f in fed
        ]
        found: Mass = {}
        for level, chance in enumerate(levels):
            if chance == 0.0 or any(level > bound for _, bound, _ in relevant):
                continue
            weight: Any = chance
            mask = 0
            for masks, _, capped in relevant:
                mask |= masks.get(level, 0)
                if capped:
                    weight = weight * self._within(capped, level)
            found[mask] = found[mask] + weight if mask in found else weight
        return found

    def _within(self, finding: str, level: int) -> Array:
        """Return for every row 1.0 where a level of a finding breaks no bound of that row, else 0.0."""
        key = (finding, level)
        if key not in self.within:
            self.within[key] = (level <= self.caps[finding]).astype(float)
        return self.within[key]

    def _leak(self, finding: str) -> Mass:
        levels = self.model.leaks[finding]
        total: Mass = {}
        if finding in self.complaint:
            often, shows = occurrence(sum(levels[1:]), self.evidence.show_again, self.now + 1)
            drawn = (1.0 - often, *(p / shows for p in levels[1:]))
            for shown, chance in _patterns([t for t in range(self.now + 1) if self._tells(finding, t)], shows):
                for m, w in self._levels(drawn, [(t, finding) for t in shown]).items():
                    total[m] = total[m] + chance * w if m in total else chance * w
            return total
        total = {0: 1.0}
        for t in range(self.now + 1):
            total = join(total, self._levels(levels, [(t, finding)]))
        return total


def _patterns(looks: Sequence[int], shows: float) -> list[tuple[tuple[int, ...], float]]:
    """Return every choice among looks in which something that occurred shows, with its probability."""
    if shows == 1:
        return [(tuple(looks), 1.0)]
    found = []
    for choice in product((True, False), repeat=len(looks)):
        chance = 1.0
        for shown in choice:
            chance *= shows if shown else 1.0 - shows
        found.append((tuple(t for t, shown in zip(looks, choice, strict=True) if shown), chance))
    return found


def _number_clauses(evidence: Evidence) -> tuple[dict[str, dict[int, dict[int, int]]], int, int]:
    """Return finding -> look -> level -> mask, the mask of blamed clauses, and the number of clauses."""
    bits: dict[str, dict[int, dict[int, int]]] = {}
    blamed, number = 0, 0
    for t, look in enumerate(evidence.looks):
        for clause in look.clauses:
            bit = 1 << number
            number += 1
            if clause.complaint and t == evidence.blame:
                blamed |= bit
            for finding, least in clause.options:
                by_level = bits.setdefault(finding, {}).setdefault(t, {})
                for level in range(least, 16):
                    by_level[level] = by_level.get(level, 0) | bit
    return bits, blamed, number
