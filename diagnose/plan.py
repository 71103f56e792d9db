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

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, partial
from heapq import nlargest
from typing import TYPE_CHECKING, Any

from diagnose import access
from diagnose.belief.exact import Answers, ask
from diagnose.belief.sources import Row
from diagnose.evidence import Prepared
from diagnose.groups import Group
from diagnose.lookahead import Step, steps
from diagnose.network import Network
from diagnose.results import node
from diagnose.rulebase.records import Check, RuleBase
from diagnose.worth import Option, Prices, bits_left, repair_cost

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


SETTLED = 0.9  # a part may be changed without a word from here on


@dataclass(frozen=True)
class LocatedCheck:
    """A check at a place, with the located symptoms it still has to give, in order."""

    check: Check
    place: str
    nodes: tuple[str, ...]

    @property
    def id(self) -> str:
        """Return `CHECK@PLACE`."""
        return f"{self.check.id}@{self.place}"


@dataclass(frozen=True)
class Outcome:
    """One way a check can come out: results in canonical form, its probability, the beliefs after it."""

    results: tuple[str, ...]
    probability: float
    responsible: Mapping[str, float]

    def top(self, count: int = 3) -> list[tuple[str, float]]:
        """Return the most responsible causes after this outcome, equals by id whatever the rounding."""
        least = min(nlargest(count, self.responsible.values()), default=0.0) - 1e-11
        likely = [(cause, share) for cause, share in self.responsible.items() if share >= least]
        return sorted(likely, key=lambda item: (-round(item[1], 12), item[0]))[:count]


@dataclass(frozen=True)
class Valued:
    """A check with its worth: information in bits, minutes saved per minute, marginal minutes.

    `saved` is exact: the minutes this check alone saves on the repairs, the access it opens counted. `cost` is the
    expected minutes to a fixed engine with this check now and at most one more; `value` is (cost without any check -
    cost with this one, its own minutes not counted) / minutes.
    """

    located: LocatedCheck
    minutes: float
    information: float
    saved: float
    cost: float
    value: float
    detail: Callable[[], tuple[Outcome, ...]]

    @cached_property
    def _outcomes(self) -> tuple[Outcome, ...]:
        return self.detail()

    def outcomes(self) -> tuple[Outcome, ...]:
        """Return every way it can come out, worked out when first asked for."""
        return self._outcomes

    @property
    def pays(self) -> bool:
        """Return whether it saves more minutes than it costs."""
        return self.value > 1


@dataclass(frozen=True)
class Attempt:
    """A remedy tried now: its group, the minutes with access and retest, the share it ends, and as for a check."""

    group: Group
    minutes: float
    share: float
    cost: float
    value: float


@dataclass(frozen=True)
class Plan:
    """Every available check and the remedies worth a try, each best first.

    `cost` is the expected minutes to a fixed engine with no further check, access paid once. `remedy_minutes` gives each repair group its
    work, access still to be reached and retest.
    """

    checks: tuple[Valued, ...]
    attempts: tuple[Attempt, ...]
    cost: float
    remedy_minutes: Mapping[str, float]

    @property
    def paying(self) -> tuple[Valued, ...]:
        """Return the checks worth doing now; empty means stop checking and repair, or call for help."""
        if self.repair_first:
            return ()
        return tuple(v for v in self.checks if v.pays)

    @property
    def repair_first(self) -> bool:
        """Return whether trying a remedy is cheaper than every check, and may be done on what is known.

        A remedy that changes a part waits for the checks that pay until its share is `SETTLED`.
        """
        return bool(self.trials) and self.trials[0] is self.attempts[0]

    @property
    def trials(self) -> tuple[Attempt, ...]:
        """Return the remedies cheaper to try than every check is to do, and that may be done on what is known."""
        least = min((v.cost for v in self.checks), default=float("inf"))
        return tuple(a for a in self.attempts if a.cost <= least and (not a.group.remedy.parts or a.share >= SETTLED))


def available(network: Network, done: Collection[str], barred: Collection[str]) -> list[LocatedCheck]:
    """Return the located checks that still give something.

    `done` are located symptoms with a result in this look, `cannot` among them; `barred` are access
    states that cannot be reached now.
    """
    found = []
    for check in network.base.checks.values():
        if set(check.access) & set(barred):
            continue
        for place in network.layout.places(check.at):
            nodes = tuple(n for n in _given(network, check, place) if n not in done)
            if nodes:
                found.append(LocatedCheck(check, place, nodes))
    return found


def _given(network: Network, check: Check, place: str) -> list[str]:
    nodes = []
    for ref in check.gives:
        symptom = network.base.symptoms[ref.symptom]
        for spot in network.layout.related(place, ref.relation):
            name = node(symptom.id, ref.regime or symptom.default, spot)
            if name in network.symptoms and name not in nodes and network.graph.in_degree(name):
                nodes.append(name)
    return nodes


def make_plan(
    network: Network, prepared: Prepared, groups: Mapping[str, Group], checks: Sequence[LocatedCheck], gained: Collection[str]
) -> Plan:
    """Return every check valued and the remedies worth a try, best first."""
    asked = ask_checks(network, prepared, groups, checks)
    target, spans = asked.target, asked.spans
    target.drop_the_innocent()
    costing = _Costing(network.base, target.groups, checks, gained)
    now = target.table(0, 1)[:, 0]
    options = [costing.option(i, asked.table(i)) for i in range(len(checks))]
    prices = costing.prices(frozenset(gained))
    cost = costing.without_checks(now)
    start, *left = bits_left([now[:, None], *(option.table for option in options)]).tolist()
    valued, attempts = [], []
    for step in steps(now, options, prices, cost, costing.after_remedy):
        if step.kind == "check":
            minutes = options[step.index].minutes
            information = max(0.0, start - left[step.index])
            value = (cost - step.cost + minutes) / minutes
            detail = partial(_all_outcomes, network, spans[step.index][1], asked.columns(step.index), target)
            valued.append(Valued(checks[step.index], minutes, information, step.saved, step.cost, value, detail))
        elif step.kind == "repair":
            attempts.append(_attempt(target.groups[step.index], float(prices.remedies[step.index]), now, cost, step))
    every = _Costing(network.base, list(groups.values()), (), gained).prices(frozenset(gained)).remedies
    return Plan(tuple(valued), tuple(attempts), cost, {key: float(m) for key, m in zip(groups, every, strict=True)})


def _attempt(group: Group, minutes: float, now: Array, whole: float, step: Step) -> Attempt:
    return Attempt(group, minutes, float(now[step.index]), step.cost, (whole - step.cost + minutes) / minutes)


def _rows(network: Network, check: LocatedCheck) -> list[tuple[Row, str]]:
    """Return one row per step of reading the check: everything before normal, this one at most a grade."""
    rows: list[tuple[Row, str]] = []
    bounds: dict[str, int] = {}
    for name in check.nodes:
        grades = network.symptoms[name].symptom.names
        for level in reversed(range(len(grades) - 1)):
            rows.append((Row({**bounds, name: level}), name))
        bounds[name] = 0
    return rows


@dataclass(frozen=True)
class Asked:
    """Every check's questions answered in one sweep: for each check the row it starts at and its steps of reading."""

    target: _Target
    spans: tuple[tuple[int, list[tuple[Row, str]]], ...]

    def columns(self, index: int) -> list[int]:
        """Return the answered rows of a check: the evidence as it is, then each step of reading."""
        start, mine = self.spans[index]
        return [0, *range(start, start + len(mine))]

    def table(self, index: int) -> Array:
        """Return a check's table: repair groups and "none of these" by outcomes."""
        return self.target.partition(self.columns(index))


def ask_checks(network: Network, prepared: Prepared, groups: Mapping[str, Group], checks: Sequence[LocatedCheck]) -> Asked:
    """Return what each outcome of every check would do, exactly."""
    rows, spans = [Row()], []
    for check in checks:
        mine = _rows(network, check)
        spans.append((len(rows), mine))
        rows += [row for row, _ in mine]
    return Asked(_Target(groups, ask(network.model, prepared.evidence, rows)), tuple(spans))


class _Costing:
    """What checks and remedies cost, by the access there is."""

    def __init__(self, base: RuleBase, groups: Sequence[Group], checks: Sequence[LocatedCheck], gained: Collection[str]) -> None:
        self.base, self.groups, self.checks, self.gained = base, groups, checks, frozenset(gained)
        self.prices = cache(self._prices)
        self.reach = cache(self._reach)

    def _reach(self, needed: tuple[str, ...], gained: frozenset[str]) -> float:
        return access.minutes_to_reach(self.base, needed, gained)

    def _prices(self, gained: frozenset[str]) -> Prices:
        import numpy as np

        settings = self.base.settings
        minutes = [g.remedy.minutes.value + self.reach(g.remedy.access, gained) + settings.retest_minutes for g in self.groups]
        return Prices(np.array(minutes), settings.expert_minutes)

    def minutes(self, index: int, gained: frozenset[str]) -> float:
        """Return the minutes of a check with the access it lacks."""
        check = self.checks[index].check
        return check.minutes.value + self.reach(check.access, gained)

    def after_remedy(self, index: int) -> Prices:
        """Return the prices once the access of a remedy is open."""
        return self.prices(access.after(self.base, self.groups[index].remedy.access, self.gained))

    def without_checks(self, now: Array) -> float:
        """Return the expected minutes to a fixed engine with no further check, access that several remedies share paid once.

        It is the cheapest of repairing as things stand and of opening some access first: otherwise a check that tells
        nothing would seem to save what its cowling costs every remedy.
        """
        steps = {c.check.access for c in self.checks} | {g.remedy.access for g in self.groups}
        ways = [(0.0, self.prices(self.gained))]
        ways += [(self.reach(needed, self.gained), self.prices(access.after(self.base, needed, self.gained))) for needed in sorted(steps)]
        return min(minutes + float(repair_cost(now[:, None], prices)[0]) for minutes, prices in ways)

    def option(self, index: int, table: Array) -> Option:
        """Return a check as the decision sees it."""
        after = access.after(self.base, self.checks[index].check.access, self.gained)
        return Option(self.minutes(index, self.gained), table, self.prices(after), lambda j: self.minutes(j, after))


class _Target:
    """Responsibility by repair group for every row."""

    def __init__(self, groups: Mapping[str, Group], answers: Answers) -> None:
        import numpy as np

        self.answers = answers
        self.groups = list(groups.values())
        zero = answers.likelihood * 0.0
        self.joint = np.array([sum((answers.responsible.get(c, zero) for c in group.causes), start=zero) for group in self.groups])

    def drop_the_innocent(self) -> None:
        """Leave out groups whose share is below 1e-10 now, and so in every outcome; never all of them."""
        kept = self.joint[:, 0] > 1e-10 * self.answers.likelihood[0]
        if kept.any():
            self.groups = [group for group, keep in zip(self.groups, kept, strict=True) if keep]
            self.joint = self.joint[kept]

    @cached_property
    def causes(self) -> list[str]:
        return sorted(self.answers.responsible)

    @cached_property
    def matrix(self) -> Array:
        """Return the joint weight of every cause being responsible, causes by rows."""
        import numpy as np

        return np.array([self.answers.responsible[c] for c in self.causes])

    def table(self, start: int, end: int) -> Array:
        """Return the table of some rows, as they stand."""
        part = slice(start, end)
        return self._shared(self.joint[:, part], self.answers.nobody[part], self.answers.likelihood[part])

    def partition(self, columns: list[int]) -> Array:
        """Return the table of a check's outcomes.

        Column k minus column k+1 is "read as far as step k, abnormal there"; the last column is "all normal".
        """
        import numpy as np

        likelihood, joint, nobody = (
            np.clip(np.concatenate([w[..., :-1] - w[..., 1:], w[..., -1:]], axis=-1), 0.0, None)
            for w in (self.answers.likelihood[columns], self.joint[:, columns], self.answers.nobody[columns])
        )
        return self._shared(joint, nobody, likelihood)

    def _shared(self, joint: Array, nobody: Array, likelihood: Array) -> Array:
        """Return P(group and outcome) with "none of these" last.

        "None" is exact. The groups, which can be responsible together, share the rest in proportion.
        """
        import numpy as np

        whole = self.answers.likelihood[0]
        none = np.minimum(nobody, likelihood)
        total = joint.sum(axis=0)
        shared = joint * ((likelihood - none) / np.where(total > 0, total, 1.0))
        table: Array = np.vstack([shared, none]) / whole
        return table


def _all_outcomes(network: Network, mine: list[tuple[Row, str]], columns: list[int], target: _Target) -> tuple[Outcome, ...]:
    return tuple(_outcomes(network, mine, columns, target))


def _outcomes(network: Network, mine: list[tuple[Row, str]], columns: list[int], target: _Target) -> Iterator[Outcome]:
    """Yield what reading the check can give, the abnormal steps first, "all normal" last."""
    weights = target.answers.likelihood[columns]
    by_cause = target.matrix[:, columns]
    normal: list[str] = []
    before = ""
    for step, (row, name) in enumerate(mine):
        if before and name != before:
            normal.append(f"{before}={_grade(network, before, 0)}")
        before = name
        chance = float(weights[step] - weights[step + 1])
        seen = f"{name}={_grade(network, name, row.bounds[name] + 1)}"
        yield _outcome((*normal, seen), chance, by_cause[:, step] - by_cause[:, step + 1], float(weights[0]), target)
    yield _outcome((*normal, f"{before}={_grade(network, before, 0)}"), float(weights[-1]), by_cause[:, -1], float(weights[0]), target)


def _grade(network: Network, name: str, level: int) -> str:
    return network.symptoms[name].symptom.names[level]


def _outcome(results: tuple[str, ...], weight: float, joint: Array, whole: float, target: _Target) -> Outcome:
    safe = weight if weight > 0 else 1.0
    # Shares below one in a million are left out: they are never shown and reading them all takes longer than the sweep.
    likely = (joint > 1e-6 * safe).nonzero()[0]
    shares = {target.causes[i]: min(1.0, float(joint[i]) / safe) for i in likely}
    return Outcome(results, max(0.0, weight / whole), shares)


def told_apart(valued: Valued, first: str, second: str, prior: Mapping[str, float], least: float = 0.1) -> bool:
    """Return whether some result of a check differs by `least` between two causes being responsible."""
    for outcome in valued.outcomes():
        odds = [outcome.probability * outcome.responsible.get(c, 0.0) / prior[c] if prior[c] > 0 else 0.0 for c in (first, second)]
        if abs(odds[0] - odds[1]) >= least:
            return True
    return False
