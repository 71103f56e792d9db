"""High-tension leads: insulation and continuity readings to results for each circuit."""

from dataclasses import dataclass

from diagnose.calc import spans
from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, below, result, shown
from diagnose.calc.units import Quantity, finite, plausible, value_in
from diagnose.problems import BadInput

SCHEMA = "calc-lead/1"
INSULATION = Limit(
    "insulation, at least", 100, "Mohm", source="10 kV DC to shield, an airframe manual, Feb 1989", ident="lead_insulation_min"
)
CONTINUITY = Limit("continuity, up to", 10, "ohm", source="estimate; a sound wire-cored lead showed under 2", ident="lead_continuity_max")
METER_SHARE = 0.05  # a leakage tester reads to about 5 %: estimate
ENOUGH_KV = 5.0  # an ordinary ohmmeter's few volts prove nothing about insulation: estimate


@dataclass(frozen=True)
class LeadReadings:
    """Readings of one lead; None = not measured. `*_over` marks a reading beyond the meter's range."""

    circuit: str
    insulation: Quantity | None = None
    insulation_over: bool = False
    test_voltage: Quantity | None = None
    continuity: Quantity | None = None
    continuity_over: bool = False
    flexed: bool = False


@dataclass(frozen=True)
class LeadLimits:
    """Limits: insulation in Mohm, continuity in ohm."""

    insulation: Limit = INSULATION
    continuity: Limit = CONTINUITY


def insulation_grade(readings: LeadReadings, limit: float) -> str | None:
    """Return the grade of insulation_low; `unknown` for a pass at too low a voltage; None when not measured. Raises BadInput."""
    if readings.insulation is None and not readings.insulation_over:
        return None
    if readings.test_voltage is None:
        raise BadInput("insulation: no test voltage; give it with its unit, such as 10 kV")
    kilovolts = value_in(plausible(readings.test_voltage, "test voltage", *spans.TEST_VOLTAGE), "kV")
    grade = "no"
    if readings.insulation is not None:
        megohms = value_in(readings.insulation, "Mohm")
        finite(megohms, "insulation", *spans.INSULATION)
        grade = below(megohms, limit, limit * METER_SHARE)
    # A leak found at a low voltage is a leak; a pass at a low voltage says nothing.
    return "unknown" if grade != "yes" and kilovolts < ENOUGH_KV else grade


def continuity_grade(readings: LeadReadings, limit: float) -> str | None:
    """Return the grade of continuity_lost; None when not measured. Raises BadInput."""
    if readings.continuity_over:
        return "yes"
    if readings.continuity is None:
        return None
    ohms = value_in(readings.continuity, "ohm")
    finite(ohms, "continuity", *spans.CONTINUITY)
    return above(ohms, limit, limit * METER_SHARE)


def lead_answer(readings: LeadReadings, limits: LeadLimits | None = None) -> Answer:
    """Grade one lead. Raises BadInput for a number that cannot be."""
    limits = limits or LeadLimits()
    leak = insulation_grade(readings, limits.insulation.value)
    open_ = continuity_grade(readings, limits.continuity.value)
    pairs = (("insulation_low", leak, limits.insulation), ("continuity_lost", open_, limits.continuity))
    return Answer(
        schema=SCHEMA,
        title=f"Lead to {readings.circuit}",
        inputs=_inputs(readings),
        limits=tuple(limit for _, grade, limit in pairs if grade),
        says=_says(leak, open_, readings.flexed),
        steps=_steps(leak, open_),
        cautions=(
            "High voltage at both ends of the lead: guard the terminals, warn others, discharge before touching.",
            "Leads off: the magneto is still live. Nobody in the propeller's arc.",
        ),
        results=tuple(result(symptom, "static", readings.circuit, grade) for symptom, grade, _ in pairs if grade),
    )


def _inputs(readings: LeadReadings) -> tuple[Value, ...]:
    rows = []
    if readings.insulation_over:
        rows.append(Value("insulation", "over range"))
    elif readings.insulation is not None:
        rows.append(shown("insulation", readings.insulation, "Mohm"))
    if readings.test_voltage is not None:
        rows.append(shown("test voltage", readings.test_voltage, "kV"))
    if readings.continuity_over:
        rows.append(Value("continuity", "over range"))
    elif readings.continuity is not None:
        rows.append(shown("continuity", readings.continuity, "ohm"))
    return (*rows, Value("lead flexed while testing", "yes" if readings.flexed else "no"))


def _says(leak: str | None, open_: str | None, flexed: bool) -> tuple[str, ...]:
    words = {
        "insulation_low": {
            "yes": "Leaks.",
            "no": "Insulation holds at this voltage.",
            "no|yes": "Insulation at the limit: dry the ends and repeat.",
            "unknown": "Test voltage too low to clear the insulation: use a high-voltage tester.",
        },
        "continuity_lost": {
            "yes": "No good path from end to end: lead open or a terminal not touching.",
            "no": "Path from end to end is there.",
            "no|yes": "At the limit: clean the ends and repeat.",
        },
    }
    out = [] if leak is None else [words["insulation_low"][leak]]
    out += [] if open_ is None else [words["continuity_lost"][open_]]
    if "no" in (leak, open_) and not flexed:
        out.append("Measured at rest: a lead can fail when bent, hot or wet. Flex it and repeat.")
    return tuple(out) or ("Nothing measured: nothing is known of this lead.",)


def _steps(leak: str | None, open_: str | None) -> tuple[Instruction, ...]:
    out = []
    if leak in ("yes", "no|yes"):
        out.append(
            Instruction(
                "Take the elbow off and repeat: cured = cut back and re-terminate; not = replace the lead (FAA-H-8083-32B p4-32).",
                "discharge the lead before touching it.",
                "20 min",
            )
        )
    if open_ in ("yes", "no|yes"):
        out.append(
            Instruction(
                "Look at the plug-end spring and the set screw in the block before replacing the lead.",
                minutes="15 min",
            )
        )
    return tuple(out)
