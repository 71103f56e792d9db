"""EGT and CHT per cylinder on both, left and right: which circuit does not do its work.

A healthy cylinder's EGT rises by about 50 to 100 degF when one magneto is switched off (trade text,
Sep/Oct 2010): one flame burns later. A cylinder whose plug on the remaining magneto does not fire goes
cold instead. All arithmetic is done in degF of *difference*; a reading in degC is converted as a difference.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from diagnose.calc.answer import Limit, result
from diagnose.calc.circuits import circuit_on
from diagnose.calc.readings_csv import POSITIONS, Temperatures
from diagnose.places import SIDES, Layout

BAND_F = 10.0  # change smaller than this is no change: estimate
ERRATIC_F = 60.0  # spread of repeated samples that a sound probe does not show: estimate
ALIKE_F = 25.0  # cylinders whose changes differ by less than this move alike: estimate
DEAD_PROBE_F = 400.0  # no running cylinder shows less on both: estimate
COLD_CHT_F = 50.0  # CHT this far below its own reading on both has cooled: estimate

RISE_LOW = Limit("healthy EGT rise, from", 50, "degF of difference", source="trade text, Sep/Oct 2010", ident="egt_rise_low")
RISE_HIGH = Limit("healthy EGT rise, to", 100, "degF of difference", source="trade text, Sep/Oct 2010", ident="egt_rise_high")


@dataclass(frozen=True)
class RiseLimits:
    """The span of a healthy EGT rise, in degF of difference."""

    low: Limit = RISE_LOW
    high: Limit = RISE_HIGH


@dataclass(frozen=True)
class Change:
    """One circuit: change from both (degF of difference, None = cannot say) and what it is.

    `kind`: healthy, falls, weak, high, already (on one plug before), unstable, flat, missing, probe.
    """

    circuit: str
    cylinder: int
    side: str
    degrees: float | None
    kind: str
    against_neighbours: float | None = None


@dataclass(frozen=True)
class EgtFindings:
    """Every circuit's change, the median change per side, sides without any rise, and cold heads."""

    changes: tuple[Change, ...]
    side_median: dict[str, float]
    flat: tuple[str, ...]
    cold_heads: dict[str, float]


def _scale(unit: str) -> float:
    """Return the factor that turns a difference in `unit` into degF of difference."""
    return 1.0 if unit == "degF" else 1.8


def _spread(values: Sequence[float]) -> float:
    return max(values) - min(values)


def level(table: Temperatures, column: str, cylinder: int) -> float | None:
    """Return the middle of the samples of one cell, in the table's own unit; None where nothing was read."""
    values = table.samples.get((column, cylinder))
    return None if values is None else median(values)


def difference_f(table: Temperatures, kind: str, side: str, cylinder: int) -> float | None:
    """Return the change from both to `side` for `kind` (egt, cht), in degF of difference; None if either is missing."""
    both = level(table, f"{kind}_both", cylinder)
    one = level(table, f"{kind}_{side}", cylinder)
    return None if both is None or one is None else (one - both) * _scale(table.unit)


def _absolute_f(table: Temperatures, value: float) -> float:
    return value if table.unit == "degF" else value * 1.8 + 32


def unstable(table: Temperatures, column: str, cylinder: int) -> bool:
    """Return whether three or more samples spread wider than a sound probe shows."""
    values = table.samples.get((column, cylinder), ())
    return len(values) >= 3 and _spread(values) * _scale(table.unit) > ERRATIC_F


def probe_fault(table: Temperatures, cylinder: int) -> bool:
    """Return whether the probe itself is suspect: unstable in every position read, or far too cold on both."""
    read = [f"egt_{p}" for p in POSITIONS if (f"egt_{p}", cylinder) in table.samples]
    both = level(table, "egt_both", cylinder)
    cold = both is not None and _absolute_f(table, both) < DEAD_PROBE_F
    return cold or (len(read) > 1 and all(unstable(table, column, cylinder) for column in read))


def _kind(degrees: float, other: float | None, limits: RiseLimits) -> str:
    if degrees <= -BAND_F:
        return "falls"
    if degrees > limits.high.value + BAND_F:
        return "high"
    if degrees >= limits.low.value - BAND_F:
        return "healthy"
    return "already" if other is not None and other <= -BAND_F else "weak"


def _medians(table: Temperatures, cylinders: int) -> dict[str, float]:
    out = {}
    for side in SIDES:
        known = [d for n in range(1, cylinders + 1) if not probe_fault(table, n) and (d := difference_f(table, "egt", side, n)) is not None]
        if known:
            out[side] = median(known)
    return out


def _flat_sides(table: Temperatures, cylinders: int) -> tuple[str, ...]:
    """Return the sides on which no cylinder moved, though at least half of them (two or more) were read."""
    out = []
    for side in SIDES:
        known = [d for n in range(1, cylinders + 1) if not probe_fault(table, n) and (d := difference_f(table, "egt", side, n)) is not None]
        if len(known) >= max(2, cylinders / 2) and all(abs(d) < BAND_F for d in known):
            out.append(side)
    return tuple(out)


def _change(table: Temperatures, layout: Layout, limits: RiseLimits, place: tuple[int, str], flat: bool) -> Change:
    cylinder, side = place
    circuit = circuit_on(layout, cylinder, side)
    degrees = difference_f(table, "egt", side, cylinder)
    if probe_fault(table, cylinder):
        return Change(circuit, cylinder, side, degrees, "probe")
    if degrees is None:
        return Change(circuit, cylinder, side, None, "missing")
    if flat:
        return Change(circuit, cylinder, side, degrees, "flat")
    if unstable(table, f"egt_{side}", cylinder):
        return Change(circuit, cylinder, side, degrees, "unstable")
    other = difference_f(table, "egt", "right" if side == "left" else "left", cylinder)
    return Change(circuit, cylinder, side, degrees, _kind(degrees, other, limits))


def examine(table: Temperatures, layout: Layout, limits: RiseLimits | None = None) -> EgtFindings:
    """Compare every circuit with its own cylinder on both and with its neighbours on the same magneto."""
    limits = limits or RiseLimits()
    medians = _medians(table, layout.cylinders)
    flat = _flat_sides(table, layout.cylinders)
    changes = []
    for side in SIDES:
        if not any(column.endswith(side) and column.startswith("egt") for column, _ in table.samples):
            continue
        for cylinder in range(1, layout.cylinders + 1):
            change = _change(table, layout, limits, (cylinder, side), side in flat)
            away = None if change.degrees is None else change.degrees - medians.get(side, change.degrees)
            changes.append(Change(change.circuit, cylinder, side, change.degrees, change.kind, away))
    return EgtFindings(tuple(changes), medians, flat, _cold_heads(table, layout))


def _cold_heads(table: Temperatures, layout: Layout) -> dict[str, float]:
    """Return the circuits whose CHT fell from both, by how much more than the middle cylinder of that side (degF)."""
    out = {}
    for side in SIDES:
        numbers = range(1, layout.cylinders + 1)
        known = {n: d for n in numbers if (d := difference_f(table, "cht", side, n)) is not None}
        for cylinder, degrees in known.items():
            out[circuit_on(layout, cylinder, side)] = degrees - median(known.values())
    return out


_GRADES = {
    "healthy": ("no", "no"),
    "falls": ("yes", "no"),
    "weak": ("no|yes", "no"),
    "high": ("no", "yes"),
    "already": ("no", "no"),
    "unstable": ("no|yes", "unknown"),
    "missing": ("cannot", "cannot"),
    "probe": ("unknown", "unknown"),
}


def egt_results(findings: EgtFindings, regime: str) -> tuple[str, ...]:
    """Return the result strings: per side whether EGT rose at all, per circuit egt_falls, egt_hot and stays_cold."""
    out = []
    for side in findings.side_median:
        grade = "yes" if side in findings.flat else ("no" if _moved(findings, side) else "no|yes")
        out.append(result("egt_no_rise", regime, side, grade))
    for change in findings.changes:
        if change.kind in _GRADES:
            low, high = _GRADES[change.kind]
            out += [
                result("egt_falls", regime, change.circuit, low),
                result("egt_hot", regime, change.circuit, high),
            ]
    for circuit, away in findings.cold_heads.items():
        grade = "yes" if away <= -COLD_CHT_F else ("no|yes" if away <= -COLD_CHT_F / 2 else "no")
        out.append(result("stays_cold", regime, circuit, grade))
    return tuple(out)


def _moved(findings: EgtFindings, side: str) -> bool:
    """Return whether some cylinder of this side moved clearly."""
    return any(change.side == side and change.kind in ("healthy", "falls", "high") for change in findings.changes)
