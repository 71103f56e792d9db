"""One trouble under way: results and repairs in, belief, plan and finding out."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.evidence import LookResults, Prepared, prepare
from diagnose.finding import Finding, conclude, rank
from diagnose.groups import Group, repair_groups
from diagnose.guards import barred_access
from diagnose.network import Network
from diagnose.plan import Plan, available, make_plan
from diagnose.results import Result, node
from diagnose.screening import screened


@dataclass(frozen=True)
class Trouble:
    """What is known of one trouble: looks (oldest first), access gained, located checks declined."""

    looks: tuple[LookResults, ...] = (LookResults(),)
    access: frozenset[str] = frozenset()
    declined: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Assessment:
    """Everything the screens show about a trouble at one moment."""

    trouble: Trouble
    prepared: Prepared
    groups: Mapping[str, Group]
    plan: Plan
    finding: Finding
    complaint: tuple[str, ...] = field(default=())


def assess(network: Network, trouble: Trouble) -> Assessment:
    """Return belief, plan and finding for a trouble as it stands."""
    prepared = prepare(network, trouble.looks)
    groups = repair_groups(network)
    done = done_nodes(trouble.looks[-1].results)
    checks = [
        c for c in available(network, done, barred_access(network, trouble.looks[-1].results))
        if c.id not in trouble.declined
    ]  # fmt: skip
    ranking = rank(network, prepared)
    shares = ranking[0].responsible if prepared.complaint else ranking[0].present
    clauses = sum(len(look.clauses) for look in prepared.evidence.looks)
    checks = screened(network, checks, shares, clauses, trouble.access)
    plan = make_plan(network, prepared, groups, checks, trouble.access)
    gone = complaint_gone(network, trouble.looks)
    finding = conclude(network, prepared, ranking, groups, plan, gone)
    return Assessment(trouble, prepared, groups, plan, finding, tuple(str(s.result) for s in prepared.complaint))


def done_nodes(results: Sequence[Result]) -> frozenset[str]:
    """Return the located symptoms that have a result (also `unknown` or `cannot`) at a single place."""
    return frozenset(
        node(r.symptom, regime, place) for r in results if not r.history and not r.several
        for place in r.places for regime in r.regimes
    )  # fmt: skip


def complaint_gone(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether, after a remedy, every result of the complaint is normal in its own regime and places."""
    if not any(look.repairs for look in looks) or not looks[0].complaint:
        return False
    newest = {
        node(r.symptom, regime, place): r for r in looks[-1].results if not r.history and not r.several
        for place in r.places for regime in r.regimes
    }  # fmt: skip
    return all(_gone(c, newest) for c in looks[0].complaint)


def _gone(complaint: Result, newest: Mapping[str, Result]) -> bool:
    regimes = complaint.regimes
    if complaint.regime == "any":
        regimes = tuple(r for r in regimes if any(node(complaint.symptom, r, p) in newest for p in complaint.places))
    wanted = [node(complaint.symptom, r, p) for r in regimes for p in complaint.places]
    return bool(wanted) and all(w in newest and newest[w].normal for w in wanted)


def still_to_confirm(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of the complaint not yet seen normal after the last repair."""
    newest = {
        node(r.symptom, regime, place): r for r in looks[-1].results if not r.history and not r.several
        for place in r.places for regime in r.regimes
    }  # fmt: skip
    wanted = [node(c.symptom, r, p) for c in looks[0].complaint for r in c.regimes for p in c.places]
    return tuple(w for w in dict.fromkeys(wanted) if not (w in newest and newest[w].normal))


def with_declined(trouble: Trouble, check: str) -> Trouble:
    """Return the trouble with one located check not offered again."""
    return Trouble(trouble.looks, trouble.access, trouble.declined | {check})


def gains(trouble: Trouble, states: Collection[str]) -> Trouble:
    """Return the trouble with access states gained."""
    return Trouble(trouble.looks, trouble.access | frozenset(states), trouble.declined)
