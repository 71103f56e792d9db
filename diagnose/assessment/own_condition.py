"""The trouble brought on under its own condition, before a run in another one or before parts come off.

A quiet run elsewhere says little, and what was not seen to fail cannot be seen to be mended (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from diagnose.assessment.first_look import GUESS, SORTS
from diagnose.places import SIDES, inside
from diagnose.plan.access import HANDS_ON, WAITED, missing
from diagnose.plan.plan import Plan, Valued, looking_first
from diagnose.plan.rules import POWERED
from diagnose.trouble.aircraft import turning
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result

BROUGHT_ON = {"hot", "cold", "wet"}  # conditions that an ordinary run-up does not have and the ground can


def own_condition_first(network: Network, plan: Plan, complaint: Sequence[Result], gained: Collection[str]) -> Plan:
    """Return the plan with a run under the condition of the complaint first, where else another run, a question or hands-on work would be.

    It must sort the suspects and may cost a tenth more, the wait for a cold or damp engine not counted: other work goes on meanwhile.
    Parts come off first where the complaint names the place, or does not hang on hot, cold or wet alone.
    """
    regimes = {regime for r in complaint for regime in r.regimes}
    if plan.inspect is not None or not plan.paying or not _elsewhere(network, plan.paying[0], regimes, complaint):
        return plan
    most = (1 + GUESS) * plan.paying[0].cost
    able = [v for v in plan.checks if _brings_on(network, v, regimes) and _worked(network, v, gained) <= most]
    if not able:
        return plan
    best = min(able, key=lambda v: (round(_worked(network, v, gained), 9), v.located.id))
    said = " and ".join(sorted(network.base.when[r].said for r in regimes if r in network.base.when))
    reason = f"the trouble shows {said}: it is brought on there first, quiet elsewhere says little"
    return looking_first(plan, best.located, reason)


def _elsewhere(network: Network, first: Valued, regimes: Collection[str], complaint: Sequence[Result]) -> bool:
    """Return whether a step runs the engine in another condition, asks, or takes off parts that nobody pointed at."""
    check = first.located.check
    if _regimes(first) & set(regimes):
        return False
    if turning(network.base, check) & POWERED:
        return True
    named = any(inside(network.layout, first.located.place, p) for r in complaint for p in r.places if p not in ("engine", *SIDES))
    handled = bool(HANDS_ON & set(check.access)) and not named
    return set(regimes) <= BROUGHT_ON and (handled or _asks(network, first))


def _brings_on(network: Network, valued: Valued, regimes: Collection[str]) -> bool:
    """Return whether a check runs the engine under the condition of the complaint, and sorts the suspects."""
    runs = bool(turning(network.base, valued.located.check) & POWERED)
    return runs and valued.tells and valued.information >= SORTS and bool(_regimes(valued) & set(regimes))


def _worked(network: Network, valued: Valued, gained: Collection[str]) -> float:
    """Return the expected minutes in all with a check first, what is only waited for left out."""
    waits = [name for name in missing(valued.located.check.access, gained) if name in WAITED]
    return valued.cost - sum(network.base.access[name].minutes.value for name in waits)


def _regimes(valued: Valued) -> set[str]:
    return {name.partition("@")[0].rpartition(".")[2] for name in valued.located.nodes}


def _asks(network: Network, valued: Valued) -> bool:
    return all(network.symptoms[name].symptom.kind == "course" for name in valued.located.nodes)
