"""Independent sources of the fast engine: what each meets, by bit mask, for many questions at once.

A question (`Row`) tightens bounds of the newest look and can mute causes. Weights are floats where
every question agrees, else one number per question.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING, Any

from diagnose.belief.model import CauseNode, Evidence, Link, Model, occurrence, prior_with_odds

if TYPE_CHECKING:
    import numpy as np

Mass = dict[int, Any]  # clause mask -> weight (float, or one per row)


@dataclass(frozen=True)
class Row:
    """One question: tighter bounds on findings of the newest look, and causes that meet no blamed clause."""

    bounds: Mapping[str, int] = field(default_factory=dict)
    muted: frozenset[str] = frozenset()


@dataclass
class Source:
    """One cause (generation) or leak; `absent` is 0 and `cause` empty for leaks."""

    cause: str
    first: int
    last: int
    absent: Any
    present: Mass

    @property
    def masks(self) -> set[int]:
        """Return the masks this source can meet, without the empty one."""
        return {m for m in self.present if m}

    def innocent(self, blamed: int) -> Source:
        """Return this source without the masks that meet a blamed clause; a leak meets it all the same."""
        if not self.cause:
            return self
        return Source(self.cause, self.first, self.last, self.absent, {m: w for m, w in self.present.items() if not m & blamed})

    def whole(self) -> Mass:
        """Return the weights of absent and present together."""
        total = dict(self.present)
        total[0] = total.get(0, 0.0) + self.absent
        return total


def join(a: Mass, b: Mass) -> Mass:
    """Return the weights of the union of two independent masks."""
    if len(b) == 1 and 0 in b:
        w = b[0]
        return {m: v * w for m, v in a.items()}
    total: Mass = {}
    for m, v in a.items():
        for n, w in b.items():
            total[m | n] = total[m | n] + v * w if (m | n) in total else v * w
    return total


class Builder:
    """Builds the sources of one model and evidence for a list of rows."""

    def __init__(self, model: Model, evidence: Evidence, rows: Sequence[Row]) -> None:
        self.model = model
        self.evidence = evidence
        self.rows = rows
        self.now = len(evidence.looks) - 1
        self.complaint = evidence.complaint_findings
        self.bits, self.blamed, self.width = _number_clauses(evidence)
        self.caps = self._row_bounds()
        self.within: dict[tuple[str, int], np.ndarray[Any, Any]] = {}
        self.made: dict[tuple[tuple[float, ...], tuple[tuple[int, str], ...]], Mass] = {}
        self.silenced: dict[str, list[int]] = {}
        for index, row in enumerate(rows):
            for cause in row.muted:
                self.silenced.setdefault(cause, []).append(index)
        self.moves = any(look.moved for look in evidence.looks)
        self.touched = {f for look in evidence.looks for f in look.bounds} | set(self.bits) | set(self.caps)

    def _row_bounds(self) -> dict[str, np.ndarray[Any, Any]]:
        import numpy as np

        caps: dict[str, np.ndarray[Any, Any]] = {}
        for index, row in enumerate(self.rows):
            for finding, bound in row.bounds.items():
                if finding not in caps:
                    caps[finding] = np.full(len(self.rows), 99)
                caps[finding][index] = bound
        return caps

    def sources(self) -> list[Source]:
        """Return every source that the evidence or a row touches."""
        found = [s for cause in self.model.causes for s in self._cause(cause)]
        found += [Source("", 0, self.now, 0.0, self._leak(f)) for f in self.model.leaks if f in self.touched]
        return found

    def _cause(self, cause: CauseNode) -> Iterable[Source]:
        cuts = [t for t, look in enumerate(self.evidence.looks) if t and cause.id in look.removed]
        starts = [0, *cuts]
        muted = self._muted(cause.id)
        for first, end in zip(starts, [*cuts, self.now + 1], strict=True):
            factor = self.evidence.odds.get(cause.id, 1.0) if first == 0 else 1.0
            prior = prior_with_odds(cause.prior if first == 0 else self.evidence.bad_repair, factor)
            present: Mass = {0: prior}
            for effect in cause.effects:
                links = [link for link in effect.links if self._touches(cause.id, link.finding)]
                if links:
                    mass = self._effect(cause.id, effect.strength, links, first, end)
                    present = join(present, mass)
            if muted is not None:
                present = {m: w * muted if m & self.blamed else w for m, w in present.items()}
            yield Source(cause.id, first, end - 1, 1.0 - prior, present)

    def _muted(self, cause: str) -> np.ndarray[Any, Any] | None:
        import numpy as np

        if cause not in self.silenced:
            return None
        heard: np.ndarray[Any, Any] = np.ones(len(self.rows))
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
            look in self.bits.get(finding, ())
            or finding in self.evidence.looks[look].bounds
            or (look == self.now and finding in self.caps)
        )

    def _touches(self, cause: str, finding: str) -> bool:
        return finding in self.touched or (
            self.moves and any(look.fed(cause, finding) in self.touched for look in self.evidence.looks)
        )

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
            (self.bits.get(f, {}).get(t, {}), looks[t].bounds.get(f, 99), f if t == self.now and f in self.caps else "")
            for t, f in fed
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

    def _within(self, finding: str, level: int) -> np.ndarray[Any, Any]:
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
