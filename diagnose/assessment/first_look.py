"""The look that comes first whatever the minutes say: before a dangerous run, heavy work or a part, and at what is in the hand."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from diagnose.plan.checks import LocatedCheck
from diagnose.plan.in_hand import closes
from diagnose.plan.plan import SETTLED, Plan, Valued, looking_first
from diagnose.plan.rules import Bars
from diagnose.plan.seeing import check_that_sees, is_heavy
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.aircraft import turning
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.trouble import Trouble

GUESS = 0.1  # more minutes in all that a check may cost before a part is changed on a guess: parts cost more than minutes (estimate)
SORTS = 0.3  # bits such a check must tell (estimate)
LEADING = 3  # heavy repairs for which a check that sees the fault is kept at hand
SHORT = 15.0  # minutes that a look at what is in the hand takes at most (estimate)
WORTH_A_LOOK = 0.1  # bits it must tell (estimate)


def first_looks(
    network: Network,
    trouble: Trouble,
    possible: Sequence[LocatedCheck],
    groups: Mapping[str, RepairGroup],
    held: frozenset[str],
    shares: Mapping[str, float],
    forbids: Bars,
    done: Collection[str],
) -> dict[str, LocatedCheck]:
    """Return what waits for a look -> the check that sees it: a suspicion (under an empty key), and the repairs that wait.

    Of these the leading ones, and all that wait to be measured. `done`: checks done already, which are not asked for again but where
    a run would be dangerous.
    """
    found = {}
    if forbids.suspects:
        look = check_that_sees(network, possible, shares, forbids.suspects, trouble.access)
        found = {"": look} if look is not None else {}
    order = sorted(held, key=lambda k: (-round(_share(groups[k], shares), 12), k))
    for key in (*order[:LEADING], *(k for k in order[LEADING:] if groups[k].remedy.measured_by)):
        group = groups[key]
        left = [c for c in possible if c.id not in done]
        look = check_that_sees(network, left, shares, group.causes, trouble.access, group.remedy)
        if look is not None:
            found[key] = look
    return found


def _share(group: RepairGroup, shares: Mapping[str, float]) -> float:
    return min(1.0, sum(shares.get(c, 0.0) for c in group.causes))


def to_measure(plan: Plan) -> str:
    """Return the key of the repair that a plan would try first, where it moves a setting: it is measured first if it was not."""
    return plan.attempts[0].group.key if plan.repair_first and plan.attempts[0].group.remedy.measured_by else ""


def with_first_look(
    base: RuleBase, plan: Plan, groups: Mapping[str, RepairGroup], first: Mapping[str, LocatedCheck], shares: Mapping[str, float], move: str
) -> Plan:
    """Return the plan with the look that comes first: at what makes a run dangerous, at a setting that would be moved next (`move`, the
    key of its repair), or, where nothing else pays, before heavy work."""
    if "" in first:
        return looking_first(plan, first[""], "what is suspected makes a run dangerous and nobody has looked yet")
    if move in first:
        return looking_first(plan, first[move], _reason(base, groups[move]))
    if plan.paying or plan.repair_first:
        return plan
    order = sorted(groups, key=lambda k: (-_share(groups[k], shares) / plan.remedy_minutes[k], k))
    key = next((k for k in order if k not in plan.unseen or k in first), "")
    if key not in first:
        return _before_a_part(plan, groups[key], _share(groups[key], shares)) if key else plan
    return looking_first(plan, first[key], _reason(base, groups[key]))


def _reason(base: RuleBase, group: RepairGroup) -> str:
    remedy = group.remedy
    if remedy.measured_by and not is_heavy(base, remedy):
        return f"{remedy.label} ({group.place}) moves what nobody has measured yet: this does, and as found is written down"
    return f"{remedy.label} ({group.place}) is {remedy.minutes.value:.0f} min of work and nothing has seen the fault yet: this can"


def _before_a_part(plan: Plan, group: RepairGroup, share: float) -> Plan:
    """Return the plan with the check that tells most first, where else a part would be changed on a guess and it costs hardly more."""
    able = [v for v in plan.checks if v.tells and v.information >= SORTS and v.cost <= (1 + GUESS) * plan.cost]
    if not group.remedy.parts or share >= SETTLED or not able:
        return plan
    best = min(able, key=lambda v: (-round(v.information, 9), v.located.id))
    reason = f"{group.remedy.label} ({group.place}) would change a part at {share:.0%}: this tells most and costs hardly more"
    return looking_first(plan, best.located, reason)


def in_hand_first(network: Network, plan: Plan, hand: Collection[str], gained: Collection[str]) -> Plan:
    """Return the plan with what is in the hand looked at before it is put back for a run, or cleaned or changed on a guess.

    `hand`: places of the parts that are out or open; `gained`: what stands open. Getting there again costs more than the look.
    """
    able = [v for v in plan.checks if _at_hand(network, v, hand, gained)]
    if not able or not _puts_back(network, plan, gained):
        return plan
    best = max(able, key=lambda v: (round(v.information / v.minutes, 9), v.located.id))
    return looking_first(plan, best.located, "work is open here now: closing it and getting here again takes longer than this look")


def _at_hand(network: Network, valued: Valued, hand: Collection[str], gained: Collection[str]) -> bool:
    check = valued.located.check
    near = valued.located.place in hand and set(check.access) <= set(gained) and not closes(network, check, gained)
    return near and not turning(network.base, check) and valued.minutes <= SHORT and valued.tells and valued.information >= WORTH_A_LOOK


def _puts_back(network: Network, plan: Plan, gained: Collection[str]) -> bool:
    """Return whether the next step shuts what stands open: a run, or a repair that may be the wrong one."""
    if plan.repair_first:
        return plan.trials[0].share < SETTLED
    return bool(plan.paying) and closes(network, plan.paying[0].located.check, gained)
