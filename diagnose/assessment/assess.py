"""Belief, plan and finding of one trouble as it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.assessment.finding import Finding, Ranked, conclude, rank
from diagnose.belief.model import Belief
from diagnose.plan.checks import available
from diagnose.plan.plan import Plan, make_plan
from diagnose.plan.rules import barred_access, must_not_be_done, needs_flight
from diagnose.plan.shortlist import screened
from diagnose.plan.warnings import both_sides_warning, part_change_warning
from diagnose.trouble.alarms import magneto_live, not_to_be_run
from diagnose.trouble.complaint import complaint_gone
from diagnose.trouble.evidence import Prepared, prepare
from diagnose.trouble.looks import Repair, newest_results
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup, repair_groups
from diagnose.trouble.trouble import Trouble, seen_nodes


@dataclass(frozen=True)
class Assessment:
    """Everything the screens show about a trouble at one moment; `live` and `broken` as in `alarms`."""

    trouble: Trouble
    prepared: Prepared
    groups: Mapping[str, RepairGroup]
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


def planned(network: Network, trouble: Trouble) -> tuple[Prepared, Mapping[str, RepairGroup], tuple[Belief, tuple[Ranked, ...]], Plan]:
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
    shares = {row.id: row.share for row in ranking[1]}
    clauses = sum(len(look.clauses) for look in prepared.evidence.looks)
    checks = screened(network, checks, shares, clauses, trouble.access)
    return prepared, groups, ranking, make_plan(network, prepared, groups, checks, trouble.access)


def repair_warning(network: Network, repair: Repair, assessment: Assessment) -> str:
    """Return what must be said before a repair is recorded; empty where nothing must."""
    share = assessment.finding.group_shares.get(str(repair), 0.0)
    places = [r.place for look in assessment.trouble.looks for r in look.repairs] + [repair.place]
    found = (part_change_warning(network.base.remedies[repair.remedy], share, assessment.plan), both_sides_warning(network, places))
    return " ".join(text for text in found if text)
