"""Figures of a 0/1 matrix: a worked example, and the same figures by brute force from their definitions."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.audit.dmatrix import alike, figures, restricted

# The six-state, five-test example used in test sequencing (Pattipati & Alexandridis 1990, IEEE Trans. SMC 20:872-887).
# The matrix is from memory; the optimum of 2.18 tests below is the published answer and speaks for it.
NO_FAULT = 0.70
WEIGHTS = {"s1": 0.01, "s2": 0.02, "s3": 0.10, "s4": 0.05, "s5": 0.12}
CELLS = {"s1": "01001", "s2": "00110", "s3": "10011", "s4": "11000", "s5": "11110"}
ROWS = {fault: frozenset(f"t{i}" for i, bit in enumerate(bits, 1) if bit == "1") for fault, bits in CELLS.items()}


# Figures by hand from the definitions: detected 28/30, 20/30, 25/30, 27/30, 30/30 of the weight, and so on.
@pytest.mark.parametrize(
    ("tests", "detected", "groups", "isolated", "size"),
    [
        ("t1 t2", 28 / 30, [("s1",), ("s3",), ("s4", "s5")], (11 / 28, 1, 1), 45 / 28),
        ("t2 t3", 20 / 30, [("s1", "s4"), ("s2",), ("s5",)], (14 / 20, 1, 1), 26 / 20),
        ("t4 t5", 25 / 30, [("s1",), ("s2", "s5"), ("s3",)], (11 / 25, 1, 1), 39 / 25),
        ("t1", 27 / 30, [("s3", "s4", "s5")], (0, 0, 1), 3),
        ("t1 t2 t3 t4 t5", 1, [("s1",), ("s2",), ("s3",), ("s4",), ("s5",)], (1, 1, 1), 1),
    ],
)
def test_six_state_example(tests, detected, groups, isolated, size):
    """FFD, ambiguity groups, FFI(1..3) and mean size with some of the five tests allowed."""
    rows = restricted(ROWS, tests.split())
    got = figures(rows, WEIGHTS)
    if tests == "t2 t3":  # the text form of these figures, four decimals: .6667 .7000 1.0000 1.3000
        assert [round(x, 4) for x in (got.detectable, *got.isolatable[:2], got.mean_size)] == [0.6667, 0.7, 1.0, 1.3]
    assert alike(rows) == groups
    assert got.groups == len(groups)
    assert got.detectable == pytest.approx(detected)
    assert got.isolatable == pytest.approx(isolated)
    assert got.mean_size == pytest.approx(size)


def fewest(states, tests):
    """Return the least expected number of tests (unnormalised) that separates the states, by trying everything."""
    if len(states) <= 1:
        return 0.0
    whole = sum(p for p, _ in states)
    best = float("inf")
    for test in tests:
        fail = [s for s in states if test in s[1]]
        if fail and len(fail) < len(states):
            rest = [s for s in states if test not in s[1]]
            best = min(best, whole + fewest(fail, tests) + fewest(rest, tests))
    return best


def test_the_matrix_of_the_example_has_the_published_optimum():
    """2.18 tests on average (Pattipati & Alexandridis 1990): a matrix remembered wrong would hardly hit it."""
    states = [(NO_FAULT, frozenset()), *((WEIGHTS[f], ROWS[f]) for f in ROWS)]
    assert fewest(states, ["t1", "t2", "t3", "t4", "t5"]) == pytest.approx(2.18)


matrices = st.integers(1, 7).flatmap(
    lambda n: st.tuples(
        st.lists(st.frozensets(st.integers(0, 3)), min_size=n, max_size=n),
        st.lists(st.floats(0.01, 1), min_size=n, max_size=n),
        st.lists(st.sampled_from("abc"), min_size=n, max_size=n),
    )
)


@given(matrices)
@settings(max_examples=150, deadline=None)
def test_figures_are_those_of_the_definitions(drawn):
    """Pair by pair: a fault's group is every detected fault no test tells from it, its size the items among them."""
    seen, weight, part = drawn
    names = [f"f{i}" for i in range(len(seen))]
    rows, weights, item = dict(zip(names, seen, strict=True)), dict(zip(names, weight, strict=True)), dict(zip(names, part, strict=True))
    got = figures(rows, weights, item)
    apart = {frozenset(p) for p in combinations(names, 2) for t in range(4) if (t in rows[p[0]]) != (t in rows[p[1]])}
    detected = [f for f in names if any(t in rows[f] for t in range(4))]
    size = {f: len({item[g] for g in detected if g == f or frozenset((f, g)) not in apart}) for f in detected}
    whole = sum(weights[f] for f in detected)
    assert got.detectable == pytest.approx(whole / sum(weight))
    for k in (1, 2, 3):
        share = sum(weights[f] for f in detected if size[f] <= k) / whole if detected else 0
        assert got.isolatable[k - 1] == pytest.approx(share)
    assert got.mean_size == pytest.approx(sum(weights[f] * size[f] for f in detected) / whole if detected else 0)
