"""The program's decision against the cheapest plan there is, found by dynamic programming on small problems."""

from __future__ import annotations

from itertools import product
from math import log2
from random import Random
from statistics import fmean

import numpy as np
import pytest

from diagnose.plan.lookahead import steps
from diagnose.plan.repair_cost import Option, Prices, bits, repair_cost
from tests.bench.small import (
    Problem,
    expected,
    first_repair,
    no_check_cost,
    one_step_information,
    optimum,
    product_rule,
    random_problem,
    ratios,
)

pytestmark = pytest.mark.slow

DEAR = 1000.0  # a remedy so dear that only a sure diagnosis pays


def sequencing(chances, rows, nobody=1e-12):
    """Return a pure test-sequencing problem: faultless unit-cost tests; the optimum is DEAR plus the tests."""
    positive = np.array([[float(r[t]) for r in rows] + [0.0] for t in range(len(rows[0]))])
    chance = np.array([*chances, nobody])
    return Problem(chance / chance.sum(), positive, (1.0,) * len(positive), np.full(len(chances), DEAR), 1e6, (-1,) * len(positive))


SIX = sequencing((0.70, 0.01, 0.02, 0.10, 0.05, 0.12), ("00000", "01001", "00110", "10011", "11000", "11110"))


def test_six_state_sequencing():
    """Optimum 2.18 tests, one-step information 2.86 (Pattipati & Alexandridis 1990; matrix from memory, answer recomputed)."""
    assert optimum(SIX) - DEAR == pytest.approx(2.18, abs=1e-4)
    assert expected(SIX, one_step_information) - DEAR == pytest.approx(2.86, abs=1e-4)
    assert expected(SIX, product_rule) - DEAR == pytest.approx(2.18, abs=1e-4)


def test_one_step_information_takes_the_worse_test_first():
    """t1 gains .8415 bit and is the greedy choice; the program takes t2 (Pattipati & Alexandridis 1990, recomputed)."""
    options = [option(SIX, t) for t in range(5)]
    start = bits(SIX.chance[:, None])
    gains = [start - bits(o.table) for o in options]
    assert gains[0] == pytest.approx(0.8415, abs=1e-4)
    assert max(gains) == gains[0]
    assert steps(SIX.chance, options, SIX.prices)[0].index == 1


def option(problem, t):
    """Return a test of a problem with nothing done yet."""
    positive = problem.positive[t]
    table = np.stack([problem.chance * positive, problem.chance * (1 - positive)], axis=1)
    return Option(problem.minutes[t], table, problem.prices, lambda j: problem.minutes[j])


def every_question(chances):
    """Return a problem with a yes/no test for every subset of the states."""
    n = len(chances)
    subsets = [s for s in product("01", repeat=n) if s[0] == "0" and "1" in s]
    return sequencing(chances, ["".join(s[i] for s in subsets) for i in range(n)])


def test_no_strategy_beats_huffman():
    """.25 .25 .2 .15 .15: 2.3 yes/no tests on average, entropy 2.2855 (Cover & Thomas, exercise 5.6.1; from memory)."""
    chances = (0.25, 0.25, 0.2, 0.15, 0.15)
    assert -sum(p * log2(p) for p in chances) == pytest.approx(2.2855, abs=1e-4)
    problem = every_question(chances)
    assert optimum_of_tests(problem) == pytest.approx(2.3, abs=1e-9)
    assert 2.3 - 1e-6 < expected(problem, product_rule) - DEAR < 2.3 * 1.05


@pytest.mark.parametrize(("count", "mean"), [(4, 2.0), (5, 2.4)])
def test_equal_plugs_need_log_many_tests(count, mean):
    """Equal chances: 4 need 2.0, 5 need 2.4 yes/no tests (closed form of the Huffman mean, recomputed)."""
    assert optimum_of_tests(every_question((1 / count,) * count)) == pytest.approx(mean, abs=1e-9)
    assert expected(every_question((1 / count,) * count), product_rule) - DEAR == pytest.approx(mean, abs=1e-3)


def optimum_of_tests(problem):
    """Return the least mean number of tests that name the state, by recursion over sets of states."""
    known = {}

    def least(states):
        if len(states) < 2:
            return 0.0
        if states not in known:
            weight = sum(problem.chance[s] for s in states)
            splits = {frozenset(s for s in states if positive[s]) for positive in problem.positive}
            known[states] = weight + min(least(a) + least(states - a) for a in splits if 0 < len(a) < len(states))
        return known[states]

    return least(frozenset(range(len(problem.remedies))))


def test_which_measurement_first():
    """Two multipliers and two adders read 10 and 12: X gains .9999 bit, Y .0808, Z .0454 (de Kleer & Williams 1987; recomputed)."""
    single, double = 0.495, 0.005
    # Columns: what the measurement reads; rows: [A1], [M1], [A2, M2], [M2, M3], then nothing else.
    x = [[single, 0], [0, single], [double, 0], [double, 0], [0, 0]]
    y = [[single, 0], [single, 0], [0, double], [0, double], [0, 0]]
    z = [[single, 0], [single, 0], [double, 0], [0, double], [0, 0]]
    start = bits(np.array([[single], [single], [double], [double], [0.0]]))
    assert start == pytest.approx(1.0808, abs=1e-4)
    gains = [start - bits(np.array(table)) for table in (x, y, z)]
    assert gains == pytest.approx([0.9999, 0.0808, 0.0454], abs=1e-4)


@pytest.mark.parametrize("p", [0.1, 0.2, 0.3, 0.5, 0.9])
def test_which_of_two_causes_to_try_first(p):
    """Look at 1 first just when (1-p) C1 <= p C2; the repairs cancel (Ross, A First Course in Probability, ch. 4; from memory)."""
    looks, repairs = (10.0, 40.0), (100.0, 50.0)
    prices = Prices(np.array(looks), 1e6)
    column = np.array([p, 1 - p, 0.0])
    first = first_repair(column, prices)
    costs = {
        0: looks[0] + p * repairs[0] + (1 - p) * (looks[1] + repairs[1]),
        1: looks[1] + (1 - p) * repairs[1] + p * (looks[0] + repairs[0]),
    }
    assert first == min(costs, key=costs.__getitem__)
    assert (first == 0) == ((1 - p) * looks[0] <= p * looks[1])
    sure = p * repairs[0] + (1 - p) * repairs[1]
    assert float(repair_cost(column[:, None], prices)[0]) + sure == pytest.approx(min(costs.values()))
    if p == 0.3:
        assert costs == pytest.approx({0: 103.0, 1: 108.0})


def test_order_of_remedies_is_the_case_without_checks():
    """Five exclusive faults, no check: 66.30 by dynamic programming and by chance over cost (Kadane & Simon 1977; recomputed)."""
    chance = np.array([0.40, 0.25, 0.15, 0.12, 0.08, 0.0])
    remedies = np.array([60.0, 10.0, 5.0, 90.0, 30.0])
    problem = Problem(chance, np.zeros((0, 6)), (), remedies, 1e6, ())
    assert optimum(problem) == pytest.approx(66.30)
    assert no_check_cost(problem) == pytest.approx(66.30)
    assert expected(problem, product_rule) == pytest.approx(66.30)


def test_near_the_optimum_on_hundreds_of_problems():
    """Within 1 % of the cheapest plan on average and 5 % at worst, and better than every baseline on average."""
    shapes = [(3, 3)] * 80 + [(4, 4)] * 120 + [(5, 5)] * 24 + [(6, 6)] * 3
    found = ratios([random_problem(Random(i), f, t) for i, (f, t) in enumerate(shapes)])
    assert all(r > 1 - 1e-9 for rows in found.values() for r in rows), "nothing beats the optimum"
    assert fmean(found["ours"]) < 1.01
    assert max(found["ours"]) < 1.05
    means = {name: fmean(rows) for name, rows in found.items()}
    assert min(means, key=means.__getitem__) == "ours"
    assert means["repair_only"] > 1.05, "the problems are worth checking"


def test_set_up_is_looked_ahead():
    """Two tests share a dear set-up; neither pays alone with it, both together do: the program opens up."""
    chance = np.array([0.3, 0.3, 0.3, 0.1, 1e-9])
    problem = Problem(
        chance / chance.sum(), np.array([[1.0, 1, 0, 0, 0], [1.0, 0, 1, 0, 0]]), (1.0, 1.0), np.full(4, 60.0), 400.0, (0, 0), (55.0,)
    )
    alone = [option_of(problem, t) for t in (0, 1)]
    base = no_check_cost(problem)
    assert all(base - float(repair_cost(o.table, problem.prices).sum()) < o.minutes for o in alone)
    assert expected(problem, product_rule) == pytest.approx(optimum(problem))
    assert expected(problem, product_rule) < base


def option_of(problem, t):
    """Return a test with its set-up still to be paid, and the other one after it without."""
    positive = problem.positive[t]
    table = np.stack([problem.chance * positive, problem.chance * (1 - positive)], axis=1)
    return Option(problem.cost(t, frozenset()), table, problem.prices, lambda j: problem.minutes[j])
