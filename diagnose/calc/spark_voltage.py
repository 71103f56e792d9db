"""Voltage a spark needs against gap, pressure and temperature. An explanation, not a limit.

Two forms, both for clean air between even electrodes; a plug's edges lower it and its deposits change it:

* uniform field (textbook, from memory): V[kV] = 24.22 * density * d + 6.08 * sqrt(density * d), d in cm;
* Paschen (public table): V = B p d / (ln(A p d) - ln ln(1 + 1/gamma)), A 15 /(cm Torr), B 365 V/(cm Torr),
  gamma 0.01.

Density is relative to 20 degC and 101.325 kPa.
"""

import math
from dataclasses import dataclass

from diagnose.calc.answer import Answer, Table, Value, shown
from diagnose.calc.atmosphere import pressure_ratio
from diagnose.calc.units import Quantity, finite, plausible, value_in
from diagnose.problems import BadInput

SCHEMA = "calc-spark-voltage/1"
GAP_SPAN = (0.005, 0.08, "in")
PASCHEN_A = 15.0  # 1/(cm Torr)
PASCHEN_B = 365.0  # V/(cm Torr)
PASCHEN_GAMMA = 0.01
PASCHEN_RANGE = (
    0.5,
    1000.0,
)  # Torr cm: below the minimum, and far above it, the form does not hold (estimate)
UNIFORM_RANGE = (0.01, 10.0)  # density * cm over which the textbook form is used (estimate)
TORR_PER_KPA = 760 / 101.325


@dataclass(frozen=True)
class Condition:
    """Gas in the gap when the spark is due: absolute pressure in kPa and temperature in K, both estimates."""

    name: str
    kilopascal: float
    kelvin: float


CONDITIONS = (
    # Cold compression with the throttle hardly closing anything off at that speed, spark near top centre.
    Condition("cranking", 800, 450),
    Condition("run-up", 600, 600),
    Condition("take-off", 1000, 600),
)


def density(kilopascal: float, kelvin: float) -> float:
    """Return the gas density relative to 20 degC and 101.325 kPa. Raises BadInput."""
    if finite(kilopascal, "pressure") <= 0 or finite(kelvin, "temperature") <= 0:
        raise BadInput("gas: pressure and absolute temperature must be above zero; check the units")
    return kilopascal / 101.325 * 293.15 / kelvin


def uniform_kv(gap_cm: float, relative_density: float) -> float:
    """Return the breakdown in kV by the uniform-field form. Raises BadInput outside its range."""
    product = finite(gap_cm, "gap") * relative_density
    if not UNIFORM_RANGE[0] <= product <= UNIFORM_RANGE[1]:
        raise BadInput(
            f"spark voltage: density times gap {product:.3g} cm is outside the form's range; stay from "
            f"{UNIFORM_RANGE[0]:g} to {UNIFORM_RANGE[1]:g} cm"
        )
    return 24.22 * product + 6.08 * math.sqrt(product)


def paschen_volts(torr_cm: float) -> float:
    """Return the breakdown in volts by the Paschen form. Raises BadInput outside its range."""
    low, high = PASCHEN_RANGE
    if not low <= finite(torr_cm, "pressure times gap") <= high:
        raise BadInput(f"spark voltage: {torr_cm:.3g} Torr cm is outside the Paschen form's range; stay from {low:g} to {high:g} Torr cm")
    bottom = math.log(PASCHEN_A * torr_cm) - math.log(math.log(1 + 1 / PASCHEN_GAMMA))
    return PASCHEN_B * torr_cm / bottom


def paschen_minimum() -> tuple[float, float]:
    """Return (Torr cm, volts) at the lowest point of the Paschen form: e / A * ln(1 + 1/gamma)."""
    product = math.e / PASCHEN_A * math.log(1 + 1 / PASCHEN_GAMMA)
    return product, PASCHEN_B * product


def paschen_kv(gap_cm: float, relative_density: float) -> float:
    """Return the Paschen form at a relative density, pressure taken at 20 degC."""
    return paschen_volts(760 * relative_density * gap_cm) / 1000


_SAYS = (
    "A wide gap fails first where pressure is highest: take-off, sudden throttle.",
    "Cranking needs about as much as take-off, from a magnet that turns slowly: wide gaps make starting hard (FAA-H-8083-32B p4-35).",
    "Thin air in an unpressurised distributor lets the spark jump there instead; pressurised ones are the remedy on turbocharged "
    "engines (FAA-H-8083-32B p4-7).",
    "Pressures and temperatures at the spark are estimates, and both forms are for even electrodes in clean air: use the trend, not "
    "the figure.",
)


def voltage_answer(new: Quantity, worn: Quantity, altitude: Quantity) -> Answer:
    """Return the needed voltage for a new and a worn gap, and what altitude does to an unpressurised distributor."""
    gaps = [value_in(plausible(quantity, name, *GAP_SPAN), "mm") / 10 for quantity, name in ((new, "new gap"), (worn, "worn gap"))]
    metres = value_in(plausible(altitude, "altitude", 0, 11000, "m"), "m")
    return Answer(
        schema=SCHEMA,
        title="Voltage a spark needs (an explanation, not a limit)",
        inputs=(
            shown("gap, new", new, "mm" if new.unit == "in" else "in"),
            shown("gap, worn", worn, "mm" if worn.unit == "in" else "in"),
            shown("altitude", altitude, "ft" if altitude.unit == "m" else "m"),
        ),
        values=_values(gaps, pressure_ratio(metres)),
        tables=(_breakdown(gaps),),
        says=_SAYS,
    )


def _values(gaps: list[float], ratio: float) -> tuple[Value, ...]:
    take_off = density(CONDITIONS[-1].kilopascal, CONDITIONS[-1].kelvin)
    growth = uniform_kv(gaps[1], take_off) / uniform_kv(gaps[0], take_off) - 1
    return (
        Value("worn gap against new, take-off", f"{100 * growth:+.0f}", "%"),
        Value("outside pressure there", round(ratio, 3), "of sea level", note="standard atmosphere"),
        Value(
            "flashover in the distributor",
            round(100 * _open_air(ratio)),
            "% of sea level",
            note="10 mm in open air, same temperature",
        ),
    )


def _breakdown(gaps: list[float]) -> Table:
    rows = []
    for condition in CONDITIONS:
        gas = density(condition.kilopascal, condition.kelvin)
        cells = [f"{form(gap, gas):.1f}" for gap in gaps for form in (uniform_kv, paschen_kv)]
        rows.append((condition.name, f"{condition.kilopascal / 100:g} bar, {condition.kelvin:g} K", *cells))
    columns = ("when", "gas (estimate)", "new uniform", "new Paschen", "worn uniform", "worn Paschen")
    return Table("Breakdown, kV, by the uniform-field and the Paschen form", columns, tuple(rows))


def _open_air(ratio: float) -> float:
    """Return the flashover of a 10 mm gap at a pressure ratio, as a share of sea level."""
    return uniform_kv(1.0, ratio) / uniform_kv(1.0, 1.0)
