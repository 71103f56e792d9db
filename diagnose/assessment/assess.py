"""Belief, plan and finding of one trouble as it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from diagnose.assessment.finding import Finding, Ranked, conclude, rank
from diagnose.belief.model import Belief
from diagnose.places import inside
from diagnose.plan.checks import LocatedCheck, available
from diagnose.plan.in_hand import done_already, open_now
from diagnose.plan.make_good import MakeGood, make_good
from diagnose.plan.plan import SETTLED, Plan, looking_first, make_plan
from diagnose.plan.rules import Bars, barred_access, bars, forbidden, needs_flight
from diagnose.plan.seeing import check_that_sees, is_heavy, unseen
from diagnose.plan.shortlist import screened
from diagnose.plan.warnings import both_sides_warning, part_change_warning, unseen_warning
from diagnose.trouble.complaint import complaint_gone
from diagnose.trouble.evidence import Prepared, prepare
from diagnose.trouble.looks import Repair, newest_results
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup, repair_groups
from diagnose.trouble.trouble import Trouble, seen_nodes

GUESS = 0.1  # more minutes in all that a check may cost before a part is changed on a guess: parts cost more than minutes (estimate)
SORTS = 0.3  # bits such a check must tell (estimate)
LEADING = 3  # heavy repairs for which a check that sees the fault is kept at hand


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
    trouble = replace(trouble, access=open_now(network, trouble))
    groups = repair_groups(network, prepared.stands)
    ranking = rank(network, prepared)
    shares = _standing(prepared, ranking[1])
    forbids = bars(network, trouble, shares)
    possible = _possible(network, trouble, forbids)
    held = unseen(network, trouble, groups.values())
    first = _first_looks(network, trouble, possible, groups, held, shares, forbids)
    clauses = sum(len(look.clauses) for look in prepared.evidence.looks)
    done = done_already(network, trouble)
    asked = [c for c in possible if c.id not in done]
    kept = {c.id for c in (*screened(network, asked, shares, clauses + few, trouble.access), *first.values())}
    plan = make_plan(network, prepared, groups, [c for c in possible if c.id in kept], trouble.access)
    offered = tuple(x for x in plan.attempts if x.group.key not in held and not forbidden(network.base, x.group.remedy, forbids))
    plan = replace(plan, attempts=offered, unseen=held)
    return prepared, groups, ranking, _with_first_look(network, plan, groups, first, shares, bool(prepared.complaint))


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


def _first_looks(
    network: Network,
    trouble: Trouble,
    possible: Sequence[LocatedCheck],
    groups: Mapping[str, RepairGroup],
    held: frozenset[str],
    shares: Mapping[str, float],
    forbids: Bars,
) -> dict[str, LocatedCheck]:
    """Return what waits for a look -> the check that sees it: a suspicion (under an empty key), and the leading heavy repairs."""
    found = {}
    if forbids.suspects:
        look = check_that_sees(network, possible, shares, forbids.suspects, trouble.access)
        found = {"": look} if look is not None else {}
    for key in sorted(held, key=lambda k: (-round(_share(groups[k], shares), 12), k))[:LEADING]:
        group = groups[key]
        look = check_that_sees(network, possible, shares, group.causes, trouble.access, group.remedy)
        if look is not None:
            found[key] = look
    return found


def _share(group: RepairGroup, shares: Mapping[str, float]) -> float:
    return min(1.0, sum(shares.get(c, 0.0) for c in group.causes))


def _with_first_look(
    network: Network,
    plan: Plan,
    groups: Mapping[str, RepairGroup],
    first: Mapping[str, LocatedCheck],
    shares: Mapping[str, float],
    complained: bool,
) -> Plan:
    """Return the plan with the look that comes first: at what makes a run dangerous, or, where nothing else pays, before heavy work."""
    if not complained:
        return plan
    if "" in first:
        return looking_first(plan, first[""], "what is suspected makes a run dangerous and nobody has looked yet")
    if plan.paying or plan.repair_first:
        return plan
    order = sorted(groups, key=lambda k: (-_share(groups[k], shares) / plan.remedy_minutes[k], k))
    key = next((k for k in order if k not in plan.unseen or k in first), "")
    if key not in first:
        return _before_a_part(plan, groups[key], _share(groups[key], shares)) if key else plan
    remedy, place = groups[key].remedy, groups[key].place
    reason = f"{remedy.label} ({place}) is {remedy.minutes.value:.0f} min of work and nothing has seen the fault yet: this can"
    if remedy.measured_by and not is_heavy(network.base, remedy):
        reason = f"{remedy.label} ({place}) moves what nobody has measured yet: this does, and as found is written down"
    return looking_first(plan, first[key], reason)


def _before_a_part(plan: Plan, group: RepairGroup, share: float) -> Plan:
    """Return the plan with the check that tells most first, where else a part would be changed on a guess and it costs hardly more."""
    able = [v for v in plan.checks if v.tells and v.information >= SORTS and v.cost <= (1 + GUESS) * plan.cost]
    if not group.remedy.parts or share >= SETTLED or not able:
        return plan
    best = min(able, key=lambda v: (-round(v.information, 9), v.located.id))
    reason = f"{group.remedy.label} ({group.place}) would change a part at {share:.0%}: this tells most and costs hardly more"
    return looking_first(plan, best.located, reason)


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
