"""Drawn troubles, the runs of the plan through them, the figures and their intervals."""

from __future__ import annotations

from collections import Counter
from math import isclose, sqrt
from random import Random

import pytest

from diagnose import loaded
from diagnose.assessment.assess import assess
from diagnose.assessment.steps import remedy_order
from diagnose.audit import faults, figures, simulate, whole
from diagnose.audit.simulate import Run
from diagnose.places import inside
from diagnose.plan import access
from diagnose.trouble.results import read_result

pytestmark = pytest.mark.slow

NETWORK = loaded.network_of((), "opposed-4")


def test_faults_are_drawn_by_their_priors():
    """Systematic sampling: every cause is drawn its share of the runs, rounded up or down."""
    runs = 2000
    drawn = Counter(faults._faults(NETWORK, runs, Random(5)))
    whole_ = sum(c.prior for c in NETWORK.model.causes)
    for cause in NETWORK.model.causes:
        assert abs(drawn[cause.id] - runs * cause.prior / whole_) < 1
    assert sum(drawn.values()) == runs


def test_draws_are_the_same_for_the_same_seed_only():
    """A seed fixes faults, levels and complaints."""
    assert faults.draw(NETWORK, 40, 3) == faults.draw(NETWORK, 40, 3)
    assert faults.draw(NETWORK, 40, 3) != faults.draw(NETWORK, 40, 4)


def test_what_is_drawn_shows_as_often_as_the_model_says():
    """Levels of one frequent fault against P(level | that cause alone), five standard errors wide."""
    cause, count = "plug_lead_fouled@1-bottom", 1500
    random = Random(11)
    shown = Counter(n for _ in range(count) for n in faults._seen(NETWORK, cause, frozenset(), random).levels)
    from diagnose.audit.shows import alone

    for node, grades in alone(NETWORK)[cause].items():
        p = 1 - grades[0]
        assert abs(shown[node] / count - p) < 5 * sqrt(p * (1 - p) / count) + 1e-9


def test_the_complaint_is_something_the_fault_shows():
    """Abnormal, linked to the fault or a squawk it may show somehow; a squawk wherever the fault's abnormal results hold one."""
    for drawn in faults.draw(NETWORK, 150, 2):
        own = {s for e in NETWORK.graph.successors(drawn.fault) for s in NETWORK.graph.successors(e)}
        somehow = NETWORK.cause_nodes[drawn.fault].somehow
        own |= set(somehow.open if somehow else ())
        if drawn.complaint:
            assert drawn.complaint in own
            assert read_result(f"{drawn.complaint}={drawn.grade(NETWORK, drawn.complaint)}", NETWORK.base, NETWORK.layout)[0].abnormal
        else:
            assert not [
                n
                for n in own & set(drawn.levels)
                if NETWORK.symptoms[n].symptom.kind == "squawk" and drawn.levels[n] and not NETWORK.graph.nodes[n]["leak"][1]
            ]


@pytest.fixture(scope="module")
def led():
    """Return (drawn, led) of the first drawn trouble that takes between one and four checks."""
    for drawn in faults.draw(NETWORK, 30, 1):
        if drawn.complaint:
            found = simulate.lead(NETWORK, drawn)
            if 1 <= len(found.checks) <= 4:
                return drawn, found
    pytest.fail("no trouble of the first thirty takes one to four checks")


def test_a_run_is_the_tools_own_assessment(led):
    """When it ends the tool itself offers nothing that pays, and gives the same shares and the same order of repairs."""
    _, end = led
    seen = assess(NETWORK, end.trouble)
    assert not seen.plan.paying
    assert end.order == tuple(remedy_order(NETWORK, seen, count=len(seen.groups)))
    for key, share in seen.finding.group_shares.items():
        if end.shares[key] > simulate.LEAST_SHARE:
            assert end.shares[key] == pytest.approx(share)
        else:
            assert share <= simulate.LEAST_SHARE + 1e-9


def test_minutes_are_those_of_the_checks_and_of_the_access_they_need(led):
    """Access is paid when it is missing, and again only after something has ended it."""
    _, end = led
    base, minutes = NETWORK.base, 0.0
    gained: frozenset[str] = frozenset()
    for ident in end.checks:
        check = base.checks[ident.split("@")[0]]
        minutes += check.minutes.value + sum(base.access[a].minutes.value for a in check.access if a not in gained)
        gained = access.after(base, check.access, gained)
    assert end.minutes == pytest.approx(minutes)


def test_repairs_are_counted_up_to_the_one_that_ends_the_fault(led):
    """By hand along the order: a remedy ends the fault when the fault lists it and its place holds the fault's."""
    drawn, end = led
    cause = NETWORK.causes[drawn.fault]
    repairs = sound = parts = 0
    ended = False
    for key in end.order:
        name, _, place = key.partition("@")
        ended = name in cause.cause.remedies and inside(NETWORK.layout, cause.place, place)
        repairs, sound, parts = repairs + 1, sound + (not ended), parts + NETWORK.base.remedies[name].parts
        if ended:
            break
    run = simulate.run(NETWORK, drawn)[0]
    assert (run.repairs, run.sound_repairs, run.parts, run.ended) == (repairs, sound, parts, ended)
    assert run.checks == end.checks
    assert run.named == any(
        drawn.fault in end.groups[k].causes for k in sorted(end.shares, key=lambda k: (-end.shares[k], k))[: run.group_size]
    )


def test_an_unseen_fault_is_undetected():
    """Nothing is led where nothing shows."""
    assert simulate.run(NETWORK, faults.Drawn("coil_open@left", {}, "")) == (Run("coil_open@left", detected=False), frozenset())


def test_figures_of_four_runs_by_hand():
    """One undetected, one isolated, one of two with a sound part out first, one never ended."""
    runs = [
        Run("a", False),
        Run("b", True, ("x",), 10, False, 1, True, 1, 0, 1, 0, True),
        Run("c", True, ("x", "y"), 30, False, 2, True, 2, 1, 2, 1, True),
        Run("d", True, (), 2, True, 3, False, 3, 3, 1, 1, False),
    ]
    got = {name: f.value for name, f in figures.testability(runs).items()}
    assert got == pytest.approx(
        {
            "detected": 3 / 4,
            "isolated_to_1": 1 / 3,
            "isolated_to_2": 2 / 3,
            "isolated_to_3": 2 / 3,
            "first_repair_right": 1 / 3,
            "repaired": 2 / 3,
            "unexplained": 1 / 3,
            "group_size": 2,
            "checks": 1,
            "minutes": 14,
            "false_repairs": 4 / 6,
            "false_removals": 2 / 4,
        }
    )


@pytest.mark.parametrize(("hits", "count"), [(0, 8), (3, 8), (8, 8), (55, 100)])
def test_share_intervals_solve_the_test_they_come_from(hits, count):
    """Wilson 1927: the bounds are the p at which hits/count is 1.96 standard errors away."""
    f = figures.share(hits, count, "x")
    assert f.value == hits / count
    for bound, open_ in ((f.low, hits > 0), (f.high, hits < count)):
        distance = abs(f.value - bound) - figures.Z * sqrt(bound * (1 - bound) / count)
        assert abs(distance) < 1e-9 if open_ else bound in (0.0, pytest.approx(1.0))
    assert figures.share(0, 0, "x") == figures.Figure(0.0, 0.0, 1.0, 0, "x")


@pytest.mark.parametrize(("freedom", "point"), [(5, 2.571), (10, 2.228), (20, 2.086), (60, 2.000)])
def test_mean_intervals_use_students_points(freedom, point):
    """The 97.5 % points of Student's t from any printed table, within 1.5 % at 5 degrees and closer beyond."""
    n = freedom + 1
    values = [float(i) for i in range(n)]
    half = figures.average(values, "x").high - sum(values) / n
    error = sqrt(n * (n + 1) / 12) / sqrt(n)  # the spread of 0..n-1 is n(n+1)/12
    assert isclose(half / error, point, rel_tol=0.015)


def test_simulated_counts_every_run():
    """`tell` hears of each; the figures are those of the runs; the checks that paid include those that were done."""
    heard: list[int] = []
    told = whole.simulated(NETWORK, 2, 1, heard.append)
    runs = [simulate.run(NETWORK, d)[0] for d in faults.draw(NETWORK, 2, 1)]
    assert heard == [1, 2]
    assert told.figures == figures.testability(runs)
    assert {c.split("@")[0] for r in runs for c in r.checks} <= told.paid
