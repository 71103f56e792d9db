"""Random networks and evidence for comparing engines; seeded, so a failure can be met again.

`network` and `evidence` draw plain ones; with `rich` they have pairs of hidden findings, reach, what shows somehow, and
parts exchanged as well.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

from diagnose.belief import reference
from diagnose.belief.model import CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model, Somehow, newest_complaints


def part(count: int, whole: int) -> Any:
    """Return a fraction, to stand where engines take floats as well."""
    return Fraction(count, whole)


def _levels(rng: Random, count: int, most: float):
    raw = [rng.randint(1, 9) for _ in range(count - 1)]
    share = Fraction(rng.randint(2, int(most * 100)), 100)
    high = [share * Fraction(r, sum(raw)) for r in raw]
    return (1 - sum(high), *high)


def network(rng: Random, causes: int, findings: int, exact: bool = False, rich: bool = False) -> Model:
    """Return a random model with 2 or 3 levels a finding; `exact` keeps Fractions."""
    names = [f"f{k}" for k in range(findings)]
    sizes = {name: rng.choice((2, 2, 3)) for name in names}

    def effect() -> Effect:
        linked = rng.sample(names, min(findings, rng.randint(1, 2)))
        return Effect(part(rng.randint(5, 95), 100), tuple(Link(f, _levels(rng, sizes[f], 0.9)) for f in linked))

    nodes = tuple(
        CauseNode(f"c{i}", part(rng.randint(1, 30), 100), tuple(effect() for _ in range(rng.randint(1, 2)))) for i in range(causes)
    )
    model = Model(nodes, {f: _levels(rng, sizes[f], 0.1) for f in names})
    model = _enriched(rng, model) if rich else model
    return model if exact else as_floats(model)


def _enriched(rng: Random, model: Model) -> Model:
    """Return the model with pairs, sure and hidden links, reach and what shows somehow."""
    hidden = [f"h{k}" for k in range(rng.randint(2, 3))]
    paired = rng.sample(sorted(model.leaks), min(len(model.leaks), rng.randint(1, 2)))
    pairs = {f: tuple(tuple(rng.sample(hidden, 2)) for _ in range(rng.choice((1, 1, 2)))) for f in paired}
    somehow = [Somehow(_scope(rng, model, most), part(rng.choice((50, rng.randint(5, 95))), 100)) for most in (1.0, 0.5)]
    causes = (_enriched_cause(rng, c, hidden, rng.choice([None, *somehow]), sorted(model.leaks)) for c in model.causes)
    return Model(tuple(causes), model.leaks, pairs)


def _scope(rng: Random, model: Model, most: float):
    return {f: Fraction(rng.randint(1, 50), 100) for f in model.leaks if rng.random() < most}


def _enriched_cause(rng: Random, cause: CauseNode, hidden, somehow, names) -> CauseNode:
    reach = rng.choice([(1,), (1,), tuple(_levels(rng, 2, 0.9)), tuple(_levels(rng, 3, 0.9))])
    effects = [
        Effect(e.strength, _enriched_links(rng, e.links, hidden), rng.randint(0, len(reach)) if len(reach) > 1 else 0)
        for e in cause.effects
    ]
    if rng.random() < 0.25:
        effects.append(Effect(part(rng.randint(5, 95), 100), (Link(rng.choice(hidden), (0, 1)),)))
    never = frozenset(rng.sample(names, rng.choice((0, 0, 1))))
    return CauseNode(cause.id, cause.prior, tuple(effects), reach, somehow, never)


def _enriched_links(rng: Random, links, hidden):
    """Return an effect's links, some of them sure, with others to hidden findings, most of them sure."""
    made = [x._replace(levels=(*(0 for _ in x.levels[1:]), 1)) if rng.random() < 0.15 else x for x in links]
    fed = (h for h in hidden if rng.random() < 0.35)
    return (*made, *(Link(h, _levels(rng, 2, 0.9) if rng.random() < 0.25 else (0, 1)) for h in fed))


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
            clauses.append(Clause(options, complaint, _merged(rng, model)))
    return Look(bounds, tuple(clauses), removed, quieted)


def _merged(rng: Random, model: Model):
    """Return, now and then, a pair of its own for a clause."""
    known = [pair for pairs in model.pairs.values() for pair in pairs]
    return (rng.choice(known),) if known and rng.random() < 0.3 else None


def evidence(rng: Random, model: Model, looks: int = 1, exact: bool = False, rich: bool = False, most: int = 99) -> Evidence:
    """Return random evidence that can occur, over so many looks, with a repair before each later one.

    `most`: how many clauses, and hidden members of pairs told of, there may be.
    """
    while True:
        drawn = _evidence(rng, model, looks, exact, rich)
        if atoms(model, drawn) <= most and all(_possible(one) for one in drawn.looks) and can_occur(model, drawn):
            return drawn


def atoms(model: Model, drawn: Evidence) -> int:
    """Return how many clauses there are, and hidden members of pairs told of."""
    found = sum(len(one.clauses) for one in drawn.looks)
    for one in drawn.looks:
        told = [pair for f, bound in one.bounds.items() if bound == 0 for pair in model.pairs.get(f, ())]
        found += len({m for pair in (*told, *(p for c in one.clauses for p in model.pairs_of(c))) for m in pair})
    return found


def can_occur(model: Model, drawn: Evidence) -> bool:
    """Return whether evidence has any probability under a model."""
    try:
        return reference.believe(model, drawn).likelihood > 0
    except Contradiction:
        return False


def _possible(look: Look) -> bool:
    return all(any(look.bounds.get(f, 9) >= least for f, least in c.options) for c in look.clauses)


def _evidence(rng: Random, model: Model, looks: int, exact: bool, rich: bool) -> Evidence:
    number = (lambda x: x) if exact else float
    ids = [c.id for c in model.causes]
    all_looks = [look(rng, model, complaint=True)]
    for _ in range(1, looks):
        removed = frozenset(rng.sample(ids, min(len(ids), rng.randint(0, 1 if rich else 2))))
        quieted = frozenset(rng.sample(ids, min(len(ids), rng.randint(0, 1)))) - removed
        new = look(rng, model, rng.random() < (0.8 if rich else 0.6), removed, quieted)
        all_looks.append(replace(new, moved=_moved(rng, model)) if rich and rng.random() < 0.4 else new)
    odds = {ids[0]: number(Fraction(rng.randint(1, 40), 10))}
    blamed = newest_complaints(all_looks)
    if rich and rng.random() < 0.5:
        blamed = frozenset(
            (t, k) for t, one in enumerate(all_looks) for k, c in enumerate(one.clauses) if c.complaint and rng.random() < 0.7
        )
    return Evidence(tuple(all_looks), odds, number(Fraction(95, 100)), number(Fraction(2, 100)), blamed)


def _moved(rng: Random, model: Model):
    """Return an exchange: for one or two causes two findings of equal grades, and two hidden ones, change places."""
    hidden = sorted({m for pairs in model.pairs.values() for pair in pairs for m in pair})
    first = rng.choice(sorted(model.leaks))
    alike = [f for f in model.leaks if len(model.leaks[f]) == len(model.leaks[first])]
    second = rng.choice(alike)
    here, there = rng.sample(hidden, 2)
    swap = {first: second, second: first, here: there, there: here}
    return {c.id: swap for c in rng.sample(model.causes, min(len(model.causes), rng.randint(1, 2)))}


def as_floats(model: Model) -> Model:
    """Return a model with floats for its Fractions."""
    return Model(
        tuple(_cause_as_floats(c) for c in model.causes), {f: tuple(map(float, levels)) for f, levels in model.leaks.items()}, model.pairs
    )


def _cause_as_floats(cause: CauseNode) -> CauseNode:
    effects = (
        Effect(float(e.strength), tuple(Link(x.finding, tuple(map(float, x.levels))) for x in e.links), e.step) for e in cause.effects
    )
    somehow = cause.somehow and Somehow({f: float(p) for f, p in cause.somehow.open.items()}, float(cause.somehow.shows))
    return CauseNode(cause.id, float(cause.prior), tuple(effects), tuple(map(float, cause.reach)), somehow, cause.never)


def evidence_as_floats(e: Evidence) -> Evidence:
    """Return the same evidence with floats."""
    odds = {k: float(v) for k, v in e.odds.items()}
    return replace(e, odds=odds, show_again=float(e.show_again), bad_repair=float(e.bad_repair))
