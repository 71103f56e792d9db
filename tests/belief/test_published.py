"""Published and closed-form cases, run through both engines."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, product
from random import Random

import pytest

from diagnose.belief import exact, reference
from diagnose.belief.model import CauseNode, Clause, Effect, Evidence, Link, Look, Model

YES = Evidence((Look({}, (Clause((("f", 1),), True),)),))


def noisy_or(priors, strengths, leak):
    """Return a model of independent causes of one yes/no finding."""
    causes = tuple(
        CauseNode(f"c{i}", p, (Effect(s, (Link("f", (0.0, 1.0)),)),)) for i, (p, s) in enumerate(zip(priors, strengths, strict=True))
    )
    return Model(causes, {"f": (1 - leak, leak)})


def chance(strengths, leak, present):
    """Return P(finding) with just these causes there, read off the likelihood with priors moved to the edge."""
    edge = 1e-12
    priors = [1 - edge if here else edge for here in present]
    return exact.believe(noisy_or(priors, strengths, leak), YES).likelihood


# Russell & Norvig, Artificial Intelligence: A Modern Approach, fever table (reference from memory); no leak.
FEVER = {(0, 0, 1): 0.9, (0, 1, 0): 0.8, (0, 1, 1): 0.98, (1, 0, 0): 0.4, (1, 0, 1): 0.94, (1, 1, 0): 0.88, (1, 1, 1): 0.988}


@pytest.mark.parametrize(("present", "expected"), FEVER.items())
def test_fever_table(present, expected):
    """Inhibitions .6, .2, .1 give the printed table."""
    assert chance((0.4, 0.8, 0.9), 0.0, present) == pytest.approx(expected, abs=1e-6)


# Leaky noisy-OR printed in a general-purpose Bayesian-network manual; leak independent of links (Diez form).
@pytest.mark.parametrize(
    ("strengths", "present", "expected"),
    [((0.8, 0.6), (0, 0), 0.1), ((0.8, 0.6), (0, 1), 0.64), ((0.8, 0.6), (1, 0), 0.82), ((0.8, 0.6), (1, 1), 0.928),
     ((0.2, 0.4), (0, 1), 0.46), ((0.2, 0.4), (1, 0), 0.28), ((0.2, 0.4), (1, 1), 0.568)],
)  # fmt: skip
def test_leaky_noisy_or(strengths, present, expected):
    """The printed probabilities come out."""
    assert chance(strengths, 0.1, present) == pytest.approx(expected, abs=1e-6)


# Eddy 1982 (mammogram) and Tversky & Kahneman 1982 (cab), both from memory; as Diez links over the leak.
@pytest.mark.parametrize(("prior", "link", "leak", "expected"), [(0.01, 1 - 0.2 / 0.904, 0.096, 0.0776), (0.15, 0.75, 0.2, 0.4138)])
def test_single_imperfect_test(prior, link, leak, expected):
    """One positive result of an imperfect test."""
    for engine in (exact, reference):
        assert engine.believe(noisy_or([prior], [link], leak), YES).present["c0"] == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("seed", range(10))
def test_enumeration_equals_inclusion_exclusion(seed):
    """Heckerman 1989: the sum over subsets of positives equals listing every set of causes; exact fractions."""
    rng = Random(seed)
    n, m = rng.randint(3, 7), 3
    prior = [Fraction(rng.randint(1, 30), 100) for _ in range(n)]
    miss = [[Fraction(rng.randint(10, 100), 100) for _ in range(m)] for _ in range(n)]
    leak = [Fraction(rng.randint(1, 9), 100) for _ in range(m)]
    listed = Fraction(0)
    for world in product((0, 1), repeat=n):
        weight = Fraction(1)
        for i, there in enumerate(world):
            weight *= prior[i] if there else 1 - prior[i]
        for j in range(m):
            silent = 1 - leak[j]
            for i, there in enumerate(world):
                silent *= miss[i][j] if there else 1
            weight *= 1 - silent
        listed += weight
    summed = Fraction(0)
    for size in range(m + 1):
        for chosen in combinations(range(m), size):
            term = Fraction((-1) ** size)
            for j in chosen:
                term *= 1 - leak[j]
            for i in range(n):
                q = Fraction(1)
                for j in chosen:
                    q *= miss[i][j]
                term *= 1 - prior[i] + prior[i] * q
            summed += term
    assert listed == summed
    causes = tuple(
        CauseNode(f"c{i}", float(prior[i]), tuple(
            Effect(float(1 - miss[i][j]), (Link(f"f{j}", (0.0, 1.0)),)) for j in range(m) if miss[i][j] < 1))
        for i in range(n))  # fmt: skip
    model = Model(causes, {f"f{j}": (float(1 - leak[j]), float(leak[j])) for j in range(m)})
    seen = Evidence((Look({}, tuple(Clause(((f"f{j}", 1),)) for j in range(m))),))
    assert exact.believe(model, seen).likelihood == pytest.approx(float(listed), rel=1e-9)
