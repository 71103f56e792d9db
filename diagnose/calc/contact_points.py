"""Internal timing: E-gap, contact clearance, retard points on the timing plate.

The opening is set at the E-gap first; then the clearance must fall within limits; if both cannot be met the
points are replaced (FAA-H-8083-32B p4-29).
"""

from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, below, near, result, shown
from diagnose.calc.circuits import poles
from diagnose.calc.magneto_speed import magnet_to_crank, magneto_ratio, retard_plate_reading
from diagnose.calc.spans import E_GAP, E_GAP_FOUND, E_GAP_TOLERANCE
from diagnose.calc.units import Quantity, finite, plausible, value_in
from diagnose.places import Layout
from diagnose.problems import BadInput

SCHEMA = "calc-points/1"
CLEARANCE_SPAN = (0.001, 0.06, "in")
CLEARANCE_LOW = Limit(
    "contact clearance, from", 0.012, "in", source="0.018 +/- 0.006 on one model, H-8083-32B p4-29", ident="point_clearance_min"
)
CLEARANCE_HIGH = Limit(
    "contact clearance, to", 0.024, "in", source="0.018 +/- 0.006 on one model, H-8083-32B p4-29", ident="point_clearance_max"
)
RETARD_BAND = 1.0  # a timing plate is read to about a degree: estimate
FEELER_BAND_IN = 0.0005  # a feeler gauge tells about half a thousandth of an inch: estimate


@dataclass(frozen=True)
class EGap:
    """E-gap in magnet degrees past neutral: specified, tolerance either way, and where the points open now."""

    specified: float
    tolerance: float
    found: float | None = None


@dataclass(frozen=True)
class PointsReadings:
    """What was measured; None = not measured. `retard` is the specified retard angle, `retard_found` the plate."""

    clearance: Quantity | None = None
    e_gap: EGap | None = None
    main_plate: float | None = None
    retard: float | None = None
    retard_found: float | None = None
    magneto: str = ""


def clearance_move(clearance_in: float, low: float, high: float, e_gap: EGap | None) -> str:
    """Return which way to move within the E-gap tolerance to bring the clearance in.

    Too small: re-time at the smallest E-gap angle allowed; too large: at the largest (common practice, no source).
    It agrees with the cam: points that open earlier stand wider at its high point.
    """
    if low <= clearance_in <= high:
        return "within limits"
    small = clearance_in < low
    word, end = ("small", "smallest") if small else ("large", "largest")
    angle = ""
    if e_gap is not None:
        value = e_gap.specified - e_gap.tolerance if small else e_gap.specified + e_gap.tolerance
        angle = f", {value:g} magnet deg past neutral"
    return f"too {word}: re-time at the {end} E-gap angle allowed{angle}; if still out, replace the points"


def points_answer(readings: PointsReadings, layout: Layout, low: Limit = CLEARANCE_LOW, high: Limit = CLEARANCE_HIGH) -> Answer:
    """Grade the points. Raises BadInput for a number that cannot be."""
    _check(readings, low, high)
    return Answer(
        schema=SCHEMA,
        title=f"Points and internal timing, {layout.cylinders} cylinders, {poles(layout)} poles",
        inputs=_inputs(readings),
        values=_values(readings, layout),
        limits=(low, high) if readings.clearance is not None else (),
        says=_says(readings, low, high),
        steps=_STEPS,
        cautions=("A magneto off its harness, or with its P-lead off, is live: one turn by hand can give a shock.",),
        results=points_results(readings, low.value, high.value) if readings.magneto else (),
    )


def points_results(readings: PointsReadings, low: float, high: float) -> tuple[str, ...]:
    """Return the results for the magneto the points are in; a reading within its own error of a limit is `no|yes`."""
    found: list[tuple[str, str]] = []
    if readings.clearance is not None:
        inches = value_in(readings.clearance, "in")
        found += [
            ("contacts_narrow", below(inches, low, FEELER_BAND_IN)),
            ("contacts_wide", above(inches, high, FEELER_BAND_IN)),
        ]
    gap = readings.e_gap
    if gap is not None and gap.found is not None:
        found.append(("e_gap_off", above(abs(gap.found - gap.specified), gap.tolerance, 0)))
    if readings.retard_found is not None and readings.retard is not None and readings.main_plate is not None:
        off = abs(readings.retard_found - retard_plate_reading(readings.main_plate, readings.retard))
        found.append(("retard_off", above(off, RETARD_BAND, 0)))
    return tuple(result(symptom, "static", readings.magneto, grade) for symptom, grade in found)


def _check(readings: PointsReadings, low: Limit, high: Limit) -> None:
    if readings.clearance is not None:
        plausible(readings.clearance, "contact clearance", *CLEARANCE_SPAN)
    if low.value >= high.value:
        raise BadInput(f"clearance limits: {low.value:g} is not under {high.value:g}; give lower, then upper")
    if readings.e_gap is not None:
        finite(readings.e_gap.specified, "E-gap", *E_GAP)
        finite(readings.e_gap.tolerance, "E-gap tolerance", *E_GAP_TOLERANCE)
        finite(
            readings.e_gap.found if readings.e_gap.found is not None else 0,
            "E-gap found",
            *E_GAP_FOUND,
        )
    for name, value in (
        ("main points on the plate", readings.main_plate),
        ("retard angle", readings.retard),
        ("retard points on the plate", readings.retard_found),
    ):
        if value is not None:
            finite(value, name, 0, 90, "magnet deg")


def _inputs(readings: PointsReadings) -> tuple[Value, ...]:
    rows = []
    if readings.clearance is not None:
        rows.append(shown("contact clearance", readings.clearance, "mm" if readings.clearance.unit == "in" else "in"))
    if readings.e_gap is not None:
        gap = readings.e_gap
        rows.append(Value("E-gap specified", gap.specified, "magnet deg", note=f"+/- {gap.tolerance:g}"))
        rows += [] if gap.found is None else [Value("E-gap found", gap.found, "magnet deg")]
    pairs = (
        ("main points on the plate", readings.main_plate),
        ("retard angle", readings.retard),
        ("retard points found", readings.retard_found),
    )
    return (*rows, *(Value(name, value, "magnet deg") for name, value in pairs if value is not None))


def _values(readings: PointsReadings, layout: Layout) -> tuple[Value, ...]:
    ratio = magneto_ratio(layout.cylinders, poles(layout))
    rows = [Value("magnet turns per crank turn", float(ratio), note=f"{layout.cylinders}/(2 x {poles(layout)})")]
    gap = readings.e_gap
    if gap is not None:
        crank = magnet_to_crank(gap.tolerance, ratio)
        rows.append(Value("E-gap tolerance at the crank", round(crank, 2), "crank deg"))
        if gap.found is not None:
            error = round(gap.found - gap.specified, 3)
            rows.append(Value("E-gap off", error, "magnet deg", note=f"{magnet_to_crank(error, ratio):+.2f} crank deg"))
    if readings.retard is not None:
        rows.append(Value("retard angle at the crank", round(magnet_to_crank(readings.retard, ratio), 2), "crank deg"))
        if readings.main_plate is not None:
            plate = retard_plate_reading(readings.main_plate, readings.retard)
            rows.append(Value("retard points open at plate", plate, "magnet deg"))
    return tuple(rows)


def _says(readings: PointsReadings, low: Limit, high: Limit) -> tuple[str, ...]:
    out = []
    if readings.clearance is not None:
        inches = value_in(readings.clearance, "in")
        out.append(f"Clearance: {clearance_move(inches, low.value, high.value, readings.e_gap)}.")
        if near(inches, low.value, FEELER_BAND_IN) or near(inches, high.value, FEELER_BAND_IN):
            out.append("Within feeler error of a limit: borderline, measure again at the cam's high point.")
    gap = readings.e_gap
    if gap is not None and gap.found is not None:
        error = gap.found - gap.specified
        out.append(
            "E-gap: within tolerance."
            if abs(error) <= gap.tolerance
            else f"E-gap: points open {abs(error):g} magnet deg {'late' if error > 0 else 'early'}: the spark is weak even when "
            "engine timing is right. Set internal timing first, then the engine."
        )
    out += _retard_says(readings)
    return tuple(out)


def _retard_says(readings: PointsReadings) -> list[str]:
    if readings.retard_found is None or readings.retard is None or readings.main_plate is None:
        return []
    off = readings.retard_found - retard_plate_reading(readings.main_plate, readings.retard)
    if off == 0:
        return ["Retard points: open where they should."]
    risk = "less retard than specified: kick-back at start" if off < 0 else "more retard: hard start"
    return [f"Retard points: {abs(off):g} magnet deg {'early' if off < 0 else 'late'} - {risk}."]


_STEPS = (
    Instruction(
        "Set the main points to open at the E-gap, all marks agreeing; then measure clearance at the cam's high point; then the "
        "retard points, later by the specified angle.",
        "keep oil and solvent off the points.",
    ),
    Instruction("Spread the points no more than 1/16 in: a spring bent further loses closing force (H-8083-32B p4-39)."),
    Instruction("Check the magneto-to-engine timing afterwards: it moves with the points."),
)
