"""One spark plug on the bench: gap, electrode wear, resistor; readings to results for its circuit."""

from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, below, near, result, shown
from diagnose.calc.units import Quantity, finite, plausible, value_in
from diagnose.problems import BadInput

SCHEMA = "calc-plug/1"
GAP_SPAN = (0.005, 0.08, "in")
SIZE_SPAN = (0.005, 0.4, "in")
GAUGE_BAND_IN = 0.0005  # a wire gauge tells about half a thousandth of an inch: estimate
METER_SHARE = 0.02  # an ohmmeter reads to about 2 %: estimate
HALF = 0.5  # electrodes worn to half their size are done (airframe manuals; trade)
CENTRE_FLAT_IN = 0.015  # centre electrode flattened on each side: common practice, no source
_GAP_BOOKS = "one twin's book 0.015 to 0.018, one single's 0.017 to 0.021"
GAP_LOW = Limit("gap, from", 0.015, "in", source=_GAP_BOOKS, ident="plug_gap_min")
GAP_HIGH = Limit("gap, to", 0.021, "in", source=_GAP_BOOKS, ident="plug_gap_max")
RESISTANCE_HIGH = Limit(
    "resistance, up to", 5000, "ohm", source="one plug maker; another disputes it; new 1000-2000", ident="plug_resistance_max"
)
CAUTIONS = (
    "Deposits hold lead: gloves, eye protection, no dry blowing, wash hands before eating.",
    "A plug that was dropped is scrap: cracks do not show (FAA-H-8083-32B p4-35).",
)


@dataclass(frozen=True)
class Wear:
    """Sizes now and when new, same kind of measure; `flat` is the flat on each side of the centre electrode."""

    ground: Quantity | None = None
    ground_new: Quantity | None = None
    centre_short: Quantity | None = None
    centre_long: Quantity | None = None
    flat: Quantity | None = None
    fine_wire: Quantity | None = None
    fine_wire_new: Quantity | None = None


@dataclass(frozen=True)
class PlugReadings:
    """What was measured on the plug of `circuit`; None = not measured.

    `go` tells whether the wire of the lower limit passes, `no_go` whether that of the upper limit does.
    """

    circuit: str
    gap: Quantity | None = None
    go: bool | None = None
    no_go: bool | None = None
    wear: Wear = Wear()
    resistance: Quantity | None = None
    open_resistor: bool = False


@dataclass(frozen=True)
class PlugLimits:
    """Limits of the plug; lengths in inches, resistance in ohms."""

    gap_low: Limit = GAP_LOW
    gap_high: Limit = GAP_HIGH
    resistance: Limit = RESISTANCE_HIGH


def gap_grades(readings: PlugReadings, limits: PlugLimits) -> tuple[str, str] | None:
    """Return the grades of electrodes_wide and electrodes_narrow; None when the gap was not measured. Raises BadInput."""
    if readings.gap is not None:
        inches = value_in(plausible(readings.gap, "plug gap", *GAP_SPAN), "in")
        return (
            above(inches, limits.gap_high.value, GAUGE_BAND_IN),
            below(inches, limits.gap_low.value, GAUGE_BAND_IN),
        )
    if readings.go is False and readings.no_go:
        raise BadInput("gap wires: the thick one passes and the thin one does not; gauge again")
    if readings.go is None and readings.no_go is None:
        return None
    wide = "unknown" if readings.no_go is None else ("yes" if readings.no_go else "no")
    narrow = "unknown" if readings.go is None else ("no" if readings.go else "yes")
    # A wire that passes the upper limit also passes the lower one, and the other way round.
    return wide, "no" if wide == "yes" else narrow


def _shares(wear: Wear) -> list[tuple[str, float]]:
    pairs = (
        ("ground electrode against new", wear.ground, wear.ground_new),
        ("centre, short side against long", wear.centre_short, wear.centre_long),
        ("fine-wire electrode against new", wear.fine_wire, wear.fine_wire_new),
    )
    out = []
    for name, now, new in pairs:
        if (now is None) != (new is None):
            raise BadInput(f"{name}: only one of the two sizes given; give both")
        if now is not None and new is not None:
            sizes = [value_in(plausible(q, name, *SIZE_SPAN), "in") for q in (now, new)]
            if sizes[0] > sizes[1] * 1.05:
                raise BadInput(f"{name}: worn size is larger than the new one; check which is which")
            out.append((name, sizes[0] / sizes[1]))
    return out


def wear_grade(wear: Wear) -> str | None:
    """Return the grade of electrodes_worn: yes when any electrode is at half its size; None when nothing was measured.

    Sources: two airframe manuals (about 50 %), trade text of Jul 2018 (oval centre); the flat of 0.015 in on each
    side is common practice, no source. Raises BadInput.
    """
    grades = [below(share, HALF, 0.02) if share != HALF else "yes" for _, share in _shares(wear)]
    if wear.flat is not None:
        flat = value_in(plausible(wear.flat, "centre electrode flat", 0, 0.1, "in"), "in")
        grades.append("yes" if flat >= CENTRE_FLAT_IN else above(flat, CENTRE_FLAT_IN, GAUGE_BAND_IN))
    for grade in ("yes", "no|yes", "no"):
        if grade in grades:
            return grade
    return None


def resistance_grade(readings: PlugReadings, limit: float) -> str | None:
    """Return the grade of resistor_over; None when not measured. Raises BadInput."""
    if readings.open_resistor:
        return "yes"
    if readings.resistance is None:
        return None
    ohms = value_in(readings.resistance, "ohm")
    finite(ohms, "plug resistance", 0, 1e9, "ohm")
    return above(ohms, limit, limit * METER_SHARE)


def plug_results(readings: PlugReadings, limits: PlugLimits) -> tuple[str, ...]:
    """Return the result strings of the plug's circuit, for what was measured only."""
    gap = gap_grades(readings, limits)
    found = (
        ("electrodes_wide", gap[0] if gap else None),
        ("electrodes_narrow", gap[1] if gap else None),
        ("electrodes_worn", wear_grade(readings.wear)),
        ("resistor_over", resistance_grade(readings, limits.resistance.value)),
    )
    return tuple(result(symptom, "static", readings.circuit, grade) for symptom, grade in found if grade)


def plug_answer(readings: PlugReadings, limits: PlugLimits | None = None) -> Answer:
    """Grade one plug. Raises BadInput for a number that cannot be."""
    limits = limits or PlugLimits()
    if limits.gap_low.value >= limits.gap_high.value:
        raise BadInput(f"gap limits: {limits.gap_low.value:g} is not under {limits.gap_high.value:g}; give lower, then upper")
    measured_gap = gap_grades(readings, limits) is not None
    used = [limits.gap_low, limits.gap_high] if measured_gap else []
    used += [limits.resistance] if readings.resistance or readings.open_resistor else []
    return Answer(
        schema=SCHEMA,
        title=f"Spark plug at {readings.circuit}",
        inputs=_inputs(readings),
        values=tuple(Value(name, round(100 * share), "%") for name, share in _shares(readings.wear)),
        limits=tuple(used),
        says=_says(readings, limits),
        steps=_steps(readings, limits),
        cautions=CAUTIONS,
        results=plug_results(readings, limits),
    )


def _inputs(readings: PlugReadings) -> tuple[Value, ...]:
    rows = []
    wear = readings.wear
    lengths = (
        ("gap", readings.gap),
        ("ground electrode", wear.ground),
        ("ground electrode, new", wear.ground_new),
        ("centre, short side", wear.centre_short),
        ("centre, long side", wear.centre_long),
        ("centre flat, each side", wear.flat),
        ("fine wire", wear.fine_wire),
        ("fine wire, new", wear.fine_wire_new),
    )
    for name, length in lengths:
        if length is not None:
            rows.append(shown(name, length, "mm" if length.unit == "in" else "in"))
    words = {True: "passes", False: "does not pass"}
    rows += [
        Value(name, words[verdict])
        for name, verdict in (
            ("go wire (lower limit)", readings.go),
            ("no-go wire (upper limit)", readings.no_go),
        )
        if verdict is not None
    ]
    if readings.open_resistor:
        rows.append(Value("resistance", "over range"))
    elif readings.resistance is not None:
        rows.append(shown("resistance", readings.resistance, "ohm"))
    return tuple(rows)


def _says(readings: PlugReadings, limits: PlugLimits) -> tuple[str, ...]:
    out = []
    gap = gap_grades(readings, limits)
    if gap is not None:
        out.append(_gap_words(*gap))
    wear = wear_grade(readings.wear)
    if wear is not None:
        out.append(
            {
                "yes": "Worn to half its size or less: done, replace.",
                "no": "Wear: above half size.",
                "no|yes": "Wear: close to half: measure again.",
            }[wear]
        )
    grade = resistance_grade(readings, limits.resistance.value)
    if grade is not None:
        out.append(
            {
                "yes": "Resistor over the limit: weak spark, hard start, burnt distributor parts.",
                "no": "Resistor under the limit.",
                "no|yes": "Resistor at the limit: measure again.",
            }[grade]
        )
    ohms = value_in(readings.resistance, "ohm") if readings.resistance else None
    if ohms is not None and ohms < limits.resistance.value and near(ohms, 0, 100):
        out.append("Nearly no resistance: is it a plug without a resistor, or a fouled nose bypassing it?")
    if not out:
        out.append("Nothing measured: nothing is known of this plug.")
    return tuple(out)


def _gap_words(wide: str, narrow: str) -> str:
    if "yes" in (wide, narrow):
        return "Gap too wide: misfires at high power first." if wide == "yes" else "Gap too narrow."
    if "no|yes" in (wide, narrow):
        return "Gap within gauge error of a limit: borderline, gauge again with round wires."
    return "Gap: one wire not tried." if "unknown" in (wide, narrow) else "Gap within limits."


def _steps(readings: PlugReadings, limits: PlugLimits) -> tuple[Instruction, ...]:
    gap = gap_grades(readings, limits) or ("", "")
    steps = []
    if "yes" in gap[0]:
        steps.append(
            Instruction(
                "Close the gap by the manual's method, ground electrode only, then gauge again.",
                "never bend or lever against the centre electrode or its nose: it cracks.",
            )
        )
    if gap[1] == "yes":
        steps.append(
            Instruction(
                "Too narrow after service usually means closed too far: opening it again is not allowed by every maker; see the "
                "manual, else replace."
            )
        )
    return tuple(steps)
