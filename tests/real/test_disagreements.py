"""What the bets and the program disagree on, on pairs made up by hand."""

from __future__ import annotations

import pytest

from tests.real.disagreements import Pair, cells, factors, weighted


def test_a_family_twice_too_heavy_is_proposed_lighter_and_the_others_heavier():
    pairs = [Pair(("rough.runup=yes",), {"a": 0.6, "b": 0.3}, {"a": 0.3, "b": 0.6}) for _ in range(50)]
    found = factors(pairs)
    assert found["a"] < 0.8 < 1.1 < found["b"]
    assert weighted(pairs[0], found)["a"] == pytest.approx(0.3, abs=0.05)


def test_who_agrees_is_left_alone():
    pairs = [Pair(("x=yes",), {"a": 0.6, "b": 0.3}, {"a": 0.6, "b": 0.3}) for _ in range(20)]
    assert factors(pairs) == pytest.approx({"a": 1.0, "b": 1.0}, rel=1e-6)


def test_what_the_totals_hide_shows_by_what_was_told():
    """Right in sum, turned round in each half: no factor, and the four cells."""
    half = [Pair(("hot=yes",), {"a": 0.6, "b": 0.3}, {"a": 0.3, "b": 0.6}), Pair(("cold=yes",), {"a": 0.3, "b": 0.6}, {"a": 0.6, "b": 0.3})]
    found = factors(half * 10)
    assert found == pytest.approx({"a": 1.0, "b": 1.0}, rel=1e-6)
    told = {(c.told, c.family): (c.count, round(c.bet, 6), round(c.share, 6)) for c in cells(half * 10, found, 4)}
    assert told["hot=yes", "a"] == (10, 3.0, 6.0)
    assert told["cold=yes", "a"] == (10, 6.0, 3.0)
    assert cells(half, found, 4) == []
