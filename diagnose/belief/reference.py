"""Belief written to be read against the formula; slow, for checking the fast engine.

Every independent source (a cause, a leak) is a distribution over the set of clauses it meets, with
the probability of breaking a bound left out. Sets join by union:

    Z = sum over choices of one set per source, whose union is every clause, of the product of weights

    P(cause, e) = the same sum with the cause's own sets taken from "present" only
    P(responsible, e) = ... from "present, and meets a complaint clause"

Works in any arithmetic with + and * (float, Fraction).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import product
from typing import Any

from diagnose.belief.model import Belief, CauseNode, Contradiction, Effect, Evidence, Link, Model, occurrence

Sets = dict[frozenset[Any], Any]


def believe(model: Model, evidence: Evidence) -> Belief:
    """Return the exact belief; time grows with causes squared and 4 to the number of clauses."""
    every = frozenset((t, k) for t, look in enumerate(evidence.looks) for k in range(len(look.clauses)))
    blamed = frozenset((evidence.blame, k) for k, c in enumerate(evidence.looks[evidence.blame].clauses) if c.complaint)
    causes = [(cause, span, *_cause_sets(cause, span, evidence)) for cause in model.causes for span in _spans(cause.id, evidence)]
    leaks = _all(_leak_sets(f, levels, evidence) for f, levels in model.leaks.items())

    def weight(chosen: int, keep: Callable[[frozenset[Any]], bool] | None, mute: bool = False) -> Any:
        total = leaks
        for index, (_, _, absent, present) in enumerate(causes):
            if index == chosen and keep is not None:
                total = _join(total, {s: w for s, w in present.items() if keep(s)})
            else:
                shown = {s: w for s, w in present.items() if not (mute and s & blamed)}
                total = _join(total, _plus({frozenset(): absent}, shown))
        return total.get(every, 0)

    z = weight(-1, None)
    if z == 0:
        raise Contradiction("the results cannot occur together in this model")
    now, blame = len(evidence.looks) - 1, evidence.blame
    here = {c.id: weight(i, lambda s: True) / z for i, (c, span, _, _) in enumerate(causes) if now in span}
    guilty = {c.id: weight(i, lambda s: bool(s & blamed)) / z for i, (c, span, _, _) in enumerate(causes) if blame in span}
    return Belief(z, here, guilty, weight(-1, None, mute=True) / z)


def _spans(cause: str, evidence: Evidence) -> Iterator[range]:
    """Return the looks each generation of a cause lives through: one more after every removal."""
    starts = [0] + [t for t, look in enumerate(evidence.looks) if cause in look.removed and t > 0]
    for start, end in zip(starts, [*starts[1:], len(evidence.looks)], strict=True):
        yield range(start, end)


def _cause_sets(cause: CauseNode, span: range, evidence: Evidence) -> tuple[Any, Sets]:
    prior: Any = cause.prior if span.start == 0 else evidence.bad_repair
    odds = prior / (1 - prior) * (evidence.odds.get(cause.id, 1) if span.start == 0 else 1)
    prior = odds / (1 + odds)
    present = _all(_effect_sets(cause.id, effect, span, evidence) for effect in cause.effects)
    return 1 - prior, {s: prior * w for s, w in present.items()}


def _effect_sets(cause: str, effect: Effect, span: range, evidence: Evidence) -> Sets:
    occurs, shows = occurrence(effect.strength, evidence.show_again, len(span))
    total: Sets = {frozenset(): 1 - occurs}
    for shown, chance in _patterns(span, shows):
        links = _all(_link_sets(cause, link, shown, evidence) for link in effect.links)
        total = _plus(total, {s: occurs * chance * w for s, w in links.items()})
    return total


def _patterns(span: range, shows: Any) -> Iterator[tuple[tuple[int, ...], Any]]:
    """Return every choice of looks in which something that occurred shows, with its probability."""
    for choice in product((True, False), repeat=len(span)):
        chance: Any = 1
        for shown in choice:
            chance = chance * (shows if shown else 1 - shows)
        yield tuple(t for t, shown in zip(span, choice, strict=True) if shown), chance


def _link_sets(cause: str, link: Link, shown: tuple[int, ...], evidence: Evidence) -> Sets:
    complaint = evidence.complaint_findings
    fed = [(t, evidence.looks[t].fed(cause, link.finding)) for t in shown]
    heard = [(t, f) for t, f in fed if not (cause in evidence.looks[t].quieted and f in complaint)]
    return _level_sets(link.levels, heard, evidence)


def _level_sets(levels: tuple[Any, ...], fed: list[tuple[int, str]], evidence: Evidence) -> Sets:
    """Return the sets met by one level drawn once, which feeds a finding in each of some looks."""
    found: Sets = {}
    for level, chance in enumerate(levels):
        if all(level <= evidence.looks[t].bounds.get(finding, level) for t, finding in fed):
            met = frozenset(
                (t, k)
                for t, finding in fed
                for k, clause in enumerate(evidence.looks[t].clauses)
                if any(f == finding and level >= least for f, least in clause.options)
            )
            found = _plus(found, {met: chance})
    return found


def _leak_sets(finding: str, levels: tuple[Any, ...], evidence: Evidence) -> Sets:
    looks = range(len(evidence.looks))
    if finding not in evidence.complaint_findings:
        return _all(_level_sets(levels, [(t, finding)], evidence) for t in looks)
    occurs, shows = occurrence(sum(levels[1:]), evidence.show_again, len(looks))
    drawn = (1 - occurs, *(p / shows for p in levels[1:]))
    lasting: Sets = {}
    for shown, chance in _patterns(looks, shows):
        sets = _level_sets(drawn, [(t, finding) for t in shown], evidence)
        lasting = _plus(lasting, {s: chance * w for s, w in sets.items()})
    return lasting


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


def _all(parts: Iterator[Sets]) -> Sets:
    total: Sets = {frozenset(): 1}
    for part in parts:
        total = _join(total, part)
    return total
