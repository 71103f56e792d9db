"""The rest of a confirming run: static rpm against its limits with field conditions, and the OFF check."""

from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, below, result, shown
from diagnose.calc.atmosphere import density_ratio
from diagnose.calc.spans import AIR, ELEVATION, STATIC_RPM
from diagnose.calc.units import Quantity, finite, plausible, value_in

SCHEMA = "calc-static-run/1"
CAUTION_POWER = "Full-power run: chocks and brakes, into wind, tail clear, a qualified person at the controls, short, temperatures watched."
CAUTION_OFF = "The propeller is live until the OFF check has shown otherwise, and even then treat it as live."
LIVE = (
    "The engine kept firing in OFF: at least one magneto is not grounded. LIVE PROPELLER. Stop by mixture, tag it, keep everybody "
    "out of the arc."
)


@dataclass(frozen=True)
class FieldConditions:
    """Conditions at the field: air temperature and elevation (read at standard pressure)."""

    temperature: Quantity | None = None
    elevation: Quantity | None = None


@dataclass(frozen=True)
class StaticRun:
    """Static full-throttle rpm with its limits (None = not entered), the field, and the OFF check."""

    rpm: float | None
    low: Limit | None
    high: Limit | None
    field: FieldConditions
    tach_band: float
    off_check: str = ""


def expected_ratio(density: float) -> float:
    """Return the static rpm at a density ratio against sea level, fixed pitch, unboosted: an estimate.

    Engine torque goes with 1.132 * sigma - 0.132 (a known rule for unboosted engines, from memory) and propeller
    torque with sigma * rpm squared.
    """
    return float(((1.132 * density - 0.132) / density) ** 0.5)


def _density(field: FieldConditions) -> float | None:
    if field.temperature is not None:
        plausible(field.temperature, "air temperature", *AIR)
    if field.elevation is not None:
        plausible(field.elevation, "field elevation", *ELEVATION)
    if field.temperature is None or field.elevation is None:
        return None
    return density_ratio(value_in(field.elevation, "m"), value_in(field.temperature, "degC"))


def static_run(run: StaticRun) -> Answer:
    """Grade the static rpm and the OFF check. Raises BadInput for a number that cannot be."""
    density = _density(run.field)
    return Answer(
        schema=SCHEMA,
        title="Static rpm and OFF check",
        inputs=_inputs(run),
        values=_values(run, density),
        limits=tuple(limit for limit in (run.low, run.high) if limit is not None),
        says=_says(run),
        steps=_steps(run),
        cautions=(LIVE, CAUTION_POWER) if run.off_check == "fires" else (CAUTION_POWER, CAUTION_OFF),
        results=_results(run),
    )


def _inputs(run: StaticRun) -> tuple[Value, ...]:
    rows = [] if run.rpm is None else [Value("static rpm", finite(run.rpm, "static rpm", *STATIC_RPM), "rpm")]
    if run.field.temperature is not None:
        other = "degF" if run.field.temperature.unit == "degC" else "degC"
        rows.append(shown("air temperature", run.field.temperature, other))
    if run.field.elevation is not None:
        other = "ft" if run.field.elevation.unit == "m" else "m"
        rows.append(shown("field elevation", run.field.elevation, other))
    rows.append(Value("OFF check at idle", run.off_check or "not done"))
    return tuple(rows)


def _values(run: StaticRun, density: float | None) -> tuple[Value, ...]:
    if density is None:
        return ()
    rows = [Value("air density ratio", round(density, 3), note="standard pressure at that elevation")]
    share = expected_ratio(density)
    rows.append(Value("static rpm to expect", round(100 * share, 1), "% of sea level, standard day", note="estimate"))
    return tuple(rows)


def _results(run: StaticRun) -> tuple[str, ...]:
    out: list[str] = []
    if run.rpm is not None and run.low is not None:
        out.append(result("static_rpm_low", "high_power", "engine", below(run.rpm, run.low.value, run.tach_band)))
    if run.off_check:
        out.append(result("runs_in_off", "idle", "engine", "yes" if run.off_check == "fires" else "no"))
    return tuple(out)


def _says(run: StaticRun) -> tuple[str, ...]:
    out: list[str] = []
    if run.rpm is None:
        out.append("Static rpm not read: nothing is known of full power.")
    elif run.low is None:
        out.append(
            "No static rpm limit entered, and none is typical: take it from the type data sheet or the maintenance manual. Nothing graded."
        )
    else:
        grade = below(run.rpm, run.low.value, run.tach_band)
        out.append(
            {
                "yes": "Below the lower limit: power is low, or the propeller is not the one the limit is for.",
                "no": "Not below the lower limit.",
                "no|yes": "Within the tachometer band of the lower limit: borderline, repeat it.",
            }[grade]
        )
    if run.rpm is not None and run.high is not None and above(run.rpm, run.high.value, run.tach_band) != "no":
        out.append("At or above the upper limit: check the propeller's pitch and the tachometer.")
    if not run.off_check:
        out.append("OFF check not done: whether both magnetos can be grounded is not known.")
    return tuple(out)


def _steps(run: StaticRun) -> tuple[Instruction, ...]:
    if run.off_check == "fires":
        return (
            Instruction(
                "Find the open P-lead: the side whose selection left no drop points at the other one.",
                "a magneto with its P-lead off or open is live whatever the switch says.",
            ),
        )
    if not run.off_check:
        return (
            Instruction(
                "OFF check: 700 rpm or lowest idle, OFF for a moment until firing has clearly stopped, back to BOTH before 200 to "
                "300 rpm are lost (FAA-H-8083-32B p4-31).",
                "too long in OFF and back can bang in the exhaust: then leave it OFF, mixture to cut-off.",
                "1 min",
            ),
        )
    return ()
