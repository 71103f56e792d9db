"""The fast engine says what the reference says, however its sources are grouped and its tables are cut."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.belief import exact, groups, reference, tables
from diagnose.belief.model import CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model
from diagnose.belief.setting import Row
from tests.belief import laws
from tests.fast import all_but_first_slow


@pytest.fixture(params=["as shipped", "each its own group", "all in one", "one after the other", "cut small"])
def ways(request, monkeypatch):
    """Force each way of grouping and cutting."""
    if request.param == "each its own group":
        monkeypatch.setattr(groups, "WORTH", 0)
    if request.param == "all in one":
        monkeypatch.setattr(groups, "WORTH", 10**9)
    if request.param == "one after the other":
        monkeypatch.setattr(groups, "WIDE", 1)
    if request.param == "cut small":
        monkeypatch.setattr(tables, "LEAST", 1)
        monkeypatch.setattr(tables, "MOST", 8)
        monkeypatch.setattr(groups, "WORTH", 300)


@pytest.mark.parametrize("first", all_but_first_slow(range(0, 100, 20)))
def test_every_way_gives_what_the_reference_gives(first, ways):
    """Twenty networks with pairs, reach, somehow, repairs and exchanges: belief, and questions with bounds and muted causes."""
    for seed in range(first, first + 20):
        case = laws.draw(seed)
        assert laws.engine_differs(exact.believe, case) < 1e-11, f"network {seed}"
        model, evidence = case.floats
        rows = _rows(case)
        answers = exact.ask(model, evidence, rows)
        for index, row in enumerate(rows):
            _holds(case, row, answers, index)


def _rows(case):
    """Return no question, three about one or two findings (pairs of theirs asked about as well), and two that mute causes."""
    rng, model = case.rng, case.model
    findings, causes = sorted(model.leaks), [c.id for c in model.causes]
    asked = [{f: rng.randrange(len(model.leaks[f])) for f in rng.sample(findings, rng.randint(1, 2))} for _ in range(3)]
    muted = [frozenset(rng.sample(causes, rng.randint(1, len(causes)))) for _ in range(2)]
    return [Row(), *(Row(bounds) for bounds in asked), *(Row(muted=m) for m in muted)]


def _holds(case, row, answers, index):
    """Assert that a row is what the reference gives for the evidence with the row's results in."""
    if row.muted:
        alone = float(reference.innocent(case.model, case.evidence, row.muted))
        assert answers.likelihood[index] == pytest.approx(alone, rel=1e-11, abs=1e-300)
        return
    now = case.evidence.looks[-1]
    bounds = {**now.bounds, **{f: min(now.bounds.get(f, 99), bound) for f, bound in row.bounds.items()}}
    told = replace(case.evidence, looks=(*case.evidence.looks[:-1], replace(now, bounds=bounds)))
    try:
        belief = reference.believe(case.model, told)
    except Contradiction:
        assert answers.likelihood[index] == 0
        return
    z = float(belief.likelihood)
    assert answers.likelihood[index] == pytest.approx(z, rel=1e-11)
    assert answers.nobody[index] / z == pytest.approx(float(belief.unexplained), abs=1e-11)
    for cause in belief.present:
        assert answers.present[cause][index] / z == pytest.approx(float(belief.present[cause]), abs=1e-11)
        assert answers.responsible[cause][index] / z == pytest.approx(float(belief.responsible[cause]), abs=1e-11)


@pytest.mark.parametrize("clauses", [1, 3, 4, 6])
def test_a_sure_link_to_a_complaint_is_a_plain_number(clauses):
    """A link of probability 1, blamed, alone or beside others: by hand, the cause's .1 over .1 + .9 x the leaks."""
    findings = [f"f{k}" for k in range(clauses)]
    sure = CauseNode("x", 0.1, tuple(Effect(1.0, (Link(f, (0.0, 1.0)),)) for f in findings))
    model = Model((sure,), dict.fromkeys(findings, (0.5, 0.5)))
    seen = tuple(Clause(((f, 1),), f == "f0") for f in findings)
    belief = exact.believe(model, Evidence((Look({}, seen),), blamed=frozenset({(0, 0)})))
    assert belief.responsible["x"] == pytest.approx(0.1 / (0.1 + 0.9 * 0.5**clauses), rel=1e-12)
    assert belief.unexplained == pytest.approx(1 - belief.responsible["x"], rel=1e-12)


def test_too_many_results_are_refused():
    """Past the width of the tables nothing is guessed."""
    model = Model((), {f"f{k}": (0.5, 0.5) for k in range(exact.MAX_BITS + 1)})
    seen = tuple(Clause(((f, 1),)) for f in model.leaks)
    with pytest.raises(OverflowError, match=f"{exact.MAX_BITS} is the most"):
        exact.believe(model, Evidence((Look({}, seen),)))
    assert exact.believe(model, Evidence((Look({}, seen[1:]),))).likelihood == pytest.approx(0.5**exact.MAX_BITS, rel=1e-12)
