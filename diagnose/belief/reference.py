"""Belief written to be read against the formula; slow, for checking the fast engine.

What is told comes down to atoms: (look, clause number), a clause met directly, and (look, hidden finding), a member of a
pair shown. Every independent source (a cause with all its generations, the leaks) is a distribution over the set of
atoms it meets, with the probability of breaking a bound left out. Sets join by union; a union is accepted if it makes
every result true:

    Z = sum over choices of one set per source, whose union is accepted, of the product of weights

    P(cause there, e) = the same sum with the cause's newest generation there
    P(cause responsible, e) = ... over the choices in which the cause's own set is guilty within the union
    P(unexplained, e) = ... in which the union of all causes is not

Works in any arithmetic with + and * (float, Fraction).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from itertools import pairwise, product
from typing import Any

from diagnose.belief.model import (
    Belief,
    CauseNode,
    Contradiction,
    Effect,
    Evidence,
    Link,
    Model,
    Somehow,
    level_somehow,
    occurrence,
    prior_with_odds,
)

Atoms = frozenset[tuple[int, int | str]]
Sets = dict[Atoms, Any]
NOTHING: Atoms = frozenset()


def believe(model: Model, evidence: Evidence) -> Belief:
    """Return the exact belief; time grows with 4 to the number of atoms."""
    told = _Told(model, evidence)
    causes = [told.cause(cause) for cause in model.causes]
    others = _others(told.leaks(), causes)
    z = told.weight({NOTHING: 1}, others[-1])
    if z == 0:
        raise Contradiction("the results cannot occur together in this model")
    here, guilty = {}, {}
    for cause, mine, rest in zip(model.causes, causes, others, strict=False):
        here[cause.id] = told.weight(told.cause(cause, there=True), rest) / z
        guilty[cause.id] = told.weight(mine, rest, told.guilty) / z
    return Belief(z, here, guilty, innocent(model, evidence, [c.id for c in model.causes]) / z)


def innocent(model: Model, evidence: Evidence, muted: Collection[str]) -> Any:
    """Return P(e and none of some causes responsible)."""
    told = _Told(model, evidence)
    mine = _all(told.cause(c) for c in model.causes if c.id in muted)
    rest = _all([told.leaks(), *(told.cause(c) for c in model.causes if c.id not in muted)])
    return told.weight(mine, rest, lambda own, met: not told.guilty(own, met))


def _others(leaks: Sets, causes: list[Sets]) -> list[Sets]:
    """Return for each cause the union of the leaks and every other cause, and at the end the union of all."""
    before, after = [leaks], [{NOTHING: 1}]
    for mine in causes:
        before.append(_join(before[-1], mine))
    for mine in reversed(causes):
        after.append(_join(after[-1], mine))
    after.reverse()
    return [*(_join(before[i], after[i + 1]) for i in range(len(causes))), before[-1]]


class _Told:
    """One model and evidence: which sets of atoms make the results true, and what each source meets."""

    def __init__(self, model: Model, evidence: Evidence) -> None:
        self.model, self.evidence, self.looks = model, evidence, range(len(evidence.looks))
        self.complaint = evidence.complaint_findings(model)
        self.hidden = {(t, member) for t in self.looks for pair in self._told_pairs(t) for member in pair}

    def _told_pairs(self, t: int) -> list[tuple[str, ...]]:
        look = self.evidence.looks[t]
        positive = [pair for clause in look.clauses for pair in self.model.pairs_of(clause)]
        return positive + self._barred(t)

    def _barred(self, t: int) -> list[tuple[str, ...]]:
        """Return the pairs that a normal result says do not hold."""
        return [pair for f, bound in self.evidence.looks[t].bounds.items() if bound == 0 for pair in self.model.pairs.get(f, ())]

    # --- what a union of sets says

    def weight(self, mine: Sets, rest: Sets, keep: Callable[[Atoms, Atoms], bool] = lambda own, met: True) -> Any:
        """Return the weight of the accepted unions of one source's sets with the rest's, those kept by (own set, union)."""
        pairs = ((own, own | other, v * w) for own, v in mine.items() for other, w in rest.items())
        return sum(weight for own, met, weight in pairs if self.accepted(met) and keep(own, met))

    def accepted(self, met: Atoms) -> bool:
        """Return whether every clause is met directly or by a pair that holds, and no pair that must not hold does."""
        for t, look in enumerate(self.evidence.looks):
            if look.contradicts_itself or any(_holds(pair, t, met) for pair in self._barred(t)):
                return False
            for k, clause in enumerate(look.clauses):
                if (t, k) not in met and not any(_holds(pair, t, met) for pair in self.model.pairs_of(clause)):
                    return False
        return True

    def guilty(self, own: Atoms, met: Atoms) -> bool:
        """Return whether a source's own set meets a blamed clause, or a member of a pair of one that holds in the union."""
        for t, k in self.evidence.blamed:
            pairs = self.model.pairs_of(self.evidence.looks[t].clauses[k])
            if (t, k) in own or any(_holds(pair, t, met) and any((t, m) in own for m in pair) for pair in pairs):
                return True
        return False

    # --- what each source meets

    def cause(self, cause: CauseNode, there: bool = False) -> Sets:
        """Return the sets of a cause over all its generations; `there`: only with its newest one there."""
        spans = list(_spans(cause.id, self.evidence))
        return _all(self._generation(cause, span, there and span is spans[-1]) for span in spans)

    def _generation(self, cause: CauseNode, span: range, there: bool) -> Sets:
        first = span.start == 0
        prior = prior_with_odds(cause.prior, self.evidence.odds.get(cause.id, 1)) if first else self.evidence.bad_repair
        present: Sets = {}
        for reached, chance in enumerate(cause.reach):
            effects = [self._effect(cause, e, span) for e in cause.effects if e.step <= reached]
            present = _plus(present, _times(prior * chance, _all(effects)))
        if cause.somehow:
            present = _join(present, self._somehow(cause, cause.somehow, span))
        return present if there else _plus({NOTHING: 1 - prior}, present)

    def _effect(self, cause: CauseNode, effect: Effect, span: range) -> Sets:
        return self._lasting(effect.strength, span, lambda shown: _all(self._link(cause, link, shown) for link in effect.links))

    def _lasting(self, per_look: Any, span: range, given: Callable[[tuple[int, ...]], Sets]) -> Sets:
        """Return the sets of something that occurs and then shows in some looks, from those given the looks."""
        occurs, shows = occurrence(per_look, self.evidence.show_again, len(span))
        total: Sets = {NOTHING: 1 - occurs}
        for shown, chance in _patterns(span, shows):
            total = _plus(total, _times(occurs * chance, given(shown)))
        return total

    def _link(self, cause: CauseNode, link: Link, shown: Iterable[int]) -> Sets:
        feeds = self._heard(cause, link.finding, shown)
        return self._drawn(link.levels, lambda level: [(*feed, level) for feed in feeds])

    def _heard(self, cause: CauseNode, finding: str, shown: Iterable[int]) -> list[tuple[int, str]]:
        """Return where something a cause shows is heard: looks, each with the finding it feeds there."""
        looks = self.evidence.looks
        fed = [(t, looks[t].fed(cause.id, finding)) for t in shown]
        return [(t, f) for t, f in fed if not (cause.id in looks[t].quieted and f in self.complaint)]

    def _drawn(self, levels: tuple[Any, ...], added: Callable[[int], list[tuple[int, str, int]]], alone: bool = False) -> Sets:
        """Return the sets met by one level drawn once, from what each level adds: (look, finding, level)."""
        found: Sets = {}
        for level, chance in enumerate(levels):
            if all(k <= self.evidence.looks[t].bounds.get(f, k) for t, f, k in added(level)):
                met = frozenset(atom for t, f, k in added(level) for atom in self._met(t, f, k, alone))
                found = _plus(found, {met: chance})
        return found

    def _met(self, t: int, finding: str, level: int, alone: bool) -> Iterator[tuple[int, int | str]]:
        """Yield the atoms a level of a finding meets; `alone`: only clauses of a single option."""
        if level > 0 and (t, finding) in self.hidden:
            yield t, finding
        for k, clause in enumerate(self.evidence.looks[t].clauses):
            if any(f == finding and level >= least for f, least in clause.options) and not (alone and len(clause.options) > 1):
                yield t, k

    def _somehow(self, cause: CauseNode, somehow: Somehow, span: range) -> Sets:
        """Return the sets of what a cause shows somehow: a number is drawn, and each way wider than it is open."""
        written = self.model.written(cause)
        _, shows = occurrence(max(somehow.open.values(), default=0), self.evidence.show_again, len(span))
        ways = {g: width / shows for g, width in somehow.open.items() if g not in written | cause.never}
        levels = {g: level_somehow(somehow.shows, self.model.leaks[g]) for g in ways}
        total: Sets = {}
        for low, high in pairwise(sorted({0, 1, *ways.values()})):
            for shown, chance in _patterns(span, shows):
                alone = (self._alone(cause, g, levels[g], shown) for g, width in ways.items() if width >= high)
                several = (self._several(cause, written, self._best(cause, ways, levels, o, high), o, shown) for o in self._choices())
                total = _plus(total, _times((high - low) * chance, _join(_all(alone), _all(several))))
        return total

    def _alone(self, cause: CauseNode, finding: str, levels: tuple[Any, ...], shown: tuple[int, ...]) -> Sets:
        feeds = self._heard(cause, finding, shown)
        return self._drawn(levels, lambda level: [(*feed, level) for feed in feeds], alone=True)

    def _best(self, cause: CauseNode, ways: Any, levels: Any, options: Any, least_width: Any) -> Callable[[int], Any]:
        """Return by look how likely the option most often open meets a clause, 0 where even that is not open."""

        def hit(t: int) -> Any:
            heard = [(g, least) for g in ways for f, least in options if (t, f) in self._heard(cause, g, [t])]
            width, chance = max(((ways[g], sum(levels[g][least:])) for g, least in heard), default=(0, 0))
            return chance if width >= least_width else 0

        return hit

    def _choices(self) -> set[frozenset[tuple[str, int]]]:
        """Return the options of every clause that has several."""
        return {frozenset(c.options) for look in self.evidence.looks for c in look.clauses if len(c.options) > 1}

    def _several(self, cause: CauseNode, written: frozenset[str], hit: Callable[[int], Any], options: Any, shown: tuple[int, ...]) -> Sets:
        """Return the sets met by one draw for a clause of several options: in each look shown with that look's chance."""
        chances: dict[int, Any] = {}
        for t in shown:
            linked = {self.evidence.looks[t].fed(cause.id, f) for f in written} & {f for f, _ in options}
            chances[t] = 0 if linked else hit(t)
        found: Sets = {}
        steps = sorted({0, 1, *chances.values()})
        for low, high in pairwise(steps):
            met = [(t, k) for t, chance in chances.items() if chance >= high for k in self._clauses(t, options)]
            found = _plus(found, {frozenset(met): high - low})
        return found

    def _clauses(self, t: int, options: Any) -> list[int]:
        return [k for k, clause in enumerate(self.evidence.looks[t].clauses) if frozenset(clause.options) == options]

    def leaks(self) -> Sets:
        """Return the sets met by all leaks: those of complaint findings last from look to look, the others are drawn anew."""
        return _all(self._leak(f, levels) for f, levels in self.model.leaks.items())

    def _leak(self, finding: str, levels: tuple[Any, ...]) -> Sets:
        if finding not in self.complaint:
            return _all(self._drawn(levels, lambda level, t=t: [(t, finding, level)]) for t in self.looks)  # type: ignore[misc]
        whole = sum(levels[1:])
        given_it = (0, *(p / whole for p in levels[1:])) if whole else levels
        return self._lasting(whole, self.looks, lambda shown: self._drawn(given_it, lambda level: [(t, finding, level) for t in shown]))


def _holds(pair: tuple[str, ...], t: int, met: Atoms) -> bool:
    return all((t, member) in met for member in pair)


def _spans(cause: str, evidence: Evidence) -> Iterator[range]:
    """Return the looks each generation of a cause lives through: one more after every removal."""
    starts = [0] + [t for t, look in enumerate(evidence.looks) if cause in look.removed and t > 0]
    for start, end in zip(starts, [*starts[1:], len(evidence.looks)], strict=True):
        yield range(start, end)


def _patterns(span: range, shows: Any) -> Iterator[tuple[tuple[int, ...], Any]]:
    """Return every choice of looks in which something that occurred shows, with its probability."""
    for choice in product((True, False), repeat=len(span)):
        chance: Any = 1
        for shown in choice:
            chance = chance * (shows if shown else 1 - shows)
        if chance:
            yield tuple(t for t, shown in zip(span, choice, strict=True) if shown), chance


def _times(factor: Any, sets: Sets) -> Sets:
    return {s: factor * w for s, w in sets.items()}


def _plus(a: Sets, b: Sets) -> Sets:
    total = dict(a)
    for s, w in b.items():
        total[s] = total.get(s, 0) + w
    return total


def _join(a: Sets, b: Sets) -> Sets:
    """Return the distribution of the union of two independent sets."""
    total: Sets = {}
    for s, v in a.items():
        for t, w in b.items():
            total[s | t] = total.get(s | t, 0) + v * w
    return total


def _all(parts: Iterable[Sets]) -> Sets:
    total: Sets = {NOTHING: 1}
    for part in parts:
        total = _join(total, part)
    return total
