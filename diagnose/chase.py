"""One trouble under way: results and repairs in, belief, plan and finding out."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from diagnose.alarms import magneto_live, not_to_be_run
from diagnose.belief.model import Belief
from diagnose.calc.confirming import parts_missing
from diagnose.evidence import LookResults, Prepared, Repair, newest_results, prepare
from diagnose.exchanges import touched
from diagnose.finding import Finding, Ranked, conclude, rank
from diagnose.groups import Group, repair_groups
from diagnose.guards import barred_access, both_sides_warning, must_not_be_done, needs_flight, part_change_warning
from diagnose.network import Network
from diagnose.plan import Plan, available, make_plan
from diagnose.results import Result, node
from diagnose.screening import screened


@dataclass(frozen=True)
class Trouble:
    """What is known of one trouble: looks (oldest first), access gained, located checks declined, what is not yet refitted."""

    looks: tuple[LookResults, ...] = (LookResults(),)
    access: frozenset[str] = frozenset()
    declined: frozenset[str] = frozenset()
    unfinished: tuple[str, ...] = ()


@dataclass(frozen=True)
class Assessment:
    """Everything the screens show about a trouble at one moment; `live` and `broken` as in `alarms`."""

    trouble: Trouble
    prepared: Prepared
    groups: Mapping[str, Group]
    plan: Plan
    finding: Finding
    complaint: tuple[str, ...] = field(default=())
    live: bool = False
    broken: bool = False


def assess(network: Network, trouble: Trouble) -> Assessment:
    """Return belief, plan and finding for a trouble as it stands."""
    prepared, groups, ranking, plan = planned(network, trouble)
    gone = complaint_gone(trouble.looks)
    finding = conclude(network, prepared, ranking, groups, plan, gone)
    told = tuple(str(s.result) for s in prepared.complaint)
    alarms = magneto_live(network, trouble.looks), not_to_be_run(network, trouble.looks)
    return Assessment(trouble, prepared, groups, plan, finding, told, *alarms)


def planned(network: Network, trouble: Trouble) -> tuple[Prepared, Mapping[str, Group], tuple[Belief, tuple[Ranked, ...]], Plan]:
    """Return evidence, repair groups, ranking and plan for a trouble as it stands: all of `assess` but the finding."""
    prepared = prepare(network, trouble.looks)
    groups = repair_groups(network, prepared.stands)
    done, newest = seen_nodes(network, trouble.looks), newest_results(trouble.looks)
    live, broken = magneto_live(network, trouble.looks), not_to_be_run(network, trouble.looks)
    checks = [
        c
        for c in available(network, done, barred_access(network, newest))
        if c.id not in trouble.declined and not needs_flight(c.check) and not must_not_be_done(network.base, c.check, live, broken)
    ]
    ranking = rank(network, prepared)
    shares = ranking[0].responsible if prepared.complaint else ranking[0].present
    clauses = sum(len(look.clauses) for look in prepared.evidence.looks)
    checks = screened(network, checks, shares, clauses, trouble.access)
    return prepared, groups, ranking, make_plan(network, prepared, groups, checks, trouble.access)


def done_nodes(results: Sequence[Result]) -> frozenset[str]:
    """Return the located symptoms that have a result (also `unknown` or `cannot`) at a single place."""
    return frozenset(_single(results))


def seen_nodes(network: Network, looks: Sequence[LookResults]) -> frozenset[str]:
    """Return the located symptoms that need no look: seen since the last repair, and fed by no part exchanged since."""
    done = frozenset[str]()
    for look in looks:
        if look.repairs:
            done = frozenset()
        if look.exchange is not None:
            done -= touched(network, look.exchange)
        done |= done_nodes(look.results)
    return done


def _single(results: Sequence[Result]) -> dict[str, Result]:
    return {node(r.symptom, r.regimes[0], r.places[0]): r for r in results if not r.history and not r.several}


def complaint_gone(looks: Sequence[LookResults]) -> bool:
    """Return whether, after a remedy, every result of the complaint is normal in its own regime and places.

    Where parts were exchanged it must not show at another place either: the fault may have gone there with its part.
    """
    if not any(look.repairs for look in looks) or not looks[0].complaint:
        return False
    newest = _single(newest_results(looks))
    gone = all(_gone(c, newest) for c in looks[0].complaint)
    return gone and not (any(look.exchange for look in looks) and any(_elsewhere(c, newest) for c in looks[0].complaint))


def _elsewhere(complaint: Result, newest: Mapping[str, Result]) -> bool:
    """Return whether a complaint shows now at any place, in one of its regimes."""
    return any(r.abnormal and r.symptom == complaint.symptom and set(r.regimes) & set(complaint.regimes) for r in newest.values())


def _gone(complaint: Result, newest: Mapping[str, Result]) -> bool:
    regimes = complaint.regimes
    if complaint.regime == "any":
        regimes = tuple(r for r in regimes if any(node(complaint.symptom, r, p) in newest for p in complaint.places))
    wanted = [node(complaint.symptom, r, p) for r in regimes for p in complaint.places]
    return bool(wanted) and all(w in newest and newest[w].normal for w in wanted)


def repair_warning(network: Network, repair: Repair, assessment: Assessment) -> str:
    """Return what must be said before a repair is recorded; empty where nothing must."""
    share = assessment.finding.group_shares.get(str(repair), 0.0)
    places = [r.place for look in assessment.trouble.looks for r in look.repairs] + [repair.place]
    found = (part_change_warning(network.base.remedies[repair.remedy], share, assessment.plan), both_sides_warning(network, places))
    return " ".join(text for text in found if text)


def still_to_look_at(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of the complaint not yet looked at again after the last repair."""
    if not any(look.repairs for look in looks):
        return ()
    wanted = [node(c.symptom, r, p) for c in looks[0].complaint for r in c.regimes for p in c.places]
    done = done_nodes(newest_results(looks))
    return tuple(w for w in dict.fromkeys(wanted) if w not in done)


def confirming_rest(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return what the run after the last repair still lacks besides the complaint itself, in words."""
    given = (r for r in newest_results(looks) if not r.history and not r.several)
    return parts_missing(tuple(f"{node(r.symptom, r.regimes[0], r.places[0])}={r.grade}" for r in given))


def gains(trouble: Trouble, states: Collection[str]) -> Trouble:
    """Return the trouble with access states gained."""
    return replace(trouble, access=trouble.access | frozenset(states))
