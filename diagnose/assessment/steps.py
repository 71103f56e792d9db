"""The steps in the order they are offered: one answer for every screen, document and paper.

What has to be made good comes first, then the run that a repair still wants, then what the plan says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.assessment.assess import Assessment
from diagnose.plan.make_good import MakeGood, close_up
from diagnose.plan.plan import Valued
from diagnose.plan.rules import forbidden
from diagnose.plan.to_run import WHOLE_RUN, otherwise
from diagnose.trouble.aircraft import turning
from diagnose.trouble.complaint import confirming_rest, gone_before_repair, still_to_look_at
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

LEAST = 0.01  # below this share a repair is not proposed


@dataclass(frozen=True)
class Step:
    """One step: `kind` is make_good, finish_run, check, repair or help, and the field of it is filled.

    `look_at`: located symptoms of the complaint to be looked at again; `rest`: what else the run lacks, in words.
    """

    kind: str
    make_good: MakeGood | None = None
    look_at: tuple[str, ...] = ()
    rest: tuple[str, ...] = ()
    check: Valued | None = None
    group: RepairGroup | None = None


def steps(network: Network, a: Assessment) -> tuple[Step, ...]:
    """Return every step as things stand, best first; the first is the next one."""
    first = [Step("make_good", make_good=m) for m in a.make_good if m.bars and not m.check]
    proof = [Step("make_good", make_good=m) for m in a.make_good if m.bars and m.check]
    items = [m for m in a.make_good if not m.bars]
    planned = list(_planned(network, a))
    turns, access = _turns(network, planned[0]) if planned else (frozenset(), ())
    off_check = bool(proof) and not first  # it runs the engine, with everything back on
    power, open_ = (frozenset({"run"}), ()) if off_check else (turns, access)
    stops = any(o.part for o in otherwise(a.trouble.aircraft, power, open_))
    early, late = ([Step("make_good", make_good=m) for m in items if bool(stops if m.power else turns) is now] for now in (True, False))
    end = close_up(network.base, a.trouble.aircraft) if a.finding.state == "confirmed" else None
    return (*first, *early, *proof, *planned, *late, *([Step("make_good", make_good=end)] if end is not None else []))


def next_step(network: Network, a: Assessment) -> Step | None:
    """Return the next step; None where the work is done."""
    found = steps(network, a)
    return found[0] if found else None


def _turns(network: Network, step: Step) -> tuple[frozenset[str], tuple[str, ...]]:
    """Return how a step turns the engine, and what it needs open."""
    if step.kind == "finish_run":
        return WHOLE_RUN, ()
    entry = step.check.located.check if step.check is not None else step.group.remedy if step.group is not None else None
    return (turning(network.base, entry), entry.access) if entry is not None else (frozenset(), ())


def _planned(network: Network, a: Assessment) -> Iterator[Step]:
    looks = a.trouble.looks
    if a.finding.state == "confirmed":
        again, rest = gone_before_repair(looks), confirming_rest(network.base, looks)
        if (again or rest) and not a.bars.powered:
            yield Step("finish_run", look_at=again, rest=rest)
        return
    waiting = still_to_look_at(looks)
    if waiting and not a.bars.powered:
        yield Step("finish_run", look_at=(*waiting, *gone_before_repair(looks)), rest=confirming_rest(network.base, looks))
    if a.complaint:
        yield from _repairs(network, a)
    yield from (Step("check", check=v) for v in a.plan.checks)


def _repairs(network: Network, a: Assessment) -> Iterator[Step]:
    """Yield the repairs that come before any check: cheaper to try than every check, or nothing else pays; help where none stands out."""
    if a.plan.repair_first:
        yield from (Step("repair", group=x.group) for x in a.plan.trials)
    elif not a.plan.paying:
        order = remedy_order(network, a)
        yield from (Step("repair", group=a.groups[key]) for key in order)
        if not order:
            yield Step("help")


def remedy_order(network: Network, a: Assessment, count: int = 4) -> list[str]:
    """Return the repair groups that may be done, in the order that costs least: share per minute, falling."""
    shares, costs = a.finding.group_shares, a.plan.remedy_minutes
    order = sorted(a.groups, key=lambda k: (-shares[k] / costs[k], k))
    return [k for k in order if shares[k] > LEAST and may_be_done(network, a, k)][:count]


def may_be_done(network: Network, a: Assessment, key: str) -> bool:
    """Return whether a repair may be offered: nothing forbids it, and heavy work has been seen to be needed."""
    return key not in a.plan.unseen and not forbidden(network.base, a.groups[key].remedy, a.bars)


def held_back(a: Assessment, least: float = 0.1) -> list[str]:
    """Return the repair groups likely enough to be named that wait for a check which sees the fault, likeliest first."""
    shares = a.finding.group_shares
    return sorted((k for k in a.plan.unseen if shares[k] >= least), key=lambda k: (-round(shares[k], 12), k))
