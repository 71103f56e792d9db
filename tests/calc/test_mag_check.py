"""Magneto check: grades, borderline readings, no drop, rise, dies, and what is left unsaid."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose import loaded
from diagnose.calc.answer import Limit
from diagnose.calc.confirming import missing
from diagnose.calc.mag_check import TYPICAL_DROP, MagLimits, MagReadings, SideReading, answer, check_magnetos, grade_drop
from diagnose.calc.static_run import FieldConditions, StaticRun, expected_ratio, static_run
from diagnose.calc.units import Quantity
from diagnose.cli.calculations.known import Known
from diagnose.problems import BadInput
from tests.calc.engines import engine

FOUR = engine("opposed-4")
BOTH = 1750.0


def run(left=None, right=None, layout=FOUR, limits=None, **more):
    sides = {side: r for side, r in (("left", left), ("right", right)) if r is not None}
    return answer(check_magnetos(MagReadings(BOTH, sides, **more), limits or MagLimits(), layout))


def test_one_dead_cylinder_by_number_and_by_words():
    """A large instant drop with roughness is a plug or lead (FAA-H-8083-32B p10-27)."""
    got = run(SideReading(1470, "rough", "fast"), SideReading(1690, "smooth"))
    assert got.number("drop, left") == 280
    assert got.number("difference") == 220
    assert {
        "mag_drop.runup@left=excessive",
        "drop_at_once.runup@left=yes",
        "drop_gradual.runup@left=no",
        "rough.runup@left=yes",
        "no_drop.runup@left=no",
        "mag_drop.runup@right=normal",
        "drop_difference.runup@engine=yes",
    } <= set(got.results)
    assert any("one dead cylinder" in text and "plug or lead" in text for text in got.says)


def test_smooth_slow_drop_speaks_for_timing():
    """Slow drop: ignition timing or valve adjustment (FAA-H-8083-32B p10-27); mixture (airframe maker's
    text)."""
    got = run(SideReading(1560, "smooth", "slow"))
    assert "drop_gradual.runup@left=yes" in got.results
    assert any("late timing" in text and "mixture" in text for text in got.says)


def test_size_needed_for_each_grade():
    two = 579
    for drop, grade in [
        (100, "normal"),
        (125, "normal|excessive"),
        (150, "normal|excessive"),
        (175, "normal|excessive"),
        (176, "excessive"),
        (500, "excessive"),
        (570, "excessive|severe"),
        (700, "severe"),
    ]:
        assert grade_drop(drop, 150, two, 25) == grade


def test_without_an_error_band_the_limit_itself_passes():
    assert grade_drop(150, 150, 579, 0) == "normal"
    assert grade_drop(150.1, 150, 579, 0) == "excessive"


ORDER = ("normal", "excessive", "severe")


@given(st.floats(0, 900), st.floats(0, 900), st.floats(60, 250), st.floats(90, 600), st.floats(0, 40))
def test_a_larger_drop_is_never_graded_better(a, b, limit, two, band):
    low, high = sorted((a, b))
    grades = [grade_drop(drop, limit, two, band).split("|") for drop in (low, high)]
    assert ORDER.index(grades[0][0]) <= ORDER.index(grades[1][-1])
    assert ORDER.index(grades[0][-1]) <= ORDER.index(grades[1][-1])


def test_many_cylinders_hide_a_silent_plug():
    """On 18 cylinders one silent plug costs about 93 rpm (estimate), inside every published limit of 125 to
    175."""
    got = run(SideReading(BOTH - 93), layout=engine("radial-18"))
    assert "mag_drop.runup@left=normal" in got.results
    assert any("hide inside the limit" in text for text in got.says)


def test_no_drop_has_three_meanings():
    """Ungrounded other side (FAA-H-8083-32B p10-26); timing early (airframe maker's text); other side
    dead."""
    got = run(SideReading(1750))
    assert "no_drop.runup@left=yes" in got.results
    text = " ".join(got.says)
    assert "right magneto is not grounded" in text
    assert "early" in text
    assert "right magneto is dead" in text
    assert any("OFF check" in step.text for step in got.steps)


def test_a_magneto_that_ran_the_engine_with_a_drop_is_not_called_dead():
    """With its own drop it fired alone; without one the other may have carried both selections."""
    ran = " ".join(run(SideReading(1750), SideReading(1690)).says)
    assert "right magneto is not grounded" in ran
    assert "dead" not in ran
    neither = " ".join(run(SideReading(1750), SideReading(1750)).says)
    assert "right magneto is dead" in neither
    died = " ".join(run(SideReading(1750), SideReading(None)).says)
    assert "an engine that died on the right magneto" in died
    assert "not grounded (" not in died


@pytest.mark.parametrize(("both", "left", "right"), [(1700, 1620, 1610), (1700, 1657, 1650), (1800, 1700, 1690)])
def test_an_ordinary_check_accuses_nothing(both, left, right):
    """Within the limit and even: the handbook's usual drop is 25 to 75 rpm (FAA-H-8083-32B p4-31), limits run to 175."""
    got = answer(check_magnetos(MagReadings(both, {"left": SideReading(left), "right": SideReading(right)}), MagLimits(), FOUR))
    text = " ".join(got.says)
    assert "usual" in text
    assert not any(word in text for word in ("late timing", "rich mixture", "healthy", "dead", "misses"))
    assert {r for r in got.results if "mag_drop" in r} == {"mag_drop.runup@left=normal", "mag_drop.runup@right=normal"}


def test_rough_within_the_limit_is_still_said():
    assert any("Rough all the same" in text for text in run(SideReading(1690, "rough")).says)


@pytest.mark.parametrize(("rpm", "grade"), [(1750, "yes"), (1765, "yes"), (1740, "no|yes"), (1725, "no")])
def test_small_drops(rpm, grade):
    """The usual span starts at 25 rpm (FAA-H-8083-32B p4-31)."""
    assert f"no_drop.runup@left={grade}" in run(SideReading(rpm)).results


def test_engine_dies_gives_that_and_nothing_else_of_that_side():
    """Definite evidence that the side is not working (FAA-H-8083-32B p10-27)."""
    got = run(SideReading(None, "rough", "fast"), SideReading(1700))
    assert [r for r in got.results if "@left" in r] == ["mag_drop.runup@left=dies"]


def test_a_rise_is_refused_until_it_is_repeated():
    reading = SideReading(1800, "smooth")
    with pytest.raises(BadInput, match="a rise; read both again"):
        run(reading)
    got = run(reading, rise_repeated=True, both_run="rough")
    assert not [r for r in got.results if r.startswith(("mag_drop", "drop", "no_drop"))]
    assert "rough.runup@engine=yes" in got.results
    assert "rough.runup@left=no" in got.results
    assert any("right magneto may spoil" in text for text in got.says)


def test_what_was_not_read_is_never_normal():
    got = run(SideReading(1690))
    assert not [r for r in got.results if "@right" in r or "rough" in r or "difference" in r]
    assert any(text.startswith("right: not read") for text in got.says)


def test_own_limit_carries_its_document():
    own = Limit("drop on each side", 125, "rpm", "AMM 74-00", "rev 7", entered=True)
    got = run(SideReading(1690), limits=MagLimits(drop=own))
    assert not got.typical_limits
    assert got.limits[0].standing == "AMM 74-00 (revision: rev 7)"
    assert run(SideReading(1690)).typical_limits
    assert run(SideReading(1690)).limits[0].standing.startswith("typical; enter your manual's")
    nameless = replace(TYPICAL_DROP, entered=True, source="")
    assert "without its document" in nameless.standing


def test_governed_propeller_grades_nothing():
    got = run(SideReading(1748), SideReading(1750), propeller="governing")
    assert not got.results
    assert not got.limits
    assert "governor" in got.says[0]


def test_unsettled_check_is_said():
    assert any("not settled" in text for text in run(SideReading(1690), both_after=1700).says)


def test_trend():
    got = run(SideReading(1690, previous_drop=20), SideReading(1690, previous_drop=50))
    assert any("+40" in text and text.startswith("left") for text in got.says)
    assert not any("since last time" in text and text.startswith("right") for text in got.says)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -100, 0, 99999])
def test_bad_rpm_is_one_line(bad):
    with pytest.raises(BadInput) as caught:
        run(SideReading(bad))
    assert "\n" not in str(caught.value)
    assert "left" in str(caught.value)


def static(rpm, off="stops", **field):
    low = Limit("static rpm, at least", 2250, "rpm", "data sheet", "rev 3", entered=True)
    return static_run(StaticRun(rpm, low, None, FieldConditions(**field), 25, off))


@pytest.mark.parametrize(("rpm", "grade"), [(2300, "no"), (2250, "no|yes"), (2240, "no|yes"), (2200, "yes")])
def test_static_rpm(rpm, grade):
    assert f"static_rpm_low.high_power@engine={grade}" in static(rpm).results


def test_firing_in_off_is_said_first():
    """Open P-lead, live propeller (FAA-H-8083-32B p4-31)."""
    got = static(2300, "fires")
    assert "runs_in_off.idle@engine=yes" in got.results
    assert "LIVE PROPELLER" in got.cautions[0]


def test_field_conditions():
    """Standard atmosphere: 1.0 at sea level and 15 degC; thin air lowers the static rpm to expect
    (estimate)."""
    assert expected_ratio(1.0) == pytest.approx(1.0)
    assert expected_ratio(0.8) == pytest.approx(((1.132 * 0.8 - 0.132) / 0.8) ** 0.5)
    got = static(2300, temperature=Quantity(59, "degF", "temperature"), elevation=Quantity(0, "ft", "height"))
    assert got.number("air density ratio") == 1.0


def test_no_static_limit_grades_nothing():
    got = static_run(StaticRun(2300, None, None, FieldConditions(), 25))
    assert not got.results
    assert any("No static rpm limit entered" in text for text in got.says)


PARTS = Known(loaded.rulebase).confirming()


def test_confirming_run_is_all_of_it():
    assert len(PARTS) == 4
    whole = (
        "drop.runup@left=normal",
        "drop.runup@right=normal",
        "power_low.high_power@engine=no",
        "runs_in_off.idle@engine=no",
        "rough.cruise_lean@engine=no",
    )
    assert missing(PARTS, whole, "cruise_lean") == ()
    for left_out in whole:
        assert len(missing(PARTS, tuple(r for r in whole if r != left_out), "cruise_lean")) == 1
    unknown = (*whole[:-1], "rough.cruise_lean@engine=unknown")
    assert missing(PARTS, unknown, "cruise_lean") == ("the complaint's own condition: cruise_lean",)
