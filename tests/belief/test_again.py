"""Looks that tell the same are counted: the same numbers as with a bit for each, and as the reference."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from diagnose.belief import again, exact, reference
from diagnose.belief.model import Clause, Evidence, Look, newest_complaints
from diagnose.belief.setting import Row
from tests.belief import networks
from tests.belief.test_engines import agree


@cache
def repeats(seed, most=4):
    """Return a rich network, and evidence in which one or two results come back look after look, with repairs between."""
    rng = Random(seed)
    plain: list[str] = []
    while not plain:
        model = networks.network(rng, 2, 2, rich=True)
        plain = [f for f in sorted(model.leaks) if f not in model.pairs]
    count = rng.randint(3, most)
    told = rng.sample(plain, min(len(plain), 1 if count > 3 else rng.randint(1, 2)))
    clauses = tuple(Clause(((f, 1),), number == 0) for number, f in enumerate(told))
    bounds = {f: rng.choice((1, 2)) for f in told if rng.random() < 0.3}
    looks = [Look(bounds, clauses, *_befallen(rng, model, t)) for t in range(count)]
    if rng.random() < 0.5:
        looks.insert(rng.choice((0, count)), Look({rng.choice(sorted(model.leaks)): 0}))
    looks.append(Look({}, clauses[:1], *_befallen(rng, model, count)))
    return model, Evidence(tuple(looks), {}, 0.9, 0.02, newest_complaints(looks))


def _befallen(rng, model, t):
    """Return causes removed and quieted before a look."""
    ids = [c.id for c in model.causes]
    removed = frozenset(rng.sample(ids, 1)) if t and rng.random() < 0.4 else frozenset()
    quieted = frozenset(rng.sample(ids, 1)) - removed if rng.random() < 0.3 else frozenset()
    return removed, quieted


CASES = [seed for seed in range(120) if again.repeated_looks(*repeats(seed))]


def test_most_cases_can_be_counted():
    """A cause removed and quieted here and there still leaves the looks countable."""
    assert len(CASES) >= 60


@pytest.mark.parametrize("seed", CASES[:40])
def test_counting_equals_the_reference(seed, monkeypatch):
    """Forty networks; nothing is left to the tables by bits."""
    model, evidence = repeats(seed)
    monkeypatch.setattr(exact, "_by_bits", None)
    agree(exact.believe(model, evidence), reference.believe(model, evidence), 1e-9)


@pytest.mark.parametrize("seed", CASES[:40])
def test_questions_are_counted_too(seed, monkeypatch):
    """Bounds and muted causes: the same with a bit for each look."""
    model, evidence = repeats(seed)
    rng = Random(seed)
    findings, causes = sorted(set(model.leaks) - set(model.pairs)), [c.id for c in model.causes]
    rows = [Row(), Row({rng.choice(findings): 0}), Row(muted=frozenset(causes[:1])), Row(muted=frozenset(causes))]
    counted = exact.ask(model, evidence, rows)
    monkeypatch.setattr(exact, "repeated_looks", lambda *_: ())
    by_bits = exact.ask(model, evidence, rows)
    whole = by_bits.likelihood[0]
    assert counted.likelihood / whole == pytest.approx(by_bits.likelihood / whole, abs=1e-10)
    assert counted.nobody / whole == pytest.approx(by_bits.nobody / whole, abs=1e-10)
    for cause in causes:
        assert counted.present[cause] / whole == pytest.approx(by_bits.present[cause] / whole, abs=1e-10)
        assert counted.responsible[cause] / whole == pytest.approx(by_bits.responsible[cause] / whole, abs=1e-10)


def test_where_counting_would_lose_digits_bits_are_taken(monkeypatch):
    """A bound on the error that nothing can keep: the answer is the same, and exact."""
    model, evidence = repeats(CASES[0])
    monkeypatch.setattr(again, "ERROR", 0.0)
    with pytest.raises(ArithmeticError, match="digits"):
        again.Counting(model, evidence, [], again.repeated_looks(model, evidence)).answer(False)
    agree(exact.believe(model, evidence), reference.believe(model, evidence), 1e-9)


def test_a_fault_quieted_twice_and_removed_is_not_counted_wrongly():
    """Where the parts of one cause would need too much remembered, no look is counted."""
    model, evidence = repeats(CASES[0])
    cause = model.causes[0].id
    clauses = evidence.looks[-1].clauses
    on_and_off = [Look({}, clauses, quieted=frozenset({cause}) if t % 2 else frozenset()) for t in range(9)]
    assert again.repeated_looks(model, replace(evidence, looks=tuple(on_and_off), blamed=frozenset({(8, 0)}))) == ()
