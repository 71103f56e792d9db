"""Laws of belief on random small networks with pairs, reach, what shows somehow, repairs and exchanges.

    python -m tests.belief.laws --networks 3000

draws that many, holds the reference against the list of worlds in exact fractions and each engine against the
reference, and the laws below against the reference; it prints counts and the worst differences.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache, cached_property
from random import Random
from time import perf_counter

from diagnose.belief import exact, reference
from diagnose.belief.model import Belief, CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model, Somehow
from tests.belief import networks, worlds

MOST_ATOMS = 6  # clauses, and hidden members of pairs told of: past it listing the worlds takes minutes


@dataclass(frozen=True)
class Case:
    """A random network with evidence that can occur, in fractions."""

    seed: int
    model: Model
    evidence: Evidence

    @cached_property
    def belief(self) -> Belief:
        """Return what the reference says."""
        return reference.believe(self.model, self.evidence)

    @property
    def rng(self) -> Random:
        """Return a source of random choices for one law."""
        return Random(self.seed)

    @property
    def floats(self) -> tuple[Model, Evidence]:
        """Return both in floats."""
        return networks.as_floats(self.model), networks.evidence_as_floats(self.evidence)


@cache
def draw(seed: int) -> Case:
    """Return the case of a seed: one to three causes and looks, two or three findings."""
    rng = Random(seed)
    looks = rng.choice((1, 1, 2, 2, 3))
    causes = {1: rng.randint(1, 3), 2: rng.randint(1, 2), 3: 1}[looks]
    model = networks.network(rng, causes, rng.randint(2, 3), exact=True, rich=True)
    return Case(seed, model, networks.evidence(rng, model, looks, exact=True, rich=True, most=MOST_ATOMS))


# --- engines and oracle


def differs_from_worlds(case: Case) -> Fraction:
    """Return the largest difference between the reference and the list of worlds, likelihoods relative: 0."""
    z, present, responsible, nobody = worlds.believe(case.model, case.evidence)
    belief = case.belief
    return _farthest(belief, Belief(z, present, responsible, nobody))


def engine_differs(believe, case: Case) -> float:
    """Return the largest difference between an engine in floats and the reference in fractions."""
    return float(_farthest(believe(*case.floats), case.belief))


def _farthest(one: Belief, other: Belief):
    assert one.present.keys() == other.present.keys()
    assert one.responsible.keys() == other.responsible.keys()
    apart = [abs(one.likelihood - other.likelihood) / other.likelihood, abs(one.unexplained - other.unexplained)]
    apart += [abs(a[c] - b[c]) for a, b in ((one.present, other.present), (one.responsible, other.responsible)) for c in b]
    return max(apart)


# --- laws; each returns nothing, or fails


def order_does_not_matter(case: Case) -> None:
    """Causes, effects, links, pairs and the clauses of a look in any order give the same, exactly."""
    model, rng = case.model, case.rng
    causes = tuple(replace(c, effects=tuple(replace(e, links=_mixed(rng, e.links)) for e in _mixed(rng, c.effects))) for c in model.causes)
    pairs = {f: tuple(_mixed(rng, pair) for pair in _mixed(rng, found)) for f, found in model.pairs.items()}
    other = Model(_mixed(rng, causes), dict(_mixed(rng, tuple(model.leaks.items()))), pairs)
    looks, blamed = [], set()
    for t, look in enumerate(case.evidence.looks):
        order = _mixed(rng, tuple(range(len(look.clauses))))
        looks.append(replace(look, clauses=tuple(look.clauses[k] for k in order)))
        blamed |= {(t, order.index(k)) for when, k in case.evidence.blamed if when == t}
    mixed = replace(case.evidence, looks=tuple(looks), blamed=frozenset(blamed))
    assert _farthest(reference.believe(other, mixed), reference.believe(model, case.evidence)) == 0


def _mixed(rng: Random, items: tuple) -> tuple:
    return tuple(rng.sample(items, len(items)))


def adding_nothing_changes_nothing(case: Case) -> None:
    """What cannot act, is told of nowhere, or tells nothing leaves every number as it is, exactly."""
    before = case.belief
    for model, evidence in _with_nothing_added(case):
        after = reference.believe(model, evidence)
        known = replace(after, present=_only(after.present, before), responsible=_only(after.responsible, before))
        assert _farthest(known, before) == 0


def _only(shares: Mapping[str, float], before: Belief) -> dict[str, float]:
    return {c: p for c, p in shares.items() if c in before.present}


def _with_nothing_added(case: Case):
    """Yield a cause whose effects cannot act, effects and pairs nobody asks for, and a look at nothing."""
    model, evidence = case.model, case.evidence
    name, half = next(iter(model.leaks)), networks.part(1, 2)
    hidden = {m for pair in model.pairs.get(name, ()) for m in pair}
    sure = (Link(name, (*(0 for _ in model.leaks[name][1:]), 1)), *(Link(m, (0, 1)) for m in sorted(hidden)))
    untold = Effect(half, (Link("untold", (0, 1)), Link("unseen", (0, 1))))
    effects = (Effect(0, sure), Effect(half, sure, step=99), untold)
    stranger = CauseNode("stranger", networks.part(1, 3), effects, somehow=Somehow(dict.fromkeys(model.leaks, 0.0)))
    yield Model((*model.causes, stranger), model.leaks, model.pairs), evidence
    wider = tuple(replace(c, effects=(*c.effects, untold)) for c in model.causes)
    leaks = {**model.leaks, "untold": (half, half)}
    yield Model(wider, leaks, {**model.pairs, "untold": (("unseen",),)}), evidence
    yield model, replace(evidence, looks=(*evidence.looks, Look()))


def shares_are_shares(case: Case) -> None:
    """Every number lies in [0, 1]; "nobody" and the responsible fit together, and who is muted alone is the rest of its share."""
    belief = case.belief
    shares = [belief.unexplained, *belief.present.values(), *belief.responsible.values()]
    assert all(0 <= share <= 1 for share in shares)
    assert 0 < belief.likelihood <= 1
    most = max(belief.responsible.values())
    assert most <= 1 - belief.unexplained <= sum(belief.responsible.values())
    for cause, share in belief.responsible.items():
        assert reference.innocent(case.model, case.evidence, [cause]) == belief.likelihood * (1 - share)
    if not case.evidence.blamed:
        assert belief.unexplained == 1


def every_answer_together_is_certain(case: Case) -> None:
    """The answers a finding can give in the newest look share the likelihood out among them, exactly, pairs and "somehow" in."""
    model, now = case.model, case.evidence.looks[-1]
    told = set(now.bounds) | {f for clause in now.clauses for f, _ in clause.options}
    for finding in sorted(model.leaks.keys() - told):
        parts = []
        for grade in range(len(model.leaks[finding])):
            clauses = (*now.clauses, Clause(((finding, grade),))) if grade else now.clauses
            seen = replace(now, bounds={**now.bounds, finding: grade}, clauses=clauses)
            parts.append(likelihood(model, replace(case.evidence, looks=(*case.evidence.looks[:-1], seen))))
        assert sum(parts) == reference.believe(model, case.evidence).likelihood


def likelihood(model: Model, evidence: Evidence):
    """Return the likelihood, 0 where the evidence cannot occur."""
    try:
        return reference.believe(model, evidence).likelihood
    except Contradiction:
        return 0


def more_said_is_less_likely(case: Case) -> None:
    """Leaving out a clause or loosening a bound never makes the evidence less likely.

    Complaint clauses stay: what is a complaint also says which leaks last.
    """
    whole = case.belief.likelihood
    looks = case.evidence.looks
    t = case.rng.randrange(len(looks))
    left = [tuple(c for c in looks[t].clauses if c is not out) for out in looks[t].clauses if not out.complaint]
    weaker = [replace(looks[t], clauses=clauses) for clauses in left]
    weaker += [replace(looks[t], bounds={g: b + (g == f) for g, b in looks[t].bounds.items()}) for f in looks[t].bounds]
    for look in weaker:
        evidence = replace(case.evidence, looks=(*looks[:t], look, *looks[t + 1 :]), blamed=frozenset())
        assert reference.believe(case.model, evidence).likelihood >= whole


def higher_odds_mean_more_presence(case: Case) -> None:
    """A cause made likelier beforehand is likelier afterwards, if it was never removed."""
    cause = case.rng.choice(case.model.causes).id
    if any(cause in look.removed for look in case.evidence.looks):
        return
    raised = {**case.evidence.odds, cause: case.evidence.odds.get(cause, 1) * 3}
    before = case.belief.present[cause]
    after = reference.believe(case.model, replace(case.evidence, odds=raised)).present[cause]
    assert after > before or before in (0, 1)


def stronger_faults_show_more(case: Case) -> None:
    """One finding alone is seen no less often when a prior, a strength or "somehow" is raised, or a further step is reached."""
    model, rng = case.model, case.rng
    seen = Evidence((Look({}, (Clause(((rng.choice(sorted(model.leaks)), 1),)),)),))
    number = rng.randrange(len(model.causes))
    cause = model.causes[number]
    up = lambda p: p + (1 - p) / 2
    raised = [replace(cause, prior=up(cause.prior)), replace(cause, reach=(*(0 for _ in cause.reach[1:]), 1))]
    raised += [replace(cause, effects=(replace(cause.effects[0], strength=up(cause.effects[0].strength)), *cause.effects[1:]))]
    if cause.somehow:
        raised.append(replace(cause, somehow=replace(cause.somehow, open={f: up(p) for f, p in cause.somehow.open.items()})))
        raised.append(replace(cause, somehow=replace(cause.somehow, shows=up(cause.somehow.shows))))
    before = likelihood(model, seen)
    for other in raised:
        causes = (*model.causes[:number], other, *model.causes[number + 1 :])
        assert likelihood(Model(causes, model.leaks, model.pairs), seen) >= before


LAWS = (
    order_does_not_matter,
    adding_nothing_changes_nothing,
    shares_are_shares,
    every_answer_together_is_certain,
    more_said_is_less_likely,
    higher_odds_mean_more_presence,
    stronger_faults_show_more,
)


# --- the command


def features(case: Case) -> list[str]:
    """Return which of the things that are hard this case has, for counting."""
    told = reference._Told(case.model, case.evidence)
    looks = case.evidence.looks
    has = {
        "pairs told of": bool(told.hidden),
        "a pair said not to hold": any(told._barred(t) for t in told.looks),
        "steps of reach": any(len(c.reach) > 1 for c in case.model.causes),
        "somehow": any(c.somehow for c in case.model.causes),
        "clause of several options": any(len(c.options) > 1 for look in looks for c in look.clauses),
        "several looks": len(looks) > 1,
        "parts exchanged": any(look.moved for look in looks),
        "causes quieted": any(look.quieted for look in looks),
        "causes removed": any(look.removed for look in looks),
        "blame in several looks": len({t for t, _ in case.evidence.blamed}) > 1,
    }
    return [name for name, there in has.items() if there]


def engines() -> Mapping[str, Callable[[Model, Evidence], Belief]]:
    """Return what is held against the reference in fractions, in floats."""
    return {"reference in floats": reference.believe, "fast": exact.believe}


def main() -> None:
    """Draw networks, compare and print counts and the worst differences."""
    parser = argparse.ArgumentParser(prog="python -m tests.belief.laws", description=main.__doc__)
    parser.add_argument("--networks", type=int, default=300, help="how many to draw")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    given = parser.parse_args()
    counts: dict[str, int] = {}
    worst: dict[str, float] = {"worlds": 0.0, **dict.fromkeys(engines(), 0.0)}
    start = perf_counter()
    for seed in range(given.first, given.first + given.networks):
        case = draw.__wrapped__(seed)
        worst["worlds"] = max(worst["worlds"], float(differs_from_worlds(case)))
        for name, believe in engines().items():
            worst[name] = max(worst[name], engine_differs(believe, case))
        for law in LAWS:
            law(case)
        for feature in features(case):
            counts[feature] = counts.get(feature, 0) + 1
    print(f"{given.networks} networks in {perf_counter() - start:.0f} s; {len(LAWS)} laws hold in each")
    print("with " + ", ".join(f"{name} {n}" for name, n in sorted(counts.items(), key=lambda item: -item[1])))
    for name, apart in worst.items():
        print(f"farthest from the reference in fractions: {name} {apart:.1e}")


if __name__ == "__main__":
    main()
