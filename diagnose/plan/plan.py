"""The next check: what each available check would tell about the repair, per minute, and when to stop.

The target is who is responsible for the complaint, by repair group, with "none of these" beside
them. A check with several symptoms is read in their order: the first abnormal one ends the reading,
so its outcomes are "first k normal, this one at this grade" and "all normal". That is a true
partition, worth no more than reading everything, and needs no joint table.

Checks and remedies stand in one order, by the expected minutes to a fixed engine when that step is taken
now (`lookahead`). A check pays when taking it is cheaper than no further check at all; where trying a
remedy is cheaper still, no check is asked for. Expected cost of repair (`worth`) after Heckerman, Breese &
Rommelse 1995 and, for remedies between checks, Breese & Heckerman 1996.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Any

from diagnose.plan.checks import LocatedCheck
from diagnose.plan.costing import Costing
from diagnose.plan.lookahead import Choice, steps
from diagnose.plan.outcomes import Outcome, all_outcomes, ask_checks
from diagnose.plan.repair_cost import bits_left
from diagnose.trouble.evidence import Prepared
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


SETTLED = 0.9  # a part may be changed without a word from here on
AS_KNOWN = 0.1  # what has that share is repaired though a check first might cost this much less: no minutes are surer (estimate)


@dataclass(frozen=True)
class Valued:
    """A check with its worth: information in bits, minutes saved per minute, marginal minutes.

    `saved` is exact: the minutes this check alone saves on the repairs, the access it opens counted. `cost` is the
    expected minutes to a fixed engine with this check now and at most one more; `value` is (cost without any check -
    cost with this one, its own minutes not counted) / minutes. `tells`: it tells enough to be a next step, or, asked, changes it.
    `reason` says why it comes first whatever it saves.
    """

    located: LocatedCheck
    minutes: float
    information: float
    saved: float
    cost: float
    value: float
    detail: Callable[[], tuple[Outcome, ...]]
    tells: bool = True
    reason: str = ""

    @cached_property
    def _outcomes(self) -> tuple[Outcome, ...]:
        return self.detail()

    def outcomes(self) -> tuple[Outcome, ...]:
        """Return every way it can come out, worked out when first asked for."""
        return self._outcomes

    @property
    def pays(self) -> bool:
        """Return whether it tells enough and saves more minutes than it costs."""
        return self.tells and self.value > 1


@dataclass(frozen=True)
class Attempt:
    """A remedy tried now: its group, the minutes with access and retest, the share it ends, and as for a check."""

    group: RepairGroup
    minutes: float
    share: float
    cost: float
    value: float

    @property
    def may_be_tried(self) -> bool:
        """Return whether what is known allows it: a part is changed only when its share is `SETTLED`."""
        return not self.group.remedy.parts or self.share >= SETTLED


@dataclass(frozen=True)
class Plan:
    """Every available check and the remedies worth a try, each best first.

    `cost` is the expected minutes to a fixed engine with no further check, access paid once. `remedy_minutes` gives each repair group its
    work, access still to be reached and retest. `inspect` is a check that comes before all others whatever it saves; `unseen` are the
    repair groups that wait until a check has seen the fault.
    """

    checks: tuple[Valued, ...]
    attempts: tuple[Attempt, ...]
    cost: float
    remedy_minutes: Mapping[str, float]
    inspect: Valued | None = None
    unseen: frozenset[str] = frozenset()

    @property
    def paying(self) -> tuple[Valued, ...]:
        """Return the checks worth doing now; empty means stop checking and repair, or call for help."""
        if self.inspect is not None:
            return (self.inspect, *(v for v in self.checks if v.pays and v.located != self.inspect.located))
        if self.repair_first:
            return ()
        return tuple(v for v in self.checks if v.pays)

    @property
    def repair_first(self) -> bool:
        """Return whether trying a remedy is cheaper than every check, and may be done on what is known.

        A remedy that changes a part waits for the checks that pay until its share is `SETTLED`.
        """
        return self.inspect is None and bool(self.trials) and self.trials[0] is self.attempts[0]

    @property
    def trials(self) -> tuple[Attempt, ...]:
        """Return the remedies cheaper to try than every check is to do, and that may be done on what is known."""
        least = min((v.cost for v in self.checks if v.tells), default=float("inf"))
        settled = (1 + AS_KNOWN) * least
        return tuple(a for a in self.attempts if a.cost <= (settled if a.share >= SETTLED else least) and a.may_be_tried)


def make_plan(
    network: Network,
    prepared: Prepared,
    groups: Mapping[str, RepairGroup],
    checks: Sequence[LocatedCheck],
    gained: Collection[str],
    hand: Collection[str] = (),
) -> Plan:
    """Return every check valued and the remedies worth a try, best first; `hand`: places of the parts that are out or open."""
    asked = ask_checks(network, prepared, groups, checks)
    target, spans = asked.target, asked.spans
    target.drop_the_innocent()
    costing = Costing(network.base, target.groups, checks, gained, hand)
    now = target.table(0, 1)[:, 0]
    options = [costing.option(i, asked.table(i)) for i in range(len(checks))]
    prices = costing.prices(frozenset(gained))
    cost = costing.without_checks(now)
    start, *left = bits_left([now[:, None], *(option.table for option in options)]).tolist()
    told = [max(0.0, start - bits) for bits in left]
    valued, attempts = [], []
    for step in steps(now, options, prices, cost, costing.after_remedy, told):
        if step.kind == "check":
            minutes = options[step.index].minutes
            value = (cost - step.cost + minutes) / minutes
            detail = partial(all_outcomes, network, spans[step.index][1], asked.columns(step.index), target)
            valued.append(Valued(checks[step.index], minutes, told[step.index], step.saved, step.cost, value, detail, step.tells))
        elif step.kind == "repair":
            attempts.append(_attempt(target.groups[step.index], float(prices.remedies[step.index]), now, cost, step))
    every = Costing(network.base, list(groups.values()), (), gained).prices(frozenset(gained)).remedies
    return Plan(tuple(valued), tuple(attempts), cost, {key: float(m) for key, m in zip(groups, every, strict=True)})


def _attempt(group: RepairGroup, minutes: float, now: Array, whole: float, step: Choice) -> Attempt:
    return Attempt(group, minutes, float(now[step.index]), step.cost, (whole - step.cost + minutes) / minutes)


def looking_first(plan: Plan, wanted: LocatedCheck, reason: str) -> Plan:
    """Return a plan whose first check is the one wanted, with the reason; as it was where that check is not in it."""
    valued = next((v for v in plan.checks if v.located.id == wanted.id), None)
    if valued is None:
        return plan
    first = replace(valued, reason=reason)
    return replace(plan, inspect=first, checks=(first, *(v for v in plan.checks if v is not valued)))


def told_apart(valued: Valued, first: str, second: str, prior: Mapping[str, float], least: float = 0.1) -> bool:
    """Return whether some result of a check differs by `least` between two causes being responsible."""
    for outcome in valued.outcomes():
        odds = [outcome.probability * outcome.responsible.get(c, 0.0) / prior[c] if prior[c] > 0 else 0.0 for c in (first, second)]
        if abs(odds[0] - odds[1]) >= least:
            return True
    return False
