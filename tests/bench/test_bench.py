"""The bench itself: draws follow the model, policies stop, figures have their intervals. No time is judged here."""

from __future__ import annotations

import json
from random import Random

import pytest

from diagnose import loaded
from tests.bench.__main__ import main
from tests.bench.draws import NOTICED, draw
from tests.bench.policies import HANDBOOK, POLICIES
from tests.bench.simulate import _help_at, compare, interval, summary
from tests.bench.small import RULES, optimum, random_problem, ratios
from tests.fast import slow

NETWORK = loaded.network_of((), "opposed-4")


@pytest.mark.parametrize("faults", [1, 2])
def test_each_fault_shows_in_the_complaint(faults):
    """Every fault drawn accounts by itself for some complaint result at the grade seen."""
    for seed in range(25):
        drawn = draw(NETWORK, Random(seed), faults)
        assert len(drawn.faults) == faults
        assert 1 <= len(drawn.complaint) <= 2
        for shown in drawn.shown.values():
            assert any(shown.get(n, 0) == drawn.levels[n] > 0 for n in drawn.complaint)
        assert drawn.without(drawn.faults).levels == drawn.leaks
        assert all(n.startswith(NOTICED) for n in drawn.complaint)


def test_commoner_causes_are_drawn_more_often():
    """Two hundred draws: the tenth of the causes with the highest prior gives over a third of the faults."""
    causes = sorted(NETWORK.model.causes, key=lambda c: -c.prior)
    common = {c.id for c in causes[: len(causes) // 10]}
    found = [draw(NETWORK, Random(1000 + i), 1).faults[0] for i in range(200)]
    assert sum(f in common for f in found) > len(found) / 3


@pytest.mark.parametrize("name", [slow("ours"), slow("cheapest_first"), slow("handbook_order"), "random"])
def test_policies_are_repeatable(name):
    """The same seed gives the same run; a cap holds; a total is never less than the minutes of the checks."""
    first, again = (compare(NETWORK, 1, 1, 3, (name,))[name] for _ in range(2))
    assert first == again
    assert all(r.checks <= 3 and r.total > r.minutes >= 0 for r in first)
    assert set(summary(first)) == {"minutes", "checks", "accuracy", "unnecessary_changes", "total"}
    assert name in POLICIES


def test_the_handbook_order_names_checks_there_are():
    """Every id of the fixed order is a check of the rule base, once."""
    assert set(HANDBOOK) <= set(NETWORK.base.checks)
    assert len(set(HANDBOOK)) == len(HANDBOOK)


def test_interval_of_a_known_sample():
    """Mean 3, standard deviation 1.5811: half width 1.96 * 1.5811 / sqrt(5) = 1.386 (normal interval)."""
    assert interval([1, 2, 3, 4, 5]) == {"mean": 3, "half_width_95": 1.386}


@pytest.mark.parametrize(("shares", "expert", "at"), [((0.9, 0.05), 500, 2), ((0.5, 0.01), 100, 1), ((0.05, 0.02), 50, 0)])
def test_help_is_called_where_it_is_cheaper(shares, expert, at):
    """Remedies of 30 min: by hand, the least of help now, after one, after two."""
    costs = [expert, 30 + (1 - shares[0]) * expert, 30 + (1 - shares[0]) * 30 + (1 - sum(shares)) * expert]
    assert costs.index(min(costs)) == at
    assert _help_at(shares, (30, 30), expert) == at


def test_nothing_beats_the_optimum():
    """Every rule costs at least the cheapest plan; a problem of one fault and no check is its remedy or help."""
    rows = ratios([random_problem(Random(i), 3, 3) for i in range(5)])
    assert set(rows) == set(RULES)
    assert min(min(r) for r in rows.values()) > 1 - 1e-9
    lone = random_problem(Random(3), 1, 0)
    remedy, none = lone.remedies[0], lone.chance[1]
    assert optimum(lone) == pytest.approx(min(lone.expert, remedy + none * lone.expert))


@pytest.mark.slow
def test_one_object_on_the_standard_output(capsys, monkeypatch):
    """`--json` prints one object with the part asked for."""
    monkeypatch.setattr("sys.argv", ["bench", "--quick", "--json", "--part", "ratio_to_optimum"])
    main()
    found = json.loads(capsys.readouterr().out)
    assert found["ratio_to_optimum"]["problems"] == 40
    assert 1 - 1e-9 < found["ratio_to_optimum"]["mean"] < found["ratio_to_optimum"]["baselines"]["repair_only"]["mean"]
