"""Magneto speed, timing grades, start spark, drift, points and retard points."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.contact_points import CLEARANCE_HIGH, CLEARANCE_LOW, EGap, PointsReadings, clearance_move, points_answer
from diagnose.calc.magneto_speed import crank_to_magnet, magnet_to_crank, magneto_ratio, retard_plate_reading, start_spark
from diagnose.calc.timing import TimingReadings, drift_words, timing_answer, timing_results
from diagnose.calc.units import Quantity
from diagnose.problems import BadInput
from tests.calc.engines import engine

SIX = engine("opposed-6")


# Study notes, module 16.6, give 6 cylinders, 2 poles; the other rows follow from cylinders / (2 x poles).
@pytest.mark.parametrize(
    ("cylinders", "poles", "ratio"),
    [(4, 2, 1.0), (6, 2, 1.5), (8, 2, 2.0), (7, 4, 0.875), (9, 4, 1.125), (14, 8, 0.875), (18, 8, 1.125)],
)
def test_magneto_speed(cylinders, poles, ratio):
    assert magneto_ratio(cylinders, poles) == Fraction(ratio)


def test_six_cylinder_magneto_at_2000_rpm_turns_3000():
    assert 2000 * magneto_ratio(6, 2) == 3000


@pytest.mark.parametrize("cylinders", [4, 5, 6, 7, 8, 9, 14, 18])
@pytest.mark.parametrize("poles", [2, 4, 8])
def test_magneto_speed_by_counting_sparks(cylinders, poles):
    """Second way: in 720 degrees of crank the magnet must give one spark, one flux reversal, for each
    cylinder."""
    magnet_turns_per_cycle = 2 * magneto_ratio(cylinders, poles)
    assert magnet_turns_per_cycle * poles == cylinders


# Lag 15, 20, 25 magnet degrees is printed on a dual unit (airframe manuals); 30 is trade; crank figures
# derived.
@pytest.mark.parametrize(
    ("poles_ratio", "expected"),
    [((4, 2), (15, 20, 25, 30)), ((6, 2), (10, 13.3, 16.7, 20)), ((8, 2), (7.5, 10, 12.5, 15))],
)
def test_lag_in_crank_degrees(poles_ratio, expected):
    ratio = magneto_ratio(*poles_ratio)
    assert [round(magnet_to_crank(lag, ratio), 1) for lag in (15, 20, 25, 30)] == list(expected)


def test_start_spark():
    """25 BTC, ratio 1, lag 25: top centre; six cylinders, lag 30: 20 of crank (derived)."""
    assert start_spark(25, 25, magneto_ratio(4, 2)) == 0
    assert start_spark(25, 30, magneto_ratio(6, 2)) == 5


def test_internal_error_at_the_crank():
    """3 degrees of magnet is 2 of crank on six cylinders; +/- 4 is 4, 2.7 and 2 (derived)."""
    assert magnet_to_crank(3, magneto_ratio(6, 2)) == 2
    assert [round(magnet_to_crank(4, magneto_ratio(c, 2)), 1) for c in (4, 6, 8)] == [4.0, 2.7, 2.0]


@given(st.floats(-60, 60), st.sampled_from([(4, 2), (6, 2), (9, 4), (14, 8)]))
def test_magnet_and_crank_there_and_back(degrees, engine):
    ratio = magneto_ratio(*engine)
    assert crank_to_magnet(magnet_to_crank(degrees, ratio), ratio) == pytest.approx(degrees)


def test_retard_points_on_the_plate():
    """Main points at 10, 25 degrees of retard: the plate reads 35 (common practice, no source)."""
    assert retard_plate_reading(10, 25) == 35
    answer = points_answer(PointsReadings(main_plate=10, retard=25, retard_found=33), SIX)
    assert answer.number("retard points open at plate") == 35
    assert any("2 magnet deg early" in text and "kick-back" in text for text in answer.says)


def test_clearance_moves_within_the_e_gap_tolerance():
    """0.018 +/- 0.006 in, E-gap 10 +/- 4 on one model (FAA-H-8083-32B p4-29).

    Too small: minimum E-gap angle; too large: maximum (common practice, no source).
    """
    assert (CLEARANCE_LOW.value, CLEARANCE_HIGH.value) == (0.012, 0.024)
    gap = EGap(10, 4)
    assert "smallest E-gap angle allowed, 6 " in clearance_move(0.011, 0.012, 0.024, gap)
    assert "largest E-gap angle allowed, 14 " in clearance_move(0.025, 0.012, 0.024, gap)
    assert clearance_move(0.018, 0.012, 0.024, gap) == "within limits"


def test_clearance_in_millimetres_is_the_same_clearance():
    """0.46 mm is the handbook's own conversion of 0.018 in."""
    answer = points_answer(PointsReadings(clearance=Quantity(0.46, "mm", "length")), SIX)
    assert answer.says[0] == "Clearance: within limits."
    with pytest.raises(BadInput, match="did you mean in"):
        points_answer(PointsReadings(clearance=Quantity(0.018, "mm", "length")), SIX)


def timing(found, specified=22, last=None, band=0.5):
    both = dict.fromkeys(("left", "right"), float(specified))
    return TimingReadings(both, found, last or {}, {}, band)


@pytest.mark.parametrize(
    ("found", "late", "early"),
    [(22, "no", "no"), (20, "yes", "no"), (24, "no", "yes"), (21, "no|yes", "no"), (23.2, "no", "no|yes")],
)
def test_timing_grades(found, late, early):
    assert timing_results(timing({"left": found}), 1) == (
        f"fires_late.static@left={late}",
        f"fires_early.static@left={early}",
    )


def test_mistimed_at_maintenance():
    """22 specified, 50 to 60 found: both far early (study note of an accident of 8 Aug 2008)."""
    out = timing_results(timing({"left": 50.0, "right": 60.0}), 1)
    assert {"fires_early.static@left=yes", "fires_early.static@right=yes"} <= set(out)


def test_synchronization_follows_the_stagger():
    """Staggered timing is judged against each side's own figure (FAA-H-8083-32B p4-30)."""
    readings = TimingReadings({"left": 25.0, "right": 20.0}, {"left": 25.0, "right": 20.0}, {}, {})
    assert timing_answer(readings, SIX).number("between the two") == 0


def test_drift_names_wear_and_the_disagreement():
    assert "cam-follower" in drift_words(-2, 0.5)
    assert "Sources disagree" in drift_words(2, 0.5)
    assert "no drift" in drift_words(0.5, 0.5)


def test_not_read_is_said_and_not_graded():
    answer = timing_answer(timing({"left": 22.0}), SIX)
    assert not [r for r in answer.results if "right" in r]
    assert any(text.startswith("right: not read") for text in answer.says)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 200])
def test_bad_angles(bad):
    with pytest.raises(BadInput):
        timing_answer(timing({"left": bad}), SIX)


@pytest.mark.parametrize(
    ("found", "value", "where"),
    [
        ({"left": 16.0}, 0.67, "after"),  # 16 - 25 / 1.5, worked out by hand
        ({"left": 20.0}, 3.33, "before"),
        ({}, 3.33, "before"),  # nothing found: once timed to the 20 specified
    ],
)
def test_the_start_spark_follows_the_timing_found(found, value, where):
    """Six cylinders, 20 specified, lag 25 of the magnet: 16.67 of the crank."""
    readings = TimingReadings({"left": 20.0}, found, {}, {"left": 25.0})
    spark = next(v for v in timing_answer(readings, SIX).values if v.name == "start spark, left")
    assert (spark.value, spark.unit) == (value, f"crank deg {where} top centre")
    assert ("once timed as specified" in spark.note) == (not found)


def test_a_difference_of_readings_is_written_as_read():
    """20.3 against 22: 1.7, not 1.6999999999999993."""
    answer = timing_answer(timing({"left": 20.3, "right": 22.1}), SIX)
    assert (answer.number("off, left"), answer.number("off, right"), answer.number("between the two")) == (1.7, 0.1, 1.8)
