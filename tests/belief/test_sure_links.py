"""A link that is certain, its only mask blamed: asked without it, nothing of the source is left, and that is no crash."""

from __future__ import annotations

import pytest

from diagnose.belief import exact, reference
from diagnose.belief.model import CauseNode, Clause, Effect, Evidence, Link, Look, Model


@pytest.mark.parametrize("clauses", [1, 3, 4, 6])
def test_a_sure_link_to_a_blamed_finding_is_answered_as_the_reference_does(clauses):
    names = [f"f{k}" for k in range(clauses)]
    sure = CauseNode("sure", 0.01, (Effect(1.0, tuple(Link(n, (0.0, 1.0)) for n in names)),))
    often = CauseNode("often", 0.02, (Effect(0.5, tuple(Link(n, (0.4, 0.6)) for n in names)),))
    model = Model((sure, often), dict.fromkeys(names, (0.99, 0.01)))
    evidence = Evidence((Look({}, tuple(Clause(((n, 1),), True) for n in names)),))
    fast, slow = exact.believe(model, evidence), reference.believe(model, evidence)
    assert fast.likelihood == pytest.approx(slow.likelihood, rel=1e-12)
    assert fast.unexplained == pytest.approx(slow.unexplained, rel=1e-12)
    for cause in ("sure", "often"):
        assert fast.responsible[cause] == pytest.approx(slow.responsible[cause], rel=1e-12)
        assert fast.present[cause] == pytest.approx(slow.present[cause], rel=1e-12)
