"""The estimate of the drop: its table, the cubic and square laws, and a second solution of the same
balance."""

import pytest

from diagnose.calc.propeller_load import (
    LoadModel,
    degrees_late_for,
    drop_for,
    drop_from_torque_loss,
    estimate_drops,
    late_drop,
    power_loss,
    speed_ratio,
)
from diagnose.problems import BadInput


# Constants and table are estimates (friction 22 %, exponent -0.45, single ignition 5 %), worked out
# beforehand.
@pytest.mark.parametrize(
    ("cylinders", "normal", "one", "two"),
    [
        (4, 44, 280, 579),
        (6, 44, 196, 370),
        (8, 44, 156, 280),
        (9, 44, 143, 251),
        (14, 44, 107, 173),
        (18, 44, 93, 143),
    ],
)
def test_table_from_1750_rpm(cylinders, normal, one, two):
    drops = estimate_drops(cylinders, 1750)
    assert [round(d) for d in (drops.normal, drops.one_silent, drops.two_silent)] == [normal, one, two]


def test_observed_drop_for_a_dead_plug_on_a_small_engine():
    """An overhaul shop's guide: a bad plug shows as a sudden drop of 250 rpm or more on small engines."""
    assert estimate_drops(4, 1750).one_silent >= 250


@pytest.mark.parametrize("torque", [0.95, 0.9, 0.7, 0.5])
def test_balance_by_scanning(torque):
    """A blind scan over rpm finds the same point as the solver."""
    model = LoadModel()
    best = min((abs(torque * x**-0.45 - 0.22 - 0.78 * x * x), x) for x in (n / 100_000 for n in range(20_000, 100_001)))[1]
    assert speed_ratio(torque, model) == pytest.approx(best, abs=1e-5)


# Derived from power going with the cube of rpm, at 1800 rpm (FAA-H-8083-32B p10-27: same rpm, same power).
@pytest.mark.parametrize(("drop", "percent"), [(25, 4.1), (50, 8.1), (75, 12.0), (100, 15.8), (150, 23.0), (175, 26.4)])
def test_power_loss_from_drop(drop, percent):
    assert round(100 * power_loss(1800, drop), 1) == percent


# Derived from torque going with rpm squared; 10 % is the handbook's limit with a torquemeter (p10-27).
@pytest.mark.parametrize(
    ("rpm", "loss", "drop"),
    [
        (1700, 0.10, 87),
        (1800, 0.10, 92),
        (2000, 0.10, 103),
        (1700, 0.03, 26),
        (1800, 0.03, 27),
        (2000, 0.03, 30),
        (1700, 0.05, 43),
        (1800, 0.05, 46),
        (2000, 0.05, 51),
    ],
)
def test_drop_from_torque_loss(rpm, loss, drop):
    # 102.6, 43.0 and the rest as printed; half a rpm of rounding is allowed.
    assert drop_from_torque_loss(rpm, loss) == pytest.approx(drop, abs=0.6)


def test_more_silent_cylinders_cost_more_and_larger_engines_less():
    for cylinders in (4, 6, 8, 9, 14, 18):
        drops = estimate_drops(cylinders, 1800)
        assert 0 < drops.normal < drops.one_silent < drops.two_silent < 1800
    ones = [estimate_drops(c, 1800).one_silent for c in (4, 6, 8, 9, 14, 18)]
    assert ones == sorted(ones, reverse=True)


def test_drop_scales_with_rpm():
    assert drop_for(2000, 0.9) == pytest.approx(2 * drop_for(1000, 0.9))


def test_late_timing_goes_there_and_back():
    assert late_drop(1750, 0) == pytest.approx(estimate_drops(4, 1750).normal)
    for degrees in (1, 5, 12, 20):
        assert degrees_late_for(1750, late_drop(1750, degrees)) == pytest.approx(degrees, abs=1e-6)
    assert degrees_late_for(1750, 900) is None
    assert degrees_late_for(1750, 5) is None


@pytest.mark.parametrize("rpm", [float("nan"), float("inf"), -1750, 0])
def test_bad_rpm(rpm):
    with pytest.raises(BadInput):
        estimate_drops(4, rpm)
