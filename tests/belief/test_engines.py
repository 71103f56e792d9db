"""The fast engine, the reference and the list of worlds say the same."""

from __future__ import annotations

from random import Random

import pytest

from diagnose.belief import exact, reference
from diagnose.belief.model import CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model, newest_complaints
from diagnose.belief.setting import Row
from tests.belief import networks, worlds


def agree(a, b, tolerance):
    """Assert that two beliefs give the same numbers."""
    assert float(a.likelihood) == pytest.approx(float(b.likelihood), rel=tolerance, abs=1e-300)
    assert a.present.keys() == b.present.keys()
    assert a.responsible.keys() == b.responsible.keys()
    for cause in a.present:
        assert float(a.present[cause]) == pytest.approx(float(b.present[cause]), abs=tolerance)
    for cause in a.responsible:
        assert float(a.responsible[cause]) == pytest.approx(float(b.responsible[cause]), abs=tolerance)
    assert float(a.unexplained) == pytest.approx(float(b.unexplained), abs=tolerance)


@pytest.mark.parametrize("seed", range(60))
def test_both_engines_agree_on_random_networks(seed):
    """Sixty networks of up to nine causes, one to three looks with repairs between them."""
    rng = Random(seed)
    model = networks.network(rng, rng.randint(3, 9), rng.randint(2, 4))
    evidence = networks.evidence(rng, model, looks=rng.choice((1, 1, 2, 3)))
    agree(exact.believe(model, evidence), reference.believe(model, evidence), 1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_both_engines_agree_with_every_world_listed(seed):
    """Thirty small networks, worlds listed in exact fractions."""
    rng = Random(1000 + seed)
    looks = rng.choice((1, 1, 1, 2))
    model = networks.network(rng, rng.randint(2, 3) if looks == 1 else 1, 2, exact=True)
    evidence = networks.evidence(rng, model, looks, exact=True)
    z, present, responsible, nobody = worlds.believe(model, evidence)
    slow = reference.believe(model, evidence)
    assert slow.likelihood == z
    assert slow.present == present
    assert slow.responsible == responsible
    assert slow.unexplained == nobody
    agree(exact.believe(networks.as_floats(model), networks.evidence_as_floats(evidence)), slow, 1e-9)


@pytest.mark.parametrize("seed", range(25))
def test_a_question_equals_running_again_with_that_result(seed):
    """Asking what a result would change gives what adding the result gives."""
    rng = Random(2000 + seed)
    model = networks.network(rng, 6, 4)
    evidence = networks.evidence(rng, model, looks=rng.choice((1, 2)))
    finding = rng.choice(sorted(model.leaks))
    now = evidence.looks[-1]
    bound = min(now.bounds.get(finding, 9), rng.randint(0, len(model.leaks[finding]) - 1))
    answers = exact.ask(model, evidence, [Row(), Row({finding: bound})])
    asked = Look({**now.bounds, finding: bound}, now.clauses, now.removed, now.quieted)
    again = Evidence((*evidence.looks[:-1], asked), evidence.odds, evidence.show_again, evidence.bad_repair, evidence.blamed)
    try:
        told = reference.believe(model, again)
    except Contradiction:
        assert answers.likelihood[1] == pytest.approx(0, abs=1e-15)
        return
    assert answers.likelihood[1] == pytest.approx(told.likelihood, rel=1e-9)
    for cause, weights in answers.responsible.items():
        assert weights[1] / answers.likelihood[1] == pytest.approx(told.responsible[cause], abs=1e-9)


def test_effects_shared_by_symptoms_are_not_independent_evidence():
    """One effect feeding two symptoms: A seen and B not seen leaves .297, not .530 (worked by hand)."""
    shared = Effect(0.8, (Link("a", (0.1, 0.9)), Link("b", (0.1, 0.9))))
    model = Model((CauseNode("x", 0.1, (shared,)),), {"a": (0.98, 0.02), "b": (0.98, 0.02)})
    evidence = Evidence((Look({"b": 0}, (Clause((("a", 1),), True),)),))
    # By hand: present: .1 [.2*.02 + .8*(.1)(.9+.1*.02)] = .0076160; absent: .9*.02 = .018
    by_hand = 0.1 * (0.2 * 0.02 + 0.8 * 0.1 * (0.9 + 0.1 * 0.02))
    assert exact.believe(model, evidence).present["x"] == pytest.approx(by_hand / (by_hand + 0.9 * 0.02), abs=1e-12)
    assert exact.believe(model, evidence).present["x"] == pytest.approx(0.297, abs=1e-3)


def test_impossible_evidence_is_named():
    """With no leak and no cause linked, a positive result cannot occur."""
    model = Model((), {"a": (1.0, 0.0)})
    with pytest.raises(Contradiction):
        exact.believe(model, Evidence((Look({}, (Clause((("a", 1),)),)),)))


def test_no_evidence_returns_the_prior():
    """Nothing seen, nothing learnt; nobody is responsible for no complaint."""
    model = networks.network(Random(5), 6, 3)
    belief = exact.believe(model, Evidence())
    for cause in model.causes:
        assert belief.present[cause.id] == pytest.approx(cause.prior, abs=1e-12)
        assert belief.responsible[cause.id] == 0


def _repairs(count, persistent):
    """Return the share nobody answers for after so many wrong repairs; a lasting leak or a fresh one."""
    causes = tuple(CauseNode(f"c{k}", 0.01, (Effect(0.8, (Link("a", (0.0, 1.0)),)),)) for k in range(5))
    model = Model(causes, {"a": (0.99, 0.01)})
    looks = [Look({}, (Clause((("a", 1),), True),))]
    for k in range(count):
        looks.append(Look({}, (Clause((("a", 1),), persistent),), removed=frozenset({f"c{k}"})))
    return exact.believe(model, Evidence(tuple(looks), blamed=newest_complaints(looks))).unexplained


def test_a_lasting_complaint_points_past_the_rule_base_after_wrong_repairs():
    """The leak of a complaint lasts: every wrong repair makes "none of these" likelier."""
    shares = [_repairs(count, True) for count in range(4)]
    assert shares == sorted(shares)
    assert shares[3] > 1.5 * shares[0]
