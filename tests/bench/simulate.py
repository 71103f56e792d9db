"""Policies run on the same drawn troubles: minutes, checks, accuracy, needless part changes, total to a fixed engine."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from random import Random
from statistics import fmean, stdev

from diagnose.belief.model import Contradiction
from diagnose.cli.progress import followed
from diagnose.places import inside
from diagnose.plan import access
from diagnose.plan.checks import available
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.repair_groups import repair_groups
from diagnose.trouble.trouble import done_nodes
from tests.bench.draws import Drawn, draw, reading
from tests.bench.policies import POLICIES, Situation


@dataclass(frozen=True)
class Run:
    """What one policy needed on one trouble."""

    minutes: float
    checks: int
    right: bool
    needless: int
    total: float


MOST_REPLANS = 3  # remedies after which the plan is made anew; from then on the order at hand is kept


def run(network, drawn: Drawn, policy, rng: Random, cap: int) -> Run:
    """Return a run: checks until the policy stops, a remedy, the complaint looked at again, and so on until it is gone."""
    work = _Work(network, drawn, rng, cap)
    right = None
    for _ in range(MOST_REPLANS):
        s = work.check(policy)
        right = work.top_is_right(s) if right is None else right
        if not work.try_remedy(s):
            return work.result(right)
    work.run_down(work.check(policy))
    return work.result(right)


class _Work:
    """One trouble being worked on."""

    def __init__(self, network, drawn, rng, cap):
        self.network, self.drawn, self.rng, self.cap = network, drawn, rng, cap
        self.groups = repair_groups(network)
        self.gained: frozenset[str] = frozenset()
        self.done: set[str] = set()
        self.minutes, self.checks, self.needless, self.repairs, self.tried = 0.0, 0, 0, 0.0, set()
        told = tuple(reading(network, drawn, n) for n in drawn.complaint)
        self.looks = [LookResults(told, told)]

    def result(self, right):
        return Run(self.minutes, self.checks, right, self.needless, self.minutes + self.repairs)

    def check(self, policy):
        """Do checks until the policy stops; return the situation it stopped in."""
        while True:
            s = self._situation()
            choice = policy(s) if s.checks and self.checks < self.cap else None
            if choice is None:
                return s
            check = s.checks[choice]
            self.minutes += s.minutes(choice)
            self.gained = access.after(self.network.base, check.check.access, self.gained)
            self.checks += 1
            self.done.add(check.id)
            self._add(tuple(reading(self.network, self.drawn, n) for n in check.nodes))

    def _add(self, results):
        self.looks[-1] = replace(self.looks[-1], results=(*self.looks[-1].results, *results))

    def _situation(self):
        """Return where things stand; the newest results go where what an earlier one masks contradicts them."""
        while True:
            checks = [c for c in available(self.network, done_nodes(self.looks[-1].results), ()) if c.id not in self.done]
            s = Situation(self.network, prepare(self.network, self.looks), self.groups, checks, self.gained, self.rng)
            try:
                s.shares  # noqa: B018 - worked out here, so that a contradiction shows
            except Contradiction:
                self.looks[-1] = replace(self.looks[-1], results=self.looks[-1].results[:-1])
                continue
            return s

    def top_is_right(self, s):
        keys = list(self.groups)
        top = max(range(len(keys)), key=lambda i: (s.shares[i], keys[i]))
        return any(_ends(self.network, self.groups[keys[top]], f) for f in self.drawn.faults)

    def _order(self, s):
        """Return remedies not yet tried by share per minute, up to the moment help is the cheaper."""
        settings, keys = self.network.base.settings, list(self.groups)
        cost = {k: settings.retest_minutes + self._cost(k) for k in keys}
        share = dict(zip(keys, s.shares, strict=False))
        order = sorted((k for k in keys if k not in self.tried), key=lambda k: (-share[k] / cost[k], k))
        return order[: _help_at([share[k] for k in order], [cost[k] for k in order], settings.expert_minutes)]

    def _cost(self, key):
        remedy = self.groups[key].remedy
        return remedy.minutes.value + access.minutes_to_reach(self.network.base, remedy.access, self.gained)

    def _do(self, key):
        """Do a remedy; return whether the complaint is gone."""
        group = self.groups[key]
        self.repairs += self.network.base.settings.retest_minutes + self._cost(key)
        self.gained = access.after(self.network.base, group.remedy.access, self.gained)
        self.tried.add(key)
        ended = [f for f in self.drawn.faults if _ends(self.network, group, f)]
        self.needless += group.remedy.parts and not ended
        self.drawn = self.drawn.without(ended)
        return not self.drawn.faults

    def try_remedy(self, s):
        """Do the first remedy, or call for help; return whether there is still something to find."""
        order = self._order(s)
        if not order:
            self.repairs += self.network.base.settings.expert_minutes
            return False
        if self._do(order[0]):
            return False
        again = tuple(reading(self.network, self.drawn, n) for n in self.drawn.complaint)
        name, _, place = order[0].partition("@")
        self.looks.append(LookResults(again, tuple(r for r in again if r.abnormal), (Repair(name, place),)))
        return True

    def run_down(self, s):
        """Do the remedies left in order, then call for help."""
        if not any(self._do(key) for key in self._order(s)):
            self.repairs += self.network.base.settings.expert_minutes


def _ends(network, group, fault):
    located = network.causes[fault]
    return group.remedy.id in located.cause.remedies and inside(network.layout, located.place, group.place)


def _help_at(shares, costs, expert):
    """Return after how many remedies help is called, where the expected minutes are least."""
    left, spent = 1.0, 0.0
    best, at = expert, 0
    for number, (share, cost) in enumerate(zip(shares, costs, strict=True), 1):
        spent += left * cost
        left = max(0.0, left - share)
        if spent + left * expert < best:
            best, at = spent + left * expert, number
    return at


def compare(network, faults: int, cases: int, cap: int, names=tuple(POLICIES), seed: int = 1):
    """Return policy name -> list of runs, every policy on the same troubles."""
    runs: dict[str, list[Run]] = {name: [] for name in names}
    for case in followed(f"troubles on {network.layout.id}", range(cases), cases):
        drawn = draw(network, Random(seed * 100_003 + case), faults)
        for name in names:
            runs[name].append(run(network, drawn, POLICIES[name], Random(case), cap))
    return runs


def summary(runs: list[Run]):
    """Return mean and 95 % interval of every figure of one policy."""
    return {
        "minutes": interval([r.minutes for r in runs]),
        "checks": interval([r.checks for r in runs]),
        "accuracy": interval([float(r.right) for r in runs]),
        "unnecessary_changes": interval([r.needless for r in runs]),
        "total": interval([r.total for r in runs]),
    }


def interval(values):
    """Return the mean with the half width of its 95 % interval (normal)."""
    half = 1.96 * stdev(values) / sqrt(len(values)) if len(values) > 1 else 0.0
    return {"mean": round(fmean(values), 3), "half_width_95": round(half, 3)}
