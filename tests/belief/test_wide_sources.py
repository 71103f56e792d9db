"""Sources applied effect by effect, over several looks and for several questions at once, against the reference."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from diagnose.belief import exact, reference
from diagnose.belief.builder import Row
from diagnose.belief.model import Contradiction, Evidence
from tests.belief import networks
from tests.belief.test_engines import agree


def tightened(evidence: Evidence, row: Row) -> Evidence:
    """Return the evidence with the bounds of a question laid over those of its newest look."""
    newest = evidence.looks[-1]
    bounds = {**newest.bounds, **{f: min(b, newest.bounds.get(f, b)) for f, b in row.bounds.items()}}
    return replace(evidence, looks=(*evidence.looks[:-1], replace(newest, bounds=bounds)))


@pytest.mark.parametrize("seed", range(40))
def test_every_question_is_what_the_reference_says_of_it_alone(seed):
    """Over one to three looks; three questions in one sweep."""
    rng = Random(seed)
    model = networks.network(rng, rng.randint(3, 8), rng.randint(2, 4))
    evidence = networks.evidence(rng, model, looks=rng.choice((1, 2, 3)))
    first, second = sorted(model.leaks)[:2]
    rows = [Row(), Row({first: 0}), Row({second: 0, first: 1})]
    agree(exact.believe(model, evidence), reference.believe(model, evidence), 1e-9)
    answers = exact.ask(model, evidence, rows)
    for index, row in enumerate(rows):
        try:
            alone = reference.believe(model, tightened(evidence, row))
        except Contradiction:
            assert answers.likelihood[index] == 0
            continue
        whole = float(answers.likelihood[index])
        assert whole == pytest.approx(float(alone.likelihood), rel=1e-9)
        assert float(answers.nobody[index]) / whole == pytest.approx(float(alone.unexplained), abs=1e-9)
        for cause, share in alone.responsible.items():
            assert float(answers.responsible[cause][index]) / whole == pytest.approx(float(share), abs=1e-9)
        for cause, share in alone.present.items():
            assert float(answers.present[cause][index]) / whole == pytest.approx(float(share), abs=1e-9)
