"""The next check: what each available check would tell about the repair, per minute, and when to stop.

The target is who is responsible for the complaint, by repair group, with "none of these" beside
them. A check with several symptoms is read in their order: the first abnormal one ends the reading,
so its outcomes are "first k normal, this one at this grade" and "all normal". That is a true
partition, worth no more than reading everything, and needs no joint table.

A check is ranked by information about the target per minute among those that pay: whose expected
saving on the way to a fixed engine exceeds their own minutes. Expected cost of repair after
Heckerman, Breese & Rommelse 1995, with the choice to stop and call for help at every step.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

from diagnose import access
from diagnose.belief.exact import Answers, ask
from diagnose.belief.sources import Row
from diagnose.evidence import Prepared
from diagnose.groups import Group
from diagnose.network import Network
from diagnose.results import node
from diagnose.rulebase.records import Check

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


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
        """Return the most responsible causes after this outcome."""
        return sorted(self.responsible.items(), key=lambda item: (-item[1], item[0]))[:count]


@dataclass(frozen=True)
class Valued:
    """A check with its worth: information in bits, minutes saved per minute, marginal minutes."""

    located: LocatedCheck
    minutes: float
    information: float
    value: float
    detail: Callable[[], tuple[Outcome, ...]]

    def outcomes(self) -> tuple[Outcome, ...]:
        """Return every way it can come out."""
        return self.detail()

    @property
    def pays(self) -> bool:
        """Return whether it saves more minutes than it costs."""
        return self.value > 1

    @property
    def rate(self) -> float:
        """Return bits per minute."""
        return self.information / self.minutes


@dataclass(frozen=True)
class Plan:
    """Every available check, best first; `cost` is the expected minutes to a fixed engine as things stand.

    `remedy_minutes` gives each repair group its work, access still to be reached and retest.
    """

    checks: tuple[Valued, ...]
    cost: float
    remedy_minutes: Mapping[str, float]

    @property
    def paying(self) -> tuple[Valued, ...]:
        """Return the checks worth doing; empty means stop checking and repair."""
        return tuple(v for v in self.checks if v.pays)


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
    """Return every check valued, best first."""
    rows, spans = [Row()], []
    for check in checks:
        mine = _rows(network, check)
        spans.append((len(rows), mine))
        rows += [row for row, _ in mine]
    answers = ask(network.model, prepared.evidence, rows)
    target = _Target(network, groups, answers, gained)
    valued = [_value(network, check, start, mine, target, gained) for check, (start, mine) in zip(checks, spans, strict=True)]
    valued.sort(key=lambda v: (not v.pays, -v.rate if v.pays else -v.value, v.located.id))
    minutes = {key: float(m) for key, m in zip(groups, target.costs, strict=True)}
    return Plan(tuple(valued), float(target.cost[0]), minutes)


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


class _Target:
    """Responsibility by repair group for every row, and the expected cost of repair that follows."""

    def __init__(self, network: Network, groups: Mapping[str, Group], answers: Answers, gained: Collection[str]) -> None:
        import numpy as np

        self.np = np
        self.answers = answers
        self.groups = list(groups.values())
        zero = answers.likelihood * 0.0
        self.joint = np.array([
            sum((answers.responsible.get(c, zero) for c in group.causes), start=zero) for group in self.groups
        ])  # fmt: skip
        base = network.base
        self.costs = np.array([
            g.remedy.minutes.value + access.minutes_to_reach(base, g.remedy.access, gained) + base.settings.retest_minutes
            for g in self.groups
        ])  # fmt: skip
        self.expert = base.settings.expert_minutes
        first = self.shares(self.joint[:, :1], answers.nobody[:1], answers.likelihood[:1])
        self.cost, self.entropy = self.repair_cost(first), self.bits(first)

    @cached_property
    def causes(self) -> list[str]:
        return sorted(self.answers.responsible)

    @cached_property
    def matrix(self) -> Array:
        """Return the joint weight of every cause being responsible, causes by rows."""
        weights: Array = self.np.array([self.answers.responsible[c] for c in self.causes])
        return weights

    def shares(self, joint: Array, nobody: Array, likelihood: Array) -> Array:
        """Return one distribution per column: every group, then "none of these".

        "None" is exact. The groups, which can be responsible together, share the rest in proportion.
        """
        np = self.np
        none = np.clip(nobody / np.where(likelihood > 0, likelihood, 1.0), 0.0, 1.0)
        total = joint.sum(axis=0)
        shares: Array = np.vstack([joint * ((1.0 - none) / np.where(total > 0, total, 1.0)), none])
        return shares

    def bits(self, shares: Array) -> Array:
        np = self.np
        entropy: Array = -(shares * np.log2(np.where(shares > 0, shares, 1.0))).sum(axis=0)
        return entropy

    def repair_cost(self, shares: Array) -> Array:
        """Return the expected minutes to a fixed engine: remedies in falling share per minute, help at the end.

        At every step the cheaper of "try the next remedy" and "call for help now" is taken.
        """
        np = self.np
        parts, none = shares[:-1], shares[-1]
        order = np.argsort(-parts / self.costs[:, None], axis=0, kind="stable")
        ranked = np.take_along_axis(parts, order, axis=0)
        costs = self.costs[order]
        cost: Array = self.expert * none
        left = none.copy()
        for step in reversed(range(len(ranked))):
            left = left + ranked[step]
            cost = np.minimum(self.expert * left, costs[step] * left + cost)
        return cost


def _value(
    network: Network, check: LocatedCheck, start: int, mine: list[tuple[Row, str]], target: _Target, gained: Collection[str]
) -> Valued:
    minutes = check.check.minutes.value + access.minutes_to_reach(network.base, check.check.access, gained)
    columns = [0, *range(start, start + len(mine))]
    np = target.np
    weights = target.answers.likelihood[columns]
    joint = target.joint[:, columns]
    # Column k minus column k+1 is "read as far as step k, abnormal there"; the last column is "all normal".
    likelihood, split, nobody = (
        np.clip(np.concatenate([w[..., :-1] - w[..., 1:], w[..., -1:]], axis=-1), 0.0, None)
        for w in (weights, joint, target.answers.nobody[columns])
    )
    chances = likelihood / weights[0]
    after = target.shares(split, nobody, likelihood)
    information = max(0.0, float(target.entropy[0] - (chances * target.bits(after)).sum()))
    saved = float(target.cost[0] - (chances * target.repair_cost(after)).sum())
    return Valued(check, minutes, information, saved / minutes,
                  cache(lambda: tuple(_outcomes(network, check, mine, columns, target))))  # fmt: skip


def _outcomes(
    network: Network, check: LocatedCheck, mine: list[tuple[Row, str]], columns: list[int], target: _Target
) -> Iterator[Outcome]:
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
    yield _outcome((*normal, f"{before}={_grade(network, before, 0)}"), float(weights[-1]), by_cause[:, -1],
                   float(weights[0]), target)  # fmt: skip


def _grade(network: Network, name: str, level: int) -> str:
    return network.symptoms[name].symptom.names[level]


def _outcome(results: tuple[str, ...], weight: float, joint: Array, whole: float, target: _Target) -> Outcome:
    safe = weight if weight > 0 else 1.0
    # Shares below one in a million are left out: they are never shown and reading them all takes longer than the sweep.
    likely = target.np.flatnonzero(joint > 1e-6 * safe)
    shares = {target.causes[i]: min(1.0, float(joint[i]) / safe) for i in likely}
    return Outcome(results, max(0.0, weight / whole), shares)


def told_apart(valued: Valued, first: str, second: str, prior: Mapping[str, float], least: float = 0.1) -> bool:
    """Return whether some result of a check differs by `least` between two causes being responsible."""
    for outcome in valued.outcomes():
        odds = [
            outcome.probability * outcome.responsible.get(c, 0.0) / prior[c] if prior[c] > 0 else 0.0
            for c in (first, second)
        ]  # fmt: skip
        if abs(odds[0] - odds[1]) >= least:
            return True
    return False
