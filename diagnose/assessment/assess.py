"""Belief, plan and finding of one trouble as it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from diagnose.assessment.finding import Finding, Ranked, conclude, rank
from diagnose.assessment.first_look import first_looks, in_hand_first, to_measure, with_first_look
from diagnose.assessment.own_condition import own_condition_first
from diagnose.belief.model import Belief
from diagnose.places import inside
from diagnose.plan.checks import LocatedCheck, available
from diagnose.plan.in_hand import done_already, open_now, parts_in_hand
from diagnose.plan.make_good import MakeGood, make_good
from diagnose.plan.plan import Plan, make_plan
from diagnose.plan.rules import Bars, barred_access, bars, forbidden, needs_flight
from diagnose.plan.seeing import unseen
from diagnose.plan.shortlist import screened
from diagnose.plan.warnings import both_sides_warning, part_change_warning, unseen_warning
from diagnose.trouble.complaint import complaint_gone
from diagnose.trouble.evidence import Prepared, prepare
from diagnose.trouble.looks import Repair, newest_results
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup, repair_groups
from diagnose.trouble.trouble import Trouble, seen_nodes


@dataclass(frozen=True)
class Assessment:
    """Everything the screens show about a trouble at one moment: `bars` is what forbids a step, `make_good` what comes before all else."""

    trouble: Trouble
    prepared: Prepared
    groups: Mapping[str, RepairGroup]
    plan: Plan
    finding: Finding
    complaint: tuple[str, ...] = field(default=())
    bars: Bars = field(default_factory=Bars)
    make_good: tuple[MakeGood, ...] = ()


def assess(network: Network, trouble: Trouble, few: int = 0) -> Assessment:
    """Return belief, plan and finding for a trouble as it stands; `few` as in `planned`."""
    prepared, groups, ranking, plan = planned(network, trouble, few)
    gone = complaint_gone(trouble.looks)
    finding = conclude(network, prepared, ranking, groups, plan, gone)
    told = tuple(str(s.result) for s in prepared.complaint)
    forbids = bars(network, trouble, _standing(prepared, ranking[1]))
    return Assessment(trouble, prepared, groups, plan, finding, told, forbids, make_good(network, trouble, forbids))


def planned(
    network: Network, trouble: Trouble, few: int = 0
) -> tuple[Prepared, Mapping[str, RepairGroup], tuple[Belief, tuple[Ranked, ...]], Plan]:
    """Return evidence, repair groups, ranking and plan for a trouble as it stands: all of `assess` but the finding.

    `few`: value only the likeliest checks, as with so many more abnormal results (each halves what is looked at).
    """
    prepared = prepare(network, trouble.looks)
    open_ = open_now(network, trouble)
    hand, trouble = parts_in_hand(network, trouble, open_), replace(trouble, access=open_)
    groups = repair_groups(network, prepared.stands)
    ranking = rank(network, prepared)
    shares = _standing(prepared, ranking[1])
    forbids = bars(network, trouble, shares)
    possible = _possible(network, trouble, forbids)
    held = unseen(network, trouble, groups.values())
    done = done_already(network, trouble)
    asked = [c for c in possible if c.id not in done]
    first = first_looks(network, trouble, possible, groups, held, shares, forbids, done)
    clauses = sum(len(look.clauses) for look in prepared.evidence.looks)
    kept = {c.id for c in (*screened(network, asked, shares, clauses + few, trouble.access), *first.values())}
    plan = make_plan(network, prepared, groups, [c for c in possible if c.id in kept], open_, hand)
    offered = tuple(x for x in plan.attempts if x.group.key not in held and not forbidden(network.base, x.group.remedy, forbids))
    move = to_measure(plan)
    plan = replace(plan, attempts=offered, unseen=held)
    if prepared.complaint:
        plan = in_hand_first(network, with_first_look(network.base, plan, groups, first, shares, move), hand, open_)
        plan = own_condition_first(network, plan, [s.result for s in prepared.complaint], open_)
    return prepared, groups, ranking, plan


def _standing(prepared: Prepared, ranked: Sequence[Ranked]) -> Mapping[str, float]:
    """Return the share of every cause that no repair has ended."""
    return {row.id: row.share for row in ranked if row.id not in prepared.removed}


def _possible(network: Network, trouble: Trouble, forbids: Bars) -> list[LocatedCheck]:
    """Return the checks that can be done now and that nothing forbids."""
    done, newest = seen_nodes(network, trouble.looks), newest_results(trouble.looks)
    return [
        c
        for c in available(network, done, barred_access(network, newest))
        if c.id not in trouble.declined and not needs_flight(c.check) and not forbidden(network.base, c.check, forbids)
    ]


def repair_warning(network: Network, repair: Repair, assessment: Assessment) -> str:
    """Return what must be said before a repair is recorded; empty where nothing must."""
    remedy, share = network.base.remedies[repair.remedy], assessment.finding.group_shares.get(str(repair), 0.0)
    places = [r.place for look in assessment.trouble.looks for r in look.repairs] + [repair.place]
    ends = [c.id for c in network.causes.values() if remedy.id in c.cause.remedies and inside(network.layout, c.place, repair.place)]
    waits = unseen(network, assessment.trouble, [RepairGroup(remedy, repair.place, tuple(ends))])
    found = (
        part_change_warning(remedy, share, assessment.plan),
        unseen_warning(remedy) if waits else "",
        both_sides_warning(network, places),
    )
    return " ".join(text for text in found if text)
