"""Results that another result makes worthless or turns round, before any belief is formed.

A side whose check shows no drop was never alone, so what looked normal on it was not tested. A side
on which the engine dies cannot be rough, and what was seen on BOTH was seen on the other side.
What is set aside is told, with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.places import SIDES, Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import Result, side_of_place

# What is seen of a running engine, circuit by circuit or side by side: nothing of it can be seen where the engine dies.
SEEN_RUNNING = ("rough", "drop_at_once", "drop_gradual", "egt_falls", "egt_hot", "stays_cold", "circuit_heat")
LEANED = "cruise_lean"  # the regime in which a drop is read leaned


@dataclass(frozen=True)
class Seen:
    """A result as belief takes it: at least one of `nodes` at `low` or more; all of them at most `high`."""

    result: Result
    nodes: tuple[tuple[str, str, str], ...]  # symptom, regime, place
    complaint: bool = False


@dataclass(frozen=True)
class Ignored:
    """A result that moves no belief, and why."""

    result: Result
    reason: str


def seen_of(result: Result, complaint: bool) -> Seen:
    """Return a result unmasked."""
    return Seen(result, tuple((result.symptom, r, p) for p in result.places for r in result.regimes), complaint)


def mask(results: Sequence[Result], complaint: Sequence[Result], base: RuleBase, layout: Layout) -> tuple[list[Seen], list[Ignored]]:
    """Return what belief may take from one look, and what was set aside."""
    named = {r.subject for r in complaint}
    seen = [seen_of(r, r.subject in named) for r in results if r.high >= 0 and not r.history]
    ignored = [Ignored(r, "not known" if r.grade == "unknown" else "could not be checked") for r in results if r.high < 0]
    masker = _Masker(base, layout, seen, ignored)
    masker.no_drop()
    masker.dies()
    masker.difference()
    masker.leaned()
    return masker.seen, masker.ignored


class _Masker:
    def __init__(self, base: RuleBase, layout: Layout, seen: list[Seen], ignored: list[Ignored]) -> None:
        self.base, self.layout, self.seen, self.ignored = base, layout, seen, ignored

    def role(self, seen: Seen) -> str:
        return self.base.symptoms[seen.result.symptom].role

    def has(self, role: str, place: str, grade: str, regime: str = "") -> bool:
        return any(
            self.role(s) == role and s.result.place == place and s.result.grade == grade and regime in ("", s.result.regime)
            for s in self.seen
        )

    def no_drop(self) -> None:
        """A side with no drop was not alone: its normal results were never tested, the rest may be BOTH's."""
        for mark in [s for s in self.seen if self.role(s) == "no_drop" and s.result.abnormal]:
            sides = [p for p in mark.result.places if p in SIDES]
            for side in sides:
                if not self._side_was_alone(side, mark.result.regime):
                    self._doubt(side, mark)

    def _side_was_alone(self, side: str, regime: str) -> bool:
        other = next(s for s in SIDES if s != side)
        return (
            self.has("mag_drop", other, "dies", regime)
            or any(self.has("runs_in_off", "engine", "no", running) for running in ("idle", "shutdown"))
            or self.has("egt_no_rise", side, "no", regime)
        )

    def _doubt(self, side: str, mark: Seen) -> None:
        kept: list[Seen] = []
        for seen in self.seen:
            here = side_of_place(seen.result.place, self.layout) == side and seen.result.regime == mark.result.regime
            if not here or self.role(seen) == "no_drop":
                kept.append(seen)
            elif seen.result.low == 0:
                why = f"no drop on {side}: the {side} magneto may never have run alone, so this was not tested"
                self.ignored.append(Ignored(seen.result, why))
            else:
                kept.append(self._widened(seen, side))
        self.seen = kept

    def _widened(self, seen: Seen, side: str) -> Seen:
        place = seen.result.place.split("-")[0] if "-" in seen.result.place else "engine"
        extra = (seen.result.symptom, seen.result.regime, place)
        known = {p for kind in self.base.symptoms[seen.result.symptom].at for p in self.layout.places(kind)}
        if place not in known:
            return seen
        self.ignored.append(Ignored(seen.result, f"no drop on {side}: taken as seen on {side} or on BOTH"))
        return replace(seen, nodes=(*seen.nodes, extra))

    def dies(self) -> None:
        """A side on which the engine dies tells nothing more; BOTH is then the other side alone."""
        for mark in [s for s in self.seen if self.role(s) == "mag_drop" and s.result.grade == "dies"]:
            side = mark.result.place
            if side in SIDES:
                self._silence(side, next(s for s in SIDES if s != side), mark)

    def _silence(self, side: str, other: str, mark: Seen) -> None:
        kept: list[Seen] = []
        complaint_lost = False
        for seen in self.seen:
            role = self.role(seen)
            same = seen.result.regime == mark.result.regime and role in SEEN_RUNNING
            if not same:
                kept.append(seen)
            elif side_of_place(seen.result.place, self.layout) == side:
                self.ignored.append(Ignored(seen.result, f"the engine dies on {side}: this cannot be seen there"))
                complaint_lost = complaint_lost or seen.complaint
            else:
                kept.append(self._moved(seen, side, other))
        # The complaint does not vanish with a result set aside: what set it aside stands in its place.
        self.seen = [replace(s, complaint=True) if complaint_lost and s is mark else s for s in kept]

    def _moved(self, seen: Seen, side: str, other: str) -> Seen:
        place = seen.result.place
        if seen.result.several or side_of_place(place, self.layout):
            return seen
        target = other if place == "engine" else next((c for c in self.layout.fires[other] if c.split("-")[0] == place), "")
        if not target:
            return seen
        self.ignored.append(Ignored(seen.result, f"the engine dies on {side}: taken as seen on {target}"))
        return replace(seen, nodes=((seen.result.symptom, seen.result.regime, target),))

    def difference(self) -> None:
        """Beside a drop over its limit, or none, the difference of the two is the same reading a second time; two within do not tell it."""
        for seen in [s for s in self.seen if self.role(s) == "drop_difference"]:
            drops = [s for s in self.seen if self.role(s) == "mag_drop" and s.result.regime == seen.result.regime]
            both = set(SIDES) <= {s.result.place for s in drops}
            silent = any(self.role(s) == "no_drop" and s.result.abnormal and s.result.regime == seen.result.regime for s in self.seen)
            if not silent and not any(s.result.abnormal for s in drops) and not (both and seen.result.normal):
                continue
            self.ignored.append(Ignored(seen.result, "the drops are given: their difference is the same reading twice"))
            self.seen.remove(seen)
            if seen.complaint:  # the abnormal drop stands in its place
                self.seen = [replace(s, complaint=True) if s in drops and s.result.abnormal else s for s in self.seen]

    def leaned(self) -> None:
        """With the drop after leaning judged as such, its size leaned is the same reading a second time."""
        judged = {s.result.place for s in self.seen if self.role(s) == "drop_stays"}
        for seen in [s for s in self.seen if self.role(s) == "mag_drop" and s.result.regime == LEANED and s.result.place in judged]:
            if not seen.complaint or any(s.complaint and s is not seen for s in self.seen):
                self.ignored.append(Ignored(seen.result, "the drop after leaning is given: this is the same reading twice"))
                self.seen.remove(seen)
