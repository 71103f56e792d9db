"""Magneto-to-engine timing found against the data plate, the two magnetos against each other, and the drift.

All angles are crank degrees before top centre (BTC): fewer than specified is late, more is early.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, near, result
from diagnose.calc.circuits import poles
from diagnose.calc.magneto_speed import magnet_to_crank, magneto_ratio, start_spark
from diagnose.calc.spans import TIMING_FOUND, TIMING_SPECIFIED
from diagnose.calc.units import finite
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

SCHEMA = "calc-timing/1"
# A protractor and a pointer are read to about half a degree: estimate.
BAND = 0.5
TOLERANCE = Limit(
    "off the specified angle", 1, "crank deg", source="makers' usual +/- 1, from memory; trade 1 to 2", ident="timing_tolerance"
)
SYNCHRONY = Limit("between the two magnetos", 1, "crank deg", source="estimate; open together unless staggered", ident="timing_synchrony")
CAUTIONS = (
    "Switch on BOTH while timing with a light: the propeller is live. Plugs out or leads off, nobody in the arc, fuel off, chocks in.",
    "Master OFF, so that the starter cannot turn it; by hand, only in the normal direction.",
)


@dataclass(frozen=True)
class TimingReadings:
    """Specified and found angles by side (crank deg BTC); `last` what was found last time, where known.

    `lag` is the impulse coupling's lag in magnet degrees, by side, where there is one.
    """

    specified: Mapping[str, float]
    found: Mapping[str, float]
    last: Mapping[str, float]
    lag: Mapping[str, float]
    band: float = BAND


def errors(readings: TimingReadings) -> dict[str, float]:
    """Return found minus specified by side: positive is early. Raises BadInput."""
    out = {}
    for side in SIDES:
        if side in readings.found:
            found = finite(readings.found[side], f"timing found, {side}", *TIMING_FOUND)
            if side not in readings.specified:
                raise BadInput(f"timing, {side}: no specified angle; give the one on the data plate")
            out[side] = round(found - finite(readings.specified[side], f"timing specified, {side}", *TIMING_SPECIFIED), 3)
    return out


def timing_results(readings: TimingReadings, tolerance: float) -> tuple[str, ...]:
    """Return fires_late and fires_early for each magneto that was read."""
    out = []
    for side, error in errors(readings).items():
        out.append(result("fires_late", "static", side, above(-error, tolerance, readings.band)))
        out.append(result("fires_early", "static", side, above(error, tolerance, readings.band)))
    return tuple(out)


def _between(readings: TimingReadings) -> float | None:
    """Return how far the two magnetos are apart from their specified stagger, crank degrees."""
    off = errors(readings)
    return round(abs(off["left"] - off["right"]), 3) if len(off) == 2 else None


def timing_answer(
    readings: TimingReadings,
    layout: Layout,
    tolerance: Limit = TOLERANCE,
    synchrony: Limit = SYNCHRONY,
) -> Answer:
    """Grade the timing. Raises BadInput for an angle that cannot be."""
    finite(readings.band, "protractor band", 0, 5, "deg")
    finite(tolerance.value, "timing tolerance", 0.1, 10, "deg")
    finite(synchrony.value, "synchronization limit", 0, 10, "deg")
    return Answer(
        schema=SCHEMA,
        title=f"Magneto-to-engine timing, {layout.cylinders} cylinders",
        inputs=_inputs(readings),
        values=_values(readings, layout),
        limits=(tolerance, synchrony),
        says=_says(readings, tolerance.value, synchrony.value),
        steps=_STEPS,
        cautions=CAUTIONS,
        results=timing_results(readings, tolerance.value),
    )


def _inputs(readings: TimingReadings) -> tuple[Value, ...]:
    groups = (("specified", readings.specified), ("found", readings.found), ("last time", readings.last))
    rows = [Value(f"{name}, {side}", group[side], "crank deg BTC") for name, group in groups for side in SIDES if side in group]
    rows += [Value(f"impulse lag, {side}", readings.lag[side], "magnet deg") for side in SIDES if side in readings.lag]
    return (*rows, Value("protractor band", readings.band, "crank deg", note="+/-"))


def _values(readings: TimingReadings, layout: Layout) -> tuple[Value, ...]:
    ratio = magneto_ratio(layout.cylinders, poles(layout))
    rows = [Value("magnet turns per crank turn", float(ratio), "", note=f"{layout.cylinders}/(2 x {poles(layout)})")]
    for side, error in errors(readings).items():
        word = "as specified" if error == 0 else ("early" if error > 0 else "late")
        rows.append(Value(f"off, {side}", abs(error), f"crank deg {word}"))
    apart = _between(readings)
    rows += [] if apart is None else [Value("between the two", apart, "crank deg")]
    rows += [_start_spark(readings, side, ratio) for side in readings.lag if side in readings.found or side in readings.specified]
    for side, last in readings.last.items():
        if side in readings.found:
            rows.append(Value(f"drift, {side}", f"{readings.found[side] - last:+.1f}", "crank deg, + is earlier"))
    return tuple(rows)


def _start_spark(readings: TimingReadings, side: str, ratio: Fraction) -> Value:
    """Return where the start spark falls: from the timing found, and only where none was found from the one specified."""
    lag = finite(readings.lag[side], f"impulse lag, {side}", 0, 60, "magnet deg")
    where = round(start_spark(readings.found.get(side, readings.specified.get(side, 0.0)), lag, ratio), 2)
    once = "" if side in readings.found else "once timed as specified; "
    return Value(
        f"start spark, {side}",
        abs(where),
        f"crank deg {'before' if where >= 0 else 'after'} top centre",
        note=f"{once}lag is {magnet_to_crank(lag, ratio):.1f} crank deg",
    )


def _says(readings: TimingReadings, tolerance: float, synchrony: float) -> tuple[str, ...]:
    out = []
    for side, error in errors(readings).items():
        if near(abs(error), tolerance, readings.band):
            out.append(f"{side}: within reading error of the tolerance: borderline, read it again.")
        elif abs(error) > tolerance:
            out.append(f"{side}: {'early' if error > 0 else 'late'} by {abs(error):g}: re-time it.")
        else:
            out.append(f"{side}: within tolerance.")
    out += [f"{side}: not read, so nothing is known of it." for side in SIDES if side not in readings.found]
    apart = _between(readings)
    if apart is not None and near(apart, synchrony, readings.band):
        out.append("Synchronization: within reading error of the limit: borderline, read it again.")
    elif apart is not None:
        out.append("Synchronization: " + ("outside the limit: set both afresh." if apart > synchrony else "within."))
    for side, last in readings.last.items():
        if side in readings.found:
            out.append(f"{side}: {drift_words(readings.found[side] - last, readings.band)}")
    return tuple(out)


def drift_words(drift: float, band: float) -> str:
    """Return which wear would explain a drift (positive: earlier), with what the sources disagree on."""
    if abs(drift) <= band:
        return "no drift beyond reading error."
    if drift < 0:
        return (
            "drifted later: cam-follower wear opens the points later and in the end not at all (general motor text); a slipped clamp "
            "or worn drive can do it too."
        )
    return (
        "drifted earlier: contact faces that erode open the points earlier (common practice, no source). Sources disagree: a trade "
        "text says timing does not advance by itself on a sound engine, an owner reports drift to 31 by wear. Suspect a slipped "
        "clamp or the last setting first."
    )


_STEPS = (
    Instruction(
        "Find true top centre of No 1 on compression; a 'top' that spreads over 1 to 5 degrees is the no-travel zone (FAA-H-8083-32B "
        "p4-27)."
    ),
    Instruction(
        "Turn back past the mark (some books: about 40 degrees) and come forward to it: the last movement is always in normal "
        "rotation, so that gear backlash is taken up. Hold magneto-gear backlash out with light torque against rotation.",
        "live propeller: plugs out, hands clear of the arc when it kicks.",
    ),
    Instruction("Impulse coupling fitted: go on past the click, back to about 5 degrees before the mark, then forward."),
    Instruction(
        "Sight square across the marks; check the light's batteries. Both lights change at the mark, together unless a stagger is "
        "specified. On a dual unit time the engine on the breaker that opens first."
    ),
    Instruction("Clamp by the manual's torque, then check again: back one blade and forward to the mark."),
)
