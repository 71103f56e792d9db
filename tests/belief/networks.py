"""Random networks and evidence for comparing engines; seeded, so a failure can be met again."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from diagnose.belief import reference
from diagnose.belief.model import CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model


def _levels(rng: Random, count: int, most: float):
    raw = [rng.randint(1, 9) for _ in range(count - 1)]
    share = Fraction(rng.randint(2, int(most * 100)), 100)
    high = [share * Fraction(r, sum(raw)) for r in raw]
    return (1 - sum(high), *high)


def network(rng: Random, causes: int, findings: int, exact: bool = False) -> Model:
    """Return a random model with 2 or 3 levels a finding; `exact` keeps Fractions."""
    number = (lambda x: x) if exact else float
    names = [f"f{k}" for k in range(findings)]
    sizes = {name: rng.choice((2, 2, 3)) for name in names}

    def effect() -> Effect:
        linked = rng.sample(names, min(findings, rng.randint(1, 2)))
        links = tuple(Link(f, tuple(map(number, _levels(rng, sizes[f], 0.9)))) for f in linked)
        return Effect(number(Fraction(rng.randint(5, 95), 100)), links)

    nodes = tuple(
        CauseNode(f"c{i}", number(Fraction(rng.randint(1, 30), 100)), tuple(effect() for _ in range(rng.randint(1, 2))))
        for i in range(causes)
    )
    return Model(nodes, {f: tuple(map(number, _levels(rng, sizes[f], 0.1))) for f in names})


def look(rng: Random, model: Model, complaint: bool, removed=frozenset(), quieted=frozenset()) -> Look:
    """Return random results: bounds, exact grades, ranges and an either-or clause."""
    bounds, clauses = {}, []
    for name, leak in model.leaks.items():
        kind = rng.random()
        top = len(leak) - 1
        if kind < 0.35:
            bounds[name] = rng.randint(0, top - 1)
        elif kind < 0.75:
            low = rng.randint(1, top)
            bounds[name] = rng.randint(low, top)
            clauses.append(Clause(((name, low),), complaint and rng.random() < 0.6))
    if rng.random() < 0.4 and len(model.leaks) > 1:
        pair = rng.sample(sorted(model.leaks), 2)
        options = tuple((f, 1) for f in pair if bounds.get(f, 1) >= 1)
        if options:
            clauses.append(Clause(options, complaint))
    return Look(bounds, tuple(clauses), removed, quieted)


def evidence(rng: Random, model: Model, looks: int = 1, exact: bool = False) -> Evidence:
    """Return random evidence that can occur, over so many looks, with a repair before each later one."""
    while True:
        drawn = _evidence(rng, model, looks, exact)
        if all(_possible(one) for one in drawn.looks) and _can_occur(model, drawn):
            return drawn


def _can_occur(model: Model, drawn: Evidence) -> bool:
    try:
        return reference.believe(model, drawn).likelihood > 0
    except Contradiction:
        return False


def _possible(look: Look) -> bool:
    return all(any(look.bounds.get(f, 9) >= least for f, least in c.options) for c in look.clauses)


def _evidence(rng: Random, model: Model, looks: int, exact: bool) -> Evidence:
    number = (lambda x: x) if exact else float
    ids = [c.id for c in model.causes]
    all_looks = [look(rng, model, complaint=True)]
    for _ in range(1, looks):
        removed = frozenset(rng.sample(ids, min(len(ids), rng.randint(0, 2))))
        quieted = frozenset(rng.sample(ids, min(len(ids), rng.randint(0, 1)))) - removed
        all_looks.append(look(rng, model, rng.random() < 0.6, removed, quieted))
    odds = {ids[0]: number(Fraction(rng.randint(1, 40), 10))}
    blame = max((t for t, one in enumerate(all_looks) if any(c.complaint for c in one.clauses)), default=0)
    return Evidence(tuple(all_looks), odds, number(Fraction(95, 100)), number(Fraction(2, 100)), blame)
