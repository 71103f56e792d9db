"""The complaint of a trouble: what it is, whether it is gone, and what is still to be looked at before that can be said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.calc.confirming import parts_missing
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.evidence import LookResults, newest_results
from diagnose.trouble.results import Result, default_complaint, node
from diagnose.trouble.trouble import Trouble, single_results


def completed(base: RuleBase, trouble: Trouble) -> Trouble:
    """Return a trouble with the complaint filled in where none was named."""
    first = trouble.looks[0]
    if first.complaint:
        return trouble
    chosen = default_complaint(first.results, base)
    filled = replace(first, complaint=chosen)
    return replace(trouble, looks=(filled, *trouble.looks[1:]))


def looks_again(result: Result, complaint: Result) -> bool:
    """Return whether a result looks at something a complaint was about, in one of its regimes and places."""
    same = result.symptom == complaint.symptom
    return same and set(result.places) <= set(complaint.places) and set(result.regimes) <= set(complaint.regimes)


def complaint_gone(looks: Sequence[LookResults]) -> bool:
    """Return whether, after a remedy, every result complained of, whenever it was told, is normal in its own regime and places.

    Where parts were exchanged it must not show at another place either: the fault may have gone there with its part.
    """
    told = _told(looks)
    if not any(look.repairs for look in looks) or not told:
        return False
    newest = single_results(newest_results(looks))
    gone = all(_gone(c, newest) for c in told)
    return gone and not (any(look.exchange for look in looks) and any(_elsewhere(c, newest) for c in told))


def _told(looks: Sequence[LookResults]) -> list[Result]:
    """Return everything complained of, in the order told: one told after a repair counts like the first."""
    return [c for look in looks for c in look.complaint]


def _elsewhere(complaint: Result, newest: Mapping[str, Result]) -> bool:
    """Return whether a complaint shows now at any place, in one of its regimes."""
    return any(r.abnormal and r.symptom == complaint.symptom and set(r.regimes) & set(complaint.regimes) for r in newest.values())


def _gone(complaint: Result, newest: Mapping[str, Result]) -> bool:
    regimes = complaint.regimes
    if complaint.regime == "any":
        regimes = tuple(r for r in regimes if any(node(complaint.symptom, r, p) in newest for p in complaint.places))
    wanted = [node(complaint.symptom, r, p) for r in regimes for p in complaint.places]
    return bool(wanted) and all(w in newest and newest[w].normal for w in wanted)


def still_to_look_at(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of the complaint not yet looked at again after the last repair."""
    if not any(look.repairs for look in looks):
        return ()
    wanted = [node(c.symptom, r, p) for c in _told(looks) for r in c.regimes for p in c.places]
    done = single_results(newest_results(looks))
    return tuple(w for w in dict.fromkeys(wanted) if w not in done)


def confirming_rest(base: RuleBase, looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return what the run after the last repair still lacks besides the complaint itself, in words."""
    given = (r for r in newest_results(looks) if not r.history and not r.several)
    parts = {node(part.symptom, part.regime, part.place): part.label for part in base.confirming.values()}
    return parts_missing(parts, [f"{node(r.symptom, r.regimes[0], r.places[0])}={r.grade}" for r in given])
