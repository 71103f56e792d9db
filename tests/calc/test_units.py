"""Units: published conversions, exact arithmetic, and a general units library as a second way."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.answer import shown
from diagnose.calc.conversion import conversion_answer
from diagnose.calc.units import KINDS, Quantity, convert, read_plausible, read_quantity, value_in, written_in
from diagnose.problems import BadInput


# Computed from 25.4 mm = 1 in, 32 degF = 0 degC; tags AM.I.J.R4, AM.I.J.S1, AM.I.H.S8 of the airman
# standards.
@pytest.mark.parametrize(
    ("text", "kind", "unit", "expected", "digits"),
    [
        ("0.016 in", "length", "mm", 0.4064, 4),
        ("0.021 in", "length", "mm", 0.5334, 4),
        ("1570 F", "temperature", "degC", 854.4, 1),
        ("1600 F", "temperature", "degC", 871.1, 1),
        ("100 F", "temperature difference", "degC", 55.6, 1),
        ("300 in-lb", "torque", "lb-ft", 25.0, 9),
        ("300 in-lb", "torque", "N m", 33.9, 1),
    ],
)
def test_published_conversions(text, kind, unit, expected, digits):
    assert round(value_in(read_quantity(text, kind, "x"), unit), digits) == expected


def test_difference_never_gets_the_32():
    as_difference = value_in(Quantity(0, "degF", "temperature difference"), "degC")
    as_temperature = value_in(Quantity(0, "degF", "temperature"), "degC")
    assert as_difference == 0
    assert as_temperature == pytest.approx(-160 / 9)


def test_original_is_kept_beside_the_converted():
    answer = conversion_answer("300 lb-in", "N m", difference=False)
    assert (answer.inputs[0].value, answer.inputs[0].unit) == (300, "lb-in")
    assert answer.number("in N m") == pytest.approx(33.8954, abs=1e-4)


def test_exact_factor_by_hand():
    """1 lbf = 0.45359237 kg x 9.80665 m/s2 and 1 in = 0.0254 m, so 12 lb-in is exactly one lb-ft."""
    pound_inch = Fraction(45359237, 10**8) * Fraction(980665, 10**5) * Fraction(254, 10**4)
    factors = {unit.symbol: unit.factor for unit in KINDS["torque"]}
    assert factors["lb-in"] == pound_inch
    assert factors["lb-ft"] == 12 * pound_inch


PINT_NAMES = {
    "mm": "millimeter",
    "in": "inch",
    "thou": "thou",
    "degC": "degC",
    "degF": "degF",
    "N m": "newton*meter",
    "lb-in": "force_pound*inch",
    "lb-ft": "force_pound*foot",
    "kPa": "kilopascal",
    "psi": "psi",
    "bar": "bar",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "Gohm": "gigaohm",
    "V": "volt",
    "kV": "kilovolt",
    "m": "meter",
    "ft": "foot",
}


@pytest.fixture(scope="module")
def registry():
    pint = pytest.importorskip("pint", reason="the general units library is only an oracle here")
    return pint.UnitRegistry()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_pair_agrees_with_a_units_library(kind, registry):
    delta = "delta_" if kind == "temperature difference" else ""
    for source in KINDS[kind]:
        for target in KINDS[kind]:
            theirs = registry.Quantity(123.4, delta + PINT_NAMES[source.symbol])
            expected = theirs.to(delta + PINT_NAMES[target.symbol]).magnitude
            assert value_in(Quantity(123.4, source.symbol, kind), target.symbol) == pytest.approx(expected, rel=1e-9)


@given(st.sampled_from(sorted(KINDS)), st.floats(-1e6, 1e6), st.data())
def test_there_and_back(kind, value, data):
    first, second = (data.draw(st.sampled_from([u.symbol for u in KINDS[kind]])) for _ in range(2))
    back = convert(convert(Quantity(value, first, kind), second), first)
    assert back.value == pytest.approx(value, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "kind", "names"),
    [
        ("0.018", "length", "mm, in"),
        ("0.018 furlong", "length", "mm, in"),
        ("30 psi", "torque", "N m, lb-in, lb-ft"),
        ("3 mohm", "resistance", "ohm, kohm, Mohm"),
    ],
)
def test_wrong_or_missing_unit_names_the_allowed_ones(text, kind, names):
    with pytest.raises(BadInput, match=f"use one of: {names}") as caught:
        read_quantity(text, kind, "reading")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["nan in", "inf in", "-inf in", "", "in", "0,018 in", "1.2.3 in"])
def test_bad_numbers_are_refused(text):
    with pytest.raises(BadInput):
        read_quantity(text, "length", "gap")


def test_swapped_unit_is_named():
    with pytest.raises(BadInput, match="did you mean in\\?"):
        read_plausible("0.018 mm", "length", "gap", (0.005, 0.08, "in"))
    with pytest.raises(BadInput, match="did you mean lb-in\\?"):
        read_plausible("300 lb-ft", "torque", "torque", (10, 50, "lb-ft"))


@pytest.mark.parametrize(
    "text", [" " * 40_000 + "x" + " " * 40_000 + "1", "1" + " " * 80_000 + "x", "1 " * 40_000, "9" * 80_000, "." * 80_000]
)
def test_a_long_text_is_refused_after_one_look(text):
    """Quadratic or cubic work on 80,000 characters would not end within the life of this test run."""
    with pytest.raises(BadInput) as caught:
        read_quantity(text, "length", "gap")
    assert len(str(caught.value)) < 150


@pytest.mark.parametrize(
    ("text", "inches"),
    [("18 thou", 0.018), ("18thou", 0.018), ("18 mil", 0.018), ("0.018 in", 0.018), ('0.018"', 0.018), (".018 inch", 0.018)],
)
def test_a_thou_is_a_thousandth_of_an_inch(text, inches):
    assert value_in(read_quantity(text, "length", "gap"), "in") == inches


def test_inches_for_thou_are_named():
    with pytest.raises(BadInput, match="did you mean thou\\?"):
        read_plausible("18 in", "length", "gap", (0.005, 0.08, "in"))


def test_a_conversion_is_of_the_number_as_written():
    """0.018 x 25.4 is 0.4572 by hand; the binary fraction nearest to 0.018 gave 0.45719999999999994."""
    assert value_in(Quantity(0.018, "in", "length"), "mm") == 0.4572
    assert value_in(Quantity(0.457, "mm", "length"), "mm") == 0.457


@pytest.mark.parametrize(
    ("quantity", "unit", "written"),
    [
        (Quantity(80, "psi", "pressure"), "kPa", 551.6),
        (Quantity(0.5, "mm", "length"), "in", 0.01969),
        (Quantity(1234.5678, "psi", "pressure"), "psi", 1234.5678),  # as written: nothing was converted
        (Quantity(1200, "ft", "height"), "m", 365.8),
        (Quantity(12345, "ft", "height"), "m", 3763),
    ],
)
def test_a_converted_number_has_four_figures(quantity, unit, written):
    assert written_in(quantity, unit) == written
    assert shown("x", quantity, unit).also == (None if unit == quantity.unit else Quantity(written, unit, quantity.kind))
