"""Plugs, leads and compression: limits, borderline readings, and what is not known."""

import pytest

from diagnose.calc.compression import CompressionReading, compression_answer, grade, leakage, orifice
from diagnose.calc.leads import LeadReadings, lead_answer
from diagnose.calc.plug_service import STEPS, service_answer
from diagnose.calc.plugs import PlugLimits, PlugReadings, Wear, gap_grades, plug_answer, wear_grade
from diagnose.calc.units import Quantity
from diagnose.problems import BadInput

LIMITS = PlugLimits()


def inch(value):
    return Quantity(value, "in", "length")


def psi(value):
    return Quantity(value, "psi", "pressure")


# 0.015 to 0.021 in: the outer ends of two published pairs, a twin's book 0.015 to 0.018, a single's 0.017 to 0.021.
@pytest.mark.parametrize(
    ("gap", "wide", "narrow"),
    [
        (0.018, "no", "no"),
        (0.030, "yes", "no"),
        (0.012, "no", "yes"),
        (0.021, "no|yes", "no"),
        (0.0148, "no", "no|yes"),
    ],
)
def test_gap(gap, wide, narrow):
    assert gap_grades(PlugReadings("3-bottom", gap=inch(gap)), LIMITS) == (wide, narrow)


def test_gap_in_millimetres():
    """0.55 to 0.60 mm on one light-sport engine (FAA-H-8083-32B p11-24) is wide for the massive type."""
    assert gap_grades(PlugReadings("1-top", gap=Quantity(0.6, "mm", "length")), LIMITS) == ("yes", "no")


@pytest.mark.parametrize(
    ("go", "no_go", "grades"),
    [
        (True, False, ("no", "no")),
        (True, True, ("yes", "no")),
        (False, False, ("no", "yes")),
        (True, None, ("unknown", "no")),
        (None, True, ("yes", "no")),
    ],
)
def test_wires(go, no_go, grades):
    assert gap_grades(PlugReadings("1-top", go=go, no_go=no_go), LIMITS) == grades


def test_wires_that_contradict():
    with pytest.raises(BadInput, match="gauge again"):
        gap_grades(PlugReadings("1-top", go=False, no_go=True), LIMITS)


# Half size: airframe manuals 74-22-00; oval centre: trade, Jul 2018; flat 0.015 in a side: common practice.
@pytest.mark.parametrize(
    ("wear", "expected"),
    [
        (Wear(ground=inch(0.02), ground_new=inch(0.045)), "yes"),
        (Wear(ground=inch(0.0225), ground_new=inch(0.045)), "yes"),
        (Wear(ground=inch(0.04), ground_new=inch(0.045)), "no"),
        (Wear(centre_short=inch(0.04), centre_long=inch(0.1)), "yes"),
        (Wear(fine_wire=inch(0.01), fine_wire_new=inch(0.02)), "yes"),
        (Wear(flat=inch(0.015)), "yes"),
        (Wear(flat=inch(0.005)), "no"),
        (Wear(), None),
    ],
)
def test_wear(wear, expected):
    assert wear_grade(wear) == expected


def test_wear_that_cannot_be():
    with pytest.raises(BadInput, match="larger than the new"):
        wear_grade(Wear(ground=inch(0.1), ground_new=inch(0.045)))
    with pytest.raises(BadInput, match="give both"):
        wear_grade(Wear(ground=inch(0.02)))


# New 1000 to 2000 ohm; 5 kohm rejects (one plug maker, trade); field extremes 15 kohm to over 1 Mohm.
@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (1.5, "kohm", "no"),
        (5, "kohm", "no|yes"),
        (15, "kohm", "yes"),
        (1.2, "Mohm", "yes"),
        (4000, "ohm", "no"),
    ],
)
def test_resistor(value, unit, expected):
    got = plug_answer(PlugReadings("3-bottom", resistance=Quantity(value, unit, "resistance")))
    assert got.results == (f"resistor_over.static@3-bottom={expected}",)


def test_only_what_was_measured_is_graded():
    got = plug_answer(PlugReadings("3-bottom"))
    assert got.results == ()
    assert got.limits == ()
    assert "nothing is known" in got.says[0]


def test_service_in_order():
    """20 to 30 minutes of soak, well dry, against "do not soak" (FAA-H-8083-32B p4-36): both are told."""
    texts = [step.text for step in STEPS]

    def first(word):
        return next(n for n, text in enumerate(texts) if word in text)

    assert first("numbered tray") < first("approved solvent") < first("Abrasive") < first("Gap with") < first("Torque")
    soak = STEPS[first("20 to 30 minutes")]
    assert "well kept dry" in soak.text
    assert "do not soak" in soak.text
    assert "banned" in soak.caution


def test_torque_from_the_manual_in_wrench_units():
    """300 lb-in = 25 lb-ft = 33.9 N m (computed)."""
    low, high = Quantity(300, "lb-in", "torque"), Quantity(30, "lb-ft", "torque")
    got = service_answer(8, (low, high), "AMM", "rev 2")
    assert got.number("torque, from, on the wrench") == 25
    also = got.values[0].also
    assert also is not None
    assert also.value == 33.9
    assert not got.typical_limits
    assert service_answer(8, None).typical_limits
    with pytest.raises(BadInput, match="lower, then upper"):
        service_answer(8, (high, low))


KV10 = Quantity(10, "kV", "voltage")


# 10 kV DC and at least 100 Mohm to the shield (airframe manual of 28 Feb 1989, para 8-32).
@pytest.mark.parametrize(("megohm", "expected"), [(500, "no"), (20, "yes"), (100, "no|yes"), (98, "no|yes")])
def test_insulation(megohm, expected):
    reading = LeadReadings("3-bottom", insulation=Quantity(megohm, "Mohm", "resistance"), test_voltage=KV10)
    assert lead_answer(reading).results == (f"insulation_low.static@3-bottom={expected}",)


def test_an_ordinary_meter_clears_nothing_but_can_convict():
    volts = Quantity(9, "V", "voltage")
    good = LeadReadings("3-bottom", insulation_over=True, test_voltage=volts)
    bad = LeadReadings("3-bottom", insulation=Quantity(50, "kohm", "resistance"), test_voltage=volts)
    assert lead_answer(good).results == ("insulation_low.static@3-bottom=unknown",)
    assert lead_answer(bad).results == ("insulation_low.static@3-bottom=yes",)
    with pytest.raises(BadInput, match="test voltage"):
        lead_answer(LeadReadings("3-bottom", insulation_over=True))


def test_continuity():
    """Under 2 ohm on a sound wire-cored lead (owners' post)."""
    sound = LeadReadings("3-bottom", continuity=Quantity(1.8, "ohm", "resistance"))
    assert lead_answer(sound).results == ("continuity_lost.static@3-bottom=no",)
    assert lead_answer(LeadReadings("3-bottom", continuity_over=True)).results == ("continuity_lost.static@3-bottom=yes",)


def test_compression_80_in_60_out():
    """AC 43.13-1B 8-14: 25 %, suspect, test again after at least 3 minutes of running."""
    reading = CompressionReading(3, psi(60))
    assert leakage(reading) == 0.25
    got = compression_answer(reading)
    assert got.results == ("air_lost.static@3=no|yes",)
    assert any("suspect" in text for text in got.says)
    assert "3 minutes" in got.steps[0].text


@pytest.mark.parametrize(("value", "expected"), [(76, "no"), (62, "no"), (60, "no|yes"), (58, "yes"), (0, "yes")])
def test_compression_grades(value, expected):
    assert grade(CompressionReading(3, psi(value))) == expected


def test_still_low_hot_after_the_recheck():
    got = compression_answer(CompressionReading(3, psi(50), hot=True, recheck=True, air="exhaust"))
    assert got.results == ("air_lost.hot@3=yes",)
    assert "remove and inspect" in got.steps[0].text
    assert "unless maker's data says otherwise" in got.steps[0].text
    assert any("exhaust valve" in text for text in got.says)


def test_maker_rule_comes_first():
    """One maker allows 50/80 when its own procedure passes (trade)."""
    reading = CompressionReading(3, psi(55), maker_limit=psi(50), document="SB", revision="A")
    assert grade(reading) == "no"
    assert not compression_answer(reading).typical_limits


def test_orifice():
    """AC 43.13-1B 8-14: 0.040 in under 5.00 in of bore, 0.060 in from there."""
    assert [orifice(inch(bore)) for bore in (4.99, 5.0, 5.125)] == [0.040, 0.060, 0.060]


def test_gauges_mixed_up():
    with pytest.raises(BadInput, match="which gauge is which"):
        grade(CompressionReading(3, psi(90)))
    with pytest.raises(BadInput, match="did you mean psi"):
        grade(CompressionReading(3, psi(60), regulated=Quantity(80, "kPa", "pressure")))


def test_bar_gives_the_same_grade():
    bar = CompressionReading(3, Quantity(4.0, "bar", "pressure"), regulated=Quantity(5.516, "bar", "pressure"))
    assert grade(bar) == grade(CompressionReading(3, psi(58.0))) == "yes"
