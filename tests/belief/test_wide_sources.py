"""A source applied effect by effect and the same source joined set by set give the same numbers."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from diagnose.belief import exact, reference
from diagnose.belief.builder import Row
from tests.belief import networks
from tests.belief.test_engines import agree


@pytest.mark.parametrize("seed", range(40))
def test_effect_by_effect_and_set_by_set_agree(seed, monkeypatch):
    """Forced both ways, over one to three looks and three questions; both against the reference."""
    rng = Random(seed)
    model = networks.network(rng, rng.randint(3, 8), rng.randint(2, 4))
    evidence = networks.evidence(rng, model, looks=rng.choice((1, 2, 3)))
    first, second = sorted(model.leaks)[:2]
    rows = [Row(), Row({first: 0}), Row({second: 0, first: 1})]
    answers = []
    for stepwise in (True, False):
        monkeypatch.setattr(exact, "FEW", 0 if stepwise else 20)
        agree(exact.believe(model, evidence), reference.believe(model, evidence), 1e-9)
        answers.append(exact.ask(model, evidence, rows))
    one, other = answers
    assert np.allclose(one.likelihood, other.likelihood, rtol=1e-12, atol=0)
    assert np.allclose(one.nobody, other.nobody, rtol=1e-12, atol=0)
    for cause in one.present:
        assert np.allclose(one.present[cause], other.present[cause], rtol=1e-12, atol=1e-300)
    for cause in one.responsible:
        assert np.allclose(one.responsible[cause], other.responsible[cause], rtol=1e-12, atol=1e-300)
