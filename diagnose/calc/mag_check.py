"""The magneto check in numbers: drops, difference, trend, static rpm and the OFF check, against limits.

Left means running on the left magneto alone. Limits are an input: published ones run from 125 to 175 rpm,
so a shipped one is only typical. The size of a drop alone is weak evidence; smoothness and how fast it comes
say more (an airframe maker's service text; FAA-H-8083-32B p10-27).
"""

from dataclasses import dataclass, field

from diagnose.calc.answer import Answer, Limit, Value, near, result
from diagnose.calc.mag_words import CAUTIONS, likeness, next_steps
from diagnose.calc.propeller_load import DropEstimate, estimate_drops, power_loss
from diagnose.calc.spans import DROP, RPM
from diagnose.calc.units import finite
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

SCHEMA = "calc-mag-check/1"
# A needle can be read to about half of a 50 rpm division: estimate.
TACH_BAND = 25.0
# The handbook's usual drop starts at 25 rpm (FAA-H-8083-32B p4-31); less than that may be no drop at all.
SMALLEST_USUAL_DROP = 25.0
TYPICAL_DROP = Limit("drop on each side", 150, "rpm", source="published figures run from 125 to 175", ident="mag_drop_max")
TYPICAL_DIFFERENCE = Limit("difference between sides", 50, "rpm", source="the usual published figure", ident="mag_drop_difference")


@dataclass(frozen=True)
class SideReading:
    """One magneto alone: rpm (None when the engine died), rough/smooth, fast/slow/both, drop of last time."""

    rpm: float | None
    run: str = ""
    change: str = ""
    previous_drop: float | None = None


@dataclass(frozen=True)
class MagReadings:
    """One magneto check. `sides` holds only what was read; a side left out was not looked at."""

    both: float
    sides: dict[str, SideReading]
    both_after: float | None = None
    both_run: str = ""
    regime: str = "runup"
    mixture: str = ""
    power: str = ""
    propeller: str = "fixed"
    tach_band: float = TACH_BAND
    rise_repeated: bool = False


@dataclass(frozen=True)
class MagLimits:
    """The two limits of the check."""

    drop: Limit = TYPICAL_DROP
    difference: Limit = TYPICAL_DIFFERENCE


@dataclass(frozen=True)
class SideFinding:
    """What one side came to: drop in rpm, grade of the drop, and the grade of "no drop at all"."""

    side: str
    reading: SideReading
    drop: float | None
    grade: str
    no_drop: str
    rise: bool = False


@dataclass(frozen=True)
class MagFindings:
    """What every side that was read came to, with the estimate it was compared with."""

    readings: MagReadings
    limits: MagLimits
    estimate: DropEstimate
    findings: tuple[SideFinding, ...]
    drift: float | None = field(default=None)


def grade_drop(drop: float, limit: float, two_silent: float, band: float) -> str:
    """Return normal up to the limit, severe beyond what two silent cylinders cost; `a|b` within the tach band."""
    if near(drop, limit, band):
        return "normal|excessive"
    if drop < limit or drop == limit:
        return "normal"
    severe_from = max(limit, two_silent)
    if near(drop, severe_from, band):
        return "excessive|severe"
    return "severe" if drop > severe_from else "excessive"


def grade_no_drop(drop: float, band: float) -> str:
    """Return yes when rpm did not fall at all, `no|yes` for a fall too small to be sure of."""
    if drop <= 0:
        return "yes"
    return "no|yes" if drop < min(SMALLEST_USUAL_DROP, band or 1) else "no"


def check_magnetos(readings: MagReadings, limits: MagLimits, layout: Layout) -> MagFindings:
    """Grade every side that was read. Raises BadInput for a number that cannot be, or an unrepeated rise."""
    finite(readings.both, "rpm on both", *RPM)
    finite(readings.tach_band, "tachometer band", 0, 200, "rpm")
    finite(limits.drop.value, "drop limit", *DROP)
    finite(limits.difference.value, "difference limit", *DROP)
    estimate = estimate_drops(layout.cylinders, readings.both)
    findings = tuple(_side(side, readings, limits, estimate) for side in SIDES if side in readings.sides)
    drift = None
    if readings.both_after is not None:
        drift = finite(readings.both_after, "rpm on both after", *RPM) - readings.both
    return MagFindings(readings, limits, estimate, findings, drift)


def _side(side: str, readings: MagReadings, limits: MagLimits, estimate: DropEstimate) -> SideFinding:
    reading = readings.sides[side]
    if reading.rpm is None:
        return SideFinding(side, reading, None, "dies", "")
    drop = round(readings.both - finite(reading.rpm, f"rpm on {side}", 0, 5000, "rpm"), 3)
    if reading.previous_drop is not None:
        finite(reading.previous_drop, f"last drop on {side}", -200, 2000, "rpm")
    if reading.rpm == 0:
        raise BadInput(f'rpm on {side}: 0 rpm is not a running engine; write "dies" if the engine died')
    if drop < -readings.tach_band:
        return _rise(side, reading, drop, readings)
    if readings.propeller == "governing":
        return SideFinding(side, reading, drop, "", "")
    grade = grade_drop(drop, limits.drop.value, estimate.two_silent, readings.tach_band)
    return SideFinding(side, reading, drop, grade, grade_no_drop(drop, readings.tach_band))


def _rise(side: str, reading: SideReading, drop: float, readings: MagReadings) -> SideFinding:
    if not readings.rise_repeated:
        raise BadInput(
            f"rpm on {side}: {reading.rpm:g} is {-drop:g} rpm above the {readings.both:g} on both, a rise; read both "
            "again; if it repeats, say so with --rise-repeated"
        )
    return SideFinding(side, reading, drop, "", "", rise=True)


def difference(check: MagFindings) -> float | None:
    """Return the difference of the two drops in rpm, None unless both were read as ordinary drops."""
    drops = [f.drop for f in check.findings if f.drop is not None and not f.rise]
    return round(abs(drops[0] - drops[1]), 3) if len(drops) == 2 else None


def results(check: MagFindings) -> tuple[str, ...]:
    """Return the result strings. A side that died gives only that: the rest could not be looked at."""
    regime = check.readings.regime
    out: list[str] = []
    for finding in check.findings:
        out += _side_results(finding, regime)
    gap = difference(check)
    if gap is not None and check.readings.propeller != "governing":
        band = check.readings.tach_band
        limit = check.limits.difference.value
        grade = "no|yes" if near(gap, limit, band) else ("yes" if gap > limit else "no")
        out.append(result("drop_difference", regime, "engine", grade))
    if check.readings.both_run:
        out.append(result("rough", regime, "engine", "yes" if check.readings.both_run == "rough" else "no"))
    return tuple(out)


def _side_results(finding: SideFinding, regime: str) -> list[str]:
    side, reading = finding.side, finding.reading
    if finding.grade == "dies":
        return [result("mag_drop", regime, side, "dies")]
    out = []
    if finding.grade:
        out += [
            result("mag_drop", regime, side, finding.grade),
            result("no_drop", regime, side, finding.no_drop),
        ]
    if finding.grade and reading.change and finding.no_drop != "yes":
        for symptom, words in (("drop_at_once", ("fast", "both")), ("drop_gradual", ("slow", "both"))):
            out.append(result(symptom, regime, side, "yes" if reading.change in words else "no"))
    if reading.run:
        out.append(result("rough", regime, side, "yes" if reading.run == "rough" else "no"))
    return out


def _limits_used(check: MagFindings) -> tuple[Limit, ...]:
    """Return only the limits that graded something: what was not used must not mark the results."""
    if check.readings.propeller == "governing":
        return ()
    used = [check.limits.drop] if any(f.grade and f.grade != "dies" for f in check.findings) else []
    return (*used, check.limits.difference) if difference(check) is not None else tuple(used)


def _inputs(check: MagFindings) -> tuple[Value, ...]:
    readings = check.readings
    rows = [Value("both", readings.both, "rpm", note=readings.both_run)]
    for side in SIDES:
        reading = readings.sides.get(side)
        if reading is None:
            rows.append(Value(side, "not read"))
        else:
            note = ", ".join(word for word in (reading.run, reading.change) if word)
            value = "engine died" if reading.rpm is None else reading.rpm
            rows.append(Value(side, value, "" if reading.rpm is None else "rpm", note=note))
    if readings.both_after is not None:
        rows.append(Value("both, after", readings.both_after, "rpm"))
    rows.append(Value("tachometer band", readings.tach_band, "rpm", note="+/- on a drop; 25 unless entered"))
    rows += [
        Value(name, text)
        for name, text in (
            ("regime", readings.regime),
            ("mixture", readings.mixture or "not stated"),
            ("power", readings.power or "not stated"),
            ("propeller", readings.propeller),
        )
    ]
    return tuple(rows)


def _values(check: MagFindings) -> tuple[Value, ...]:
    rows: list[Value] = []
    for finding in check.findings:
        if finding.drop is None:
            continue
        loss = 100 * power_loss(check.readings.both, finding.drop)
        note = "" if check.readings.propeller == "governing" or finding.rise else f"about {loss:.0f} % of power"
        rows.append(Value(f"drop, {finding.side}", finding.drop, "rpm", note=note))
        if finding.reading.previous_drop is not None:
            change = finding.drop - finding.reading.previous_drop
            rows.append(Value(f"since last time, {finding.side}", f"{change:+.0f}", "rpm"))
    gap = difference(check)
    rows += [] if gap is None else [Value("difference", gap, "rpm")]
    estimate = check.estimate
    rows += [
        Value(name, round(value), "rpm", note="estimate")
        for name, value in (
            ("healthy drop", estimate.normal),
            ("one cylinder silent", estimate.one_silent),
            ("two cylinders silent", estimate.two_silent),
        )
    ]
    return tuple(rows)


def answer(check: MagFindings) -> Answer:
    """Return the whole check as one record."""
    return Answer(
        schema=SCHEMA,
        title=f"Magneto check, {check.estimate.cylinders} cylinders",
        inputs=_inputs(check),
        values=_values(check),
        limits=_limits_used(check),
        says=_says(check),
        steps=next_steps(
            {f.grade for f in check.findings},
            {f.no_drop for f in check.findings},
            any(f.rise for f in check.findings),
        ),
        cautions=CAUTIONS,
        results=results(check),
    )


def _says(check: MagFindings) -> tuple[str, ...]:
    readings = check.readings
    out = (
        []
        if readings.propeller != "governing"
        else [
            "The governor holds rpm, so the drop is hidden: nothing is graded. Check with the propeller on its low-pitch stop, or "
            "compare manifold pressure or torque."
        ]
    )
    for finding in check.findings:
        out += [f"{finding.side}: {text}" for text in _side_says(check, finding)]
    out += [f"{side}: not read, so nothing is known of it." for side in SIDES if side not in readings.sides]
    gap = difference(check)
    plain = {finding.grade for finding in check.findings} == {"normal"}
    if plain and gap is not None and gap > check.limits.difference.value + readings.tach_band:
        out.append("The sides differ by more than the limit: one side may be timed apart from the other (FAA-H-8083-32B p10-27).")
    if check.drift is not None and abs(check.drift) > readings.tach_band:
        out.append(f"Rpm on both moved by {check.drift:+.0f} during the check: it was not settled. Repeat it.")
    if check.limits.drop.value < check.estimate.two_silent and check.estimate.one_silent < check.limits.drop.value:
        out.append(
            f"On {check.estimate.cylinders} cylinders one silent plug costs about {check.estimate.one_silent:.0f} rpm and can hide "
            "inside the limit: look at EGT too."
        )
    elif check.estimate.two_silent <= check.limits.drop.value:
        out.append("On this engine even two silent plugs can hide inside the limit: look at EGT too.")
    return tuple(out)


def _side_says(check: MagFindings, finding: SideFinding) -> list[str]:
    if finding.grade == "dies":
        return ["the engine died, so this magneto is not working, or its P-lead is grounded."]
    if finding.rise:
        other = "right" if finding.side == "left" else "left"
        return [
            f"rpm rises by {-(finding.drop or 0):.0f}. Abnormal: the {other} magneto may spoil the run on both (cross-firing, crossed "
            "leads, wild timing), or the tachometer is fed from one magneto or its P-lead. No drop is graded; enter roughness on "
            "both and on each side."
        ]
    if not finding.grade or finding.drop is None:
        return []
    out = [likeness(finding.drop, check.estimate, finding.reading.run, finding.reading.change, finding.grade)]
    if "|" in finding.grade:
        out.append("within the tachometer band of a limit: borderline. Repeat it before acting on it.")
    if finding.no_drop != "no":
        beside = next((f for f in check.findings if f.side != finding.side), None)
        out.append(_no_drop_words(finding, beside))
    previous = finding.reading.previous_drop
    if previous is not None and abs(finding.drop - previous) > check.readings.tach_band:
        out.append(f"the drop has changed by {finding.drop - previous:+.0f} rpm since last time, more than the tachometer band.")
    return out


def _no_drop_words(finding: SideFinding, beside: SideFinding | None) -> str:
    """Return what no drop may mean; a magneto that ran the engine alone with a drop of its own is not dead."""
    other = "right" if finding.side == "left" else "left"
    start = "no drop" if finding.no_drop == "yes" else "hardly any drop; give it time to settle and repeat. It"
    if beside is not None and beside.grade == "dies":
        return f"{start} fits an engine that died on the {other} magneto: this one carried it all along."
    live = f"the {other} magneto is not grounded (a live propeller with the switch OFF)"
    if beside is not None and beside.no_drop == "no":
        return f"{start} may mean {live}, or timing set early."
    return f"{start} may mean {live}, that the {other} magneto is dead and this one carried the engine all along, or timing set early."
