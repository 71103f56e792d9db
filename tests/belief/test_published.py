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


def chance(engine, strengths, leak, present):
    """Return P(finding) with just these causes there, read off the likelihood with priors moved to the edge."""
    edge = 1e-12
    priors = [1 - edge if here else edge for here in present]
    return engine.believe(noisy_or(priors, strengths, leak), YES).likelihood


both_engines = pytest.mark.parametrize("engine", [exact, reference], ids=("fast", "reference"))

# Russell & Norvig, Artificial Intelligence: A Modern Approach, fever table (where it stands: from memory); no leak.
FEVER = {
    (0, 0, 0): 0.0,
    (0, 0, 1): 0.9,
    (0, 1, 0): 0.8,
    (0, 1, 1): 0.98,
    (1, 0, 0): 0.4,
    (1, 0, 1): 0.94,
    (1, 1, 0): 0.88,
    (1, 1, 1): 0.988,
}


@both_engines
@pytest.mark.parametrize(("present", "expected"), FEVER.items())
def test_fever_table(engine, present, expected):
    """Inhibitions .6, .2, .1 give the printed table."""
    assert chance(engine, (0.4, 0.8, 0.9), 0.0, present) == pytest.approx(expected, abs=1e-6)


# Leaky noisy-OR printed in a general-purpose Bayesian-network manual; leak independent of links (Diez form). First
# set: printed answers. Second set: inputs printed, answers recomputed as 1 - (1 - leak) times the misses.
@both_engines
@pytest.mark.parametrize(
    ("strengths", "present", "expected"),
    [
        ((0.8, 0.6), (0, 0), 0.1),
        ((0.8, 0.6), (0, 1), 0.64),
        ((0.8, 0.6), (1, 0), 0.82),
        ((0.8, 0.6), (1, 1), 0.928),
        ((0.2, 0.4), (0, 0), 0.1),
        ((0.2, 0.4), (0, 1), 0.46),
        ((0.2, 0.4), (1, 0), 0.28),
        ((0.2, 0.4), (1, 1), 0.568),
    ],
)
def test_leaky_noisy_or(engine, strengths, present, expected):
    """The printed probabilities come out."""
    assert chance(engine, strengths, 0.1, present) == pytest.approx(expected, abs=1e-6)


# Eddy 1982 (mammogram: .01, .80, .096 -> 7.8 %) and Tversky & Kahneman 1982 (cab: .15, .80, .20 -> 41 %), both from
# memory; more digits recomputed by Bayes' rule. As Diez links beside the leak: 1 - (1 - sensitivity) / (1 - false).
@pytest.mark.parametrize(
    ("prior", "link", "leak", "expected"), [(0.01, 1 - 0.2 / 0.904, 0.096, 0.0776), (0.15, 1 - 0.2 / 0.8, 0.2, 0.4138)]
)
def test_single_imperfect_test(prior, link, leak, expected):
    """One positive result of an imperfect test."""
    for engine in (exact, reference):
        assert engine.believe(noisy_or([prior], [link], leak), YES).present["c0"] == pytest.approx(expected, abs=1e-4)


class Bipartite:
    """A random two-layer network in fractions: `n` causes, `m` findings of which some are seen and some are normal."""

    def __init__(self, rng, n, m, positives):
        self.prior = [Fraction(rng.randint(1, 30), 100) for _ in range(n)]
        self.miss = [[Fraction(rng.choice((100, rng.randint(5, 99))), 100) for _ in range(m)] for _ in range(n)]
        self.leak = [Fraction(rng.randint(1, 9), 100) for _ in range(m)]
        self.seen, self.normal = list(range(positives)), list(range(positives, m))

    def silent(self, chosen, world):
        """Return P(none of the chosen findings | who is there)."""
        q = Fraction(1)
        for j in chosen:
            q *= 1 - self.leak[j]
            for i, there in enumerate(world):
                q *= self.miss[i][j] if there else 1
        return q

    def listed(self):
        """Return P(evidence) and P(cause, evidence) by listing every set of causes."""
        total, each = Fraction(0), [Fraction(0)] * len(self.prior)
        for world in product((0, 1), repeat=len(self.prior)):
            weight = self.silent(self.normal, world)
            for i, there in enumerate(world):
                weight *= self.prior[i] if there else 1 - self.prior[i]
            for j in self.seen:
                weight *= 1 - self.silent([j], world)
            total += weight
            each = [e + weight if there else e for e, there in zip(each, world, strict=True)]
        return total, each

    def summed(self, fixed=None):
        """Return P(evidence), or P(cause `fixed`, evidence), by signed sums over subsets of the positives."""
        total = Fraction(0)
        for size in range(len(self.seen) + 1):
            for chosen in combinations(self.seen, size):
                term = Fraction((-1) ** size)
                for j in (*chosen, *self.normal):
                    term *= 1 - self.leak[j]
                for i, prior in enumerate(self.prior):
                    q = Fraction(1)
                    for j in (*chosen, *self.normal):
                        q *= self.miss[i][j]
                    term *= prior * q if i == fixed else 1 - prior + prior * q
                total += term
        return total

    def model(self, number):
        """Return it as the engines take it, numbers turned by `number`; every link an effect of its own."""
        nothing, whole = number(Fraction(0)), number(Fraction(1))
        causes = tuple(
            CauseNode(
                f"c{i}",
                number(prior),
                tuple(Effect(number(1 - q), (Link(f"f{j}", (nothing, whole)),)) for j, q in enumerate(self.miss[i]) if q < 1),
            )
            for i, prior in enumerate(self.prior)
        )
        return Model(causes, {f"f{j}": (number(1 - q), number(q)) for j, q in enumerate(self.leak)})

    def evidence(self):
        """Return the seen findings as clauses, the normal ones as bounds."""
        return Evidence((Look({f"f{j}": 0 for j in self.normal}, tuple(Clause(((f"f{j}", 1),)) for j in self.seen)),))


@pytest.mark.parametrize("seed", range(16))
def test_enumeration_equals_inclusion_exclusion(seed):
    """Heckerman 1989 (from memory): signed sums over subsets of the positives equal listing every set of causes.

    Both in exact fractions; the reference gives the same fractions, the fast engine the same to 1e-9.
    """
    rng = Random(seed)
    net = Bipartite(rng, rng.randint(2, 7), 5, rng.randint(1, 4))
    whole, each = net.listed()
    assert net.summed() == whole
    assert [net.summed(i) for i in range(len(each))] == each
    slow = reference.believe(net.model(Fraction), net.evidence())
    fast = exact.believe(net.model(float), net.evidence())
    assert slow.likelihood == whole
    assert fast.likelihood == pytest.approx(float(whole), rel=1e-9)
    for i, joint in enumerate(each):
        assert slow.present[f"c{i}"] == joint / whole
        assert fast.present[f"c{i}"] == pytest.approx(float(joint / whole), abs=1e-9)


def test_twelve_causes_four_positives():
    """The largest the signed sum is run on: twelve causes, both sides in fractions, against the fast engine."""
    net = Bipartite(Random(99), 12, 6, 4)
    whole = net.summed()
    fast = exact.believe(net.model(float), net.evidence())
    assert fast.likelihood == pytest.approx(float(whole), rel=1e-9)
    for i in range(12):
        assert fast.present[f"c{i}"] == pytest.approx(float(net.summed(i) / whole), abs=1e-9)
