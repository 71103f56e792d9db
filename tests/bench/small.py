"""Small troubleshooting problems whose cheapest plan is found by dynamic programming, and what a rule costs on them.

One fault is there, or none of those named. Tests are yes/no and independent once the fault is known; a remedy ends its
fault, every try is followed by a look; access is paid for once; help ends the trouble whatever it is. Checks and
remedies may be taken in any order (Breese & Heckerman 1996).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

import numpy as np

from diagnose.plan.lookahead import steps
from diagnose.plan.repair_cost import Option, Prices, bits, costs_after, repair_cost


@dataclass(frozen=True)
class Problem:
    """`chance[f]`, the last for "none of these"; `positive[t][f]` = P(test t positive | f); `access[t]` = set-up or -1."""

    chance: np.ndarray
    positive: np.ndarray
    minutes: tuple[float, ...]
    remedies: np.ndarray
    expert: float
    access: tuple[int, ...]
    setup: tuple[float, ...] = ()
    prices: Prices = field(init=False)

    def __post_init__(self):
        object.__setattr__(self, "prices", Prices(self.remedies, self.expert))

    def cost(self, test: int, gained: frozenset[int]) -> float:
        """Return the marginal minutes of a test."""
        cluster = self.access[test]
        return self.minutes[test] + (self.setup[cluster] if cluster >= 0 and cluster not in gained else 0.0)

    def after(self, test: int, gained: frozenset[int]) -> frozenset[int]:
        """Return the set-ups there are once a test is under way."""
        return gained | ({self.access[test]} if self.access[test] >= 0 else set())


def random_problem(rng: Random, faults: int, tests: int) -> Problem:
    """Return a problem with uneven chances, test costs, set-ups and remedies; a third of them with faultless tests."""
    raw = np.array([rng.random() ** 2 + 0.02 for _ in range(faults + 1)])
    raw[-1] *= 0.3
    noisy = rng.random() < 2 / 3
    row = lambda: [(rng.uniform(0.6, 0.97) if rng.random() < 0.4 else rng.uniform(0.01, 0.06)) for _ in range(faults)]
    plain = lambda: [float(rng.random() < 0.45) for _ in range(faults)]
    positive = np.array([(row() if noisy else plain()) + [0.02 if noisy else 0.0] for _ in range(tests)])
    return Problem(
        raw / raw.sum(),
        positive,
        tuple(rng.uniform(2, 40) for _ in range(tests)),
        np.array([rng.uniform(15, 120) for _ in range(faults)]),
        rng.uniform(150, 480),
        tuple(rng.choice((-1, 0, 1)) for _ in range(tests)),
        tuple(rng.uniform(5, 25) for _ in range(2)),
    )


def optimum(problem: Problem) -> float:
    """Return the least expected minutes of any plan, by dynamic programming over all there is to know."""
    known: dict[tuple, float] = {}

    def least(done: int, seen: int, gone: int, gained: frozenset[int]) -> float:
        key = (done, seen, gone, gained)
        if key not in known:
            known[key] = _least(problem, least, key)
        return known[key]

    return least(0, 0, 0, frozenset())


def _least(problem, least, state):
    done, seen, gone, gained = state
    weight = problem.chance.copy()
    for t, positive in enumerate(problem.positive):
        if done >> t & 1:
            weight *= positive if seen >> t & 1 else 1 - positive
    for f in range(len(problem.remedies)):
        if gone >> f & 1:
            weight[f] = 0.0
    whole = weight.sum()
    best = problem.expert * whole
    if whole <= 1e-15:
        return 0.0
    for f, minutes in enumerate(problem.remedies):
        if weight[f] > 0 and minutes * whole < best:
            best = min(best, minutes * whole + least(done, seen, gone | 1 << f, gained))
    for t in range(len(problem.minutes)):
        if not done >> t & 1 and problem.cost(t, gained) * whole < best:
            then = problem.after(t, gained)
            outcomes = (least(done | 1 << t, seen, gone, then), least(done | 1 << t, seen | 1 << t, gone, then))
            best = min(best, problem.cost(t, gained) * whole + sum(outcomes))
    return best


Rule = Callable[[np.ndarray, list[Option], Prices], tuple[str, int]]


def expected(problem: Problem, rule: Rule) -> float:
    """Return the expected minutes of following a rule, over everything that can come out."""
    return _follow(problem, rule, problem.chance, frozenset(), frozenset())


def _follow(problem, rule, weight, done, gained):
    whole = weight.sum()
    if whole <= 1e-13:
        return 0.0
    left = [t for t in range(len(problem.minutes)) if t not in done]
    now = weight / whole
    kind, index = rule(now, [_option(problem, now, t, left, gained) for t in left], problem.prices)
    if kind == "help":
        return problem.expert * whole
    if kind == "repair":
        after = weight.copy()
        after[index] = 0.0
        return problem.remedies[index] * whole + _follow(problem, rule, after, done, gained)
    t = left[index]
    parts = (weight * problem.positive[t], weight * (1 - problem.positive[t]))
    then = problem.after(t, gained)
    return problem.cost(t, gained) * whole + sum(_follow(problem, rule, p, done | {t}, then) for p in parts)


def _option(problem, now, test, left, gained):
    positive = problem.positive[test]
    then = problem.after(test, gained)
    table = np.stack([now * positive, now * (1 - positive)], axis=1)
    return Option(problem.cost(test, gained), table, problem.prices, lambda j: problem.cost(left[j], then))


def product_rule(now, options, prices):
    """The program's own decision."""
    first = steps(now, options, prices)[0]
    return first.kind, first.index


def first_repair(column, prices):
    """Return the group whose remedy comes first in the cheapest order, or -1 where help is the cheaper."""
    table = column[:, None]
    if float(repair_cost(table, prices)[0]) >= prices.expert * float(column.sum()) * (1 - 1e-12):
        return -1
    return int((column[:-1] / prices.remedies).argmax())


def repair_only(now, options, prices):
    """No check at all."""
    group = first_repair(now, prices)
    return ("help", -1) if group < 0 else ("repair", group)


def one_step_information(now, options, prices):
    """Bits per minute among the checks that pay alone: no look-ahead."""
    base = float(repair_cost(now[:, None], prices)[0])
    left = costs_after(options)
    paying = [i for i, o in enumerate(options) if base - left[i] > o.minutes]
    if not paying:
        return repair_only(now, options, prices)
    start = bits(now[:, None])
    return "check", max(paying, key=lambda i: ((start - bits(options[i].table)) / options[i].minutes, -i))


def information_until_settled(now, options, prices):
    """Bits per minute until one fault stands at 0.9, then repair: the usual stop rule."""
    start = bits(now[:, None])
    gains = [(start - bits(o.table)) / o.minutes for o in options]
    if now[:-1].max() >= 0.9 or not options or max(gains) < 1e-9:
        return repair_only(now, options, prices)
    return "check", max(range(len(options)), key=lambda i: (gains[i], -i))


def cheapest_until_settled(now, options, prices):
    """Cheapest check first, until one fault stands at 0.9."""
    if now[:-1].max() >= 0.9 or not options:
        return repair_only(now, options, prices)
    return "check", min(range(len(options)), key=lambda i: options[i].minutes)


RULES: dict[str, Rule] = {
    "ours": product_rule,
    "one_step_information": one_step_information,
    "information_until_settled": information_until_settled,
    "cheapest_until_settled": cheapest_until_settled,
    "repair_only": repair_only,
}


def ratios(problems: list[Problem], rules=tuple(RULES)):
    """Return rule -> expected minutes over the optimum, problem by problem."""
    best = [optimum(p) for p in problems]
    return {name: [expected(p, RULES[name]) / b for p, b in zip(problems, best, strict=True)] for name in rules}


def no_check_cost(problem: Problem) -> float:
    """Return the expected minutes of remedies in order, and help."""
    return float(repair_cost(problem.chance[:, None], problem.prices)[0])
