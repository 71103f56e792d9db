"""The complaints of a trouble: what each is, when it was last met, and whether it is gone.

A complaint lives until it is looked at again under its own conditions after a repair and does not show: each by itself, through
repairs, exchanges and corrections. What was never looked at again is never gone, whatever else was repaired.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.calc.confirming import parts_missing
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.exchanges import Exchange
from diagnose.trouble.looks import LookResults, at_each_place, exchanges, newest_results, single_results
from diagnose.trouble.results import Result, default_complaint, node
from diagnose.trouble.trouble import Trouble


@dataclass(frozen=True)
class Complaint:
    """One thing complained of, as first told: the look it was told in, the newest look it was met in, and whether it is gone."""

    result: Result
    since: int
    newest: int
    gone: bool


def completed(base: RuleBase, trouble: Trouble) -> Trouble:
    """Return a trouble with its complaint filled in where none was named: the squawks of every look, else what first was abnormal."""
    if any(look.complaint for look in trouble.looks):
        return trouble
    looks: list[LookResults] = []
    for look in trouble.looks:
        squawks = tuple(r for r in look.results if r.abnormal and not r.history and base.symptoms[r.symptom].kind == "squawk")
        named = squawks if any(one.complaint for one in looks) else default_complaint(look.results, base)
        again = (r for r in look.results if r.abnormal and any(looks_again(r, c) for one in looks for c in one.complaint))
        looks.append(replace(look, complaint=tuple(dict.fromkeys((*named, *again)))))
    return replace(trouble, looks=tuple(looks))


def looks_again(result: Result, complaint: Result) -> bool:
    """Return whether a result looks at something a complaint was about, in one of its regimes and places."""
    same = result.symptom == complaint.symptom
    return same and set(result.places) <= set(complaint.places) and set(result.regimes) <= set(complaint.regimes)


def complaints(looks: Sequence[LookResults]) -> tuple[Complaint, ...]:
    """Return every complaint of a trouble, in the order told; one met again after a repair is the same one."""
    found: list[tuple[Result, int, int]] = []
    for number, look in enumerate(looks):
        for told in look.complaint:
            same = [i for i, (first, since, _) in enumerate(found) if since < number and looks_again(told, first)]
            for i in same:
                found[i] = (found[i][0], found[i][1], number)
            if not same:
                found.append((told, number, number))
    return tuple(Complaint(told, since, newest, _gone(looks, told, newest)) for told, since, newest in found)


def squawked(base: RuleBase, trouble: Trouble) -> bool:
    """Return whether a squawk is complained of: findings of tests alone are no complaint to begin an interview with."""
    return any(base.symptoms[c.symptom].kind == "squawk" for look in trouble.looks for c in look.complaint)


def reopened(looks: Sequence[LookResults]) -> tuple[Complaint, ...]:
    """Return the complaints that live and were told after a repair, where all told before that are gone."""
    found = complaints(looks)
    earlier = {c.since: [o for o in found if o.since < c.since] for c in found}
    return tuple(c for c in found if not c.gone and earlier[c.since] and all(o.gone for o in earlier[c.since]))


def living(looks: Sequence[LookResults]) -> tuple[Complaint, ...]:
    """Return the complaints that are not gone."""
    return tuple(c for c in complaints(looks) if not c.gone)


def complaint_gone(looks: Sequence[LookResults]) -> bool:
    """Return whether there was a complaint and every one of them is gone."""
    found = complaints(looks)
    return bool(found) and all(c.gone for c in found)


def blamed(looks: Sequence[LookResults]) -> tuple[Complaint, ...]:
    """Return the complaints that responsibility is about: those that live, or all where every one is gone."""
    return living(looks) or complaints(looks)


def _gone(looks: Sequence[LookResults], told: Result, newest: int) -> bool:
    """Return whether a complaint last met in look `newest` was looked at again after a repair, at every place, and is normal.

    Where parts were exchanged it must not show at another place they reach either: the fault may have gone there with its part.
    """
    seen = {name: result for name, (number, result) in at_each_place(looks).items() if _repaired_between(looks, newest, number)}
    regimes = told.regimes
    if told.regime == "any":
        regimes = tuple(r for r in regimes if any(node(told.symptom, r, p) in seen for p in told.places))
    wanted = [node(told.symptom, r, p) for r in regimes for p in told.places]
    if not wanted or not all(w in seen and seen[w].normal for w in wanted):
        return False
    return not any(_elsewhere(told, one, seen) for one in exchanges(looks))


def _repaired_between(looks: Sequence[LookResults], first: int, last: int) -> bool:
    return any(look.repairs for look in looks[first + 1 : last + 1])


def _elsewhere(told: Result, exchange: Exchange, newest: Mapping[str, Result]) -> bool:
    """Return whether a complaint shows now at any place that the parts exchanged reach, in one of its regimes."""
    there = [r for r in newest.values() if not exchange.reach or set(r.places) & exchange.reach]
    return any(r.abnormal and r.symptom == told.symptom and set(r.regimes) & set(told.regimes) for r in there)


def still_to_look_at(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of the complaints that live, not yet looked at again after the last repair."""
    if not any(look.repairs for look in looks):
        return ()
    wanted = [node(c.result.symptom, r, p) for c in living(looks) for r in c.result.regimes for p in c.result.places]
    done = single_results(newest_results(looks))
    return tuple(w for w in dict.fromkeys(wanted) if w not in done)


def gone_before_repair(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of complaints that are gone, but were not looked at again after the last repair.

    They stay gone; a run after later work is asked to show it once more, as it is run under those conditions anyway.
    """
    if not any(look.repairs for look in looks):
        return ()
    seen, done = at_each_place(looks), single_results(newest_results(looks))
    told = [node(c.result.symptom, r, p) for c in complaints(looks) if c.gone for r in c.result.regimes for p in c.result.places]
    return tuple(w for w in dict.fromkeys(told) if w in seen and w not in done)


def confirming_rest(base: RuleBase, looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return what the run after the last repair still lacks besides the complaint itself, in words."""
    given = (r for r in newest_results(looks) if not r.history and not r.several)
    parts = {node(part.symptom, part.regime, part.place): part.label for part in base.confirming.values()}
    return parts_missing(parts, [f"{node(r.symptom, r.regimes[0], r.places[0])}={r.grade}" for r in given])
