"""Policies run on the same drawn troubles: minutes, checks, accuracy, needless part changes, total to a fixed engine."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from random import Random
from statistics import fmean, stdev

from diagnose import access
from diagnose.belief.model import Contradiction
from diagnose.chase import done_nodes
from diagnose.evidence import LookResults, prepare
from diagnose.groups import repair_groups
from diagnose.places import inside
from diagnose.plan import available
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


def run(network, drawn: Drawn, policy, rng: Random, cap: int) -> Run:
    """Return a run: checks until the policy stops, then remedies by share per minute, help where it is cheaper."""
    told = tuple(reading(network, drawn, n) for n in drawn.complaint)
    look, gained, minutes, count = LookResults(told, told), frozenset(), 0.0, 0
    groups = repair_groups(network)
    done: set[str] = set()
    while True:
        s, look = _known(network, groups, look, gained, rng, done)
        choice = policy(s) if s.checks and count < cap else None
        if choice is None:
            break
        check = s.checks[choice]
        minutes += s.minutes(choice)
        gained = access.after(network.base, check.check.access, gained)
        count += 1
        done.add(check.id)
        look = replace(look, results=(*look.results, *(reading(network, drawn, n) for n in check.nodes)))
    right, needless, repairs = _repair(network, groups, drawn, s)
    return Run(minutes, count, right, needless, minutes + repairs)


def _known(network, groups, look, gained, rng, done):
    """Return the situation and the look; the newest results go where what an earlier one masks contradicts them."""
    while True:
        checks = [c for c in available(network, done_nodes(look.results), ()) if c.id not in done]
        s = Situation(network, prepare(network, [look]), groups, checks, gained, rng)
        try:
            s.shares  # noqa: B018 - worked out here, so that a contradiction shows
        except Contradiction:
            look = replace(look, results=look.results[:-1])
            continue
        return s, look


def _repair(network, groups, drawn, s):
    """Return (the first remedy ends a fault, parts changed for nothing, minutes of all remedies)."""
    settings = network.base.settings
    keys = list(groups)
    cost = {k: groups[k].remedy.minutes.value + settings.retest_minutes for k in keys}
    reach = {k: access.minutes_to_reach(network.base, groups[k].remedy.access, s.gained) for k in keys}
    share = dict(zip(keys, s.shares, strict=False))
    order = sorted(keys, key=lambda k: (-share[k] / (cost[k] + reach[k]), k))
    order = order[: _help_at([share[k] for k in order], [cost[k] + reach[k] for k in order], settings.expert_minutes)]
    left, minutes, needless, gained = set(drawn.faults), 0.0, 0, s.gained
    for key in order:
        group = groups[key]
        minutes += cost[key] + access.minutes_to_reach(network.base, group.remedy.access, gained)
        gained = access.after(network.base, group.remedy.access, gained)
        ended = {f for f in left if _ends(network, group, f)}
        needless += group.remedy.parts and not ended
        left -= ended
        if not left:
            break
    top = max(keys, key=lambda k: (share[k], k))
    right = any(_ends(network, groups[top], f) for f in drawn.faults)
    return right, needless, minutes + (settings.expert_minutes if left else 0.0)


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
    for case in range(cases):
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
