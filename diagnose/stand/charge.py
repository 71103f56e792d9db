"""The charge: throttle flow, manifold pressure, and the mixture that each cylinder gets.

`phi` is fuel-air ratio over the chemically correct one: best power about 1.1, full rich on the ground about 1.25,
peak exhaust temperature about 0.98 (from memory; the shape is common knowledge of engine books).
"""

from __future__ import annotations

from diagnose.stand.conditions import SEA_LEVEL_BAR, Settings, Weather
from diagnose.stand.parts import Cylinder, Supply

FULL_RICH = 1.25
IDLE_PHI = 1.37  # a good idle mixture speeds up 10 to 20 rpm at cut-off (FAA-H-8083-32B p10-28): derived
LEVER_PHI = {"best_power": 1.1, "lean": 0.93}
IDLE_BELOW = 1000.0  # rpm under which the idle system meters: estimate
CARB_HEAT_KELVIN = 40.0  # estimate
INHG_PER_BAR = 29.53
GAMMA = 1.4
SOUND_LEAK = 0.35  # leaks of a sound cylinder in orifice areas; power figures include them


def flow_share(ratio: float) -> float:
    """Return flow through an opening at pressure ratio `ratio` (down over up), over choked flow (gas dynamics)."""
    critical = (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1))
    if ratio <= critical:
        return 1.0
    if ratio >= 1:
        return 0.0

    def term(r: float) -> float:
        return (r ** (2 / GAMMA) - r ** ((GAMMA + 1) / GAMMA)) ** 0.5  # type: ignore[no-any-return]

    return term(ratio) / term(critical)


def full_throttle_bar(weather: Weather, rpm: float, blocked: float) -> float:
    """Return manifold pressure at full throttle; ducts lose a little, a blocked filter more (estimates)."""
    return weather.bar * (1 - (0.03 + 0.35 * blocked) * min(1.5, (rpm / 2300) ** 2))


def manifold_bar(opening: float, rpm: float, weather: Weather, blocked: float) -> float:
    """Return manifold pressure where flow past the throttle meets what the cylinders draw.

    `opening` is throttle area in the unit in which choked flow at 1 bar gives 1 bar at 1,000 rpm.
    """
    top = full_throttle_bar(weather, rpm, blocked)
    low, high = 0.02, top
    for _ in range(30):
        middle = (low + high) / 2
        surplus = opening * top * flow_share(middle / top) - middle * rpm / 1000
        low, high = (middle, high) if surplus > 0 else (low, middle)
    return (low + high) / 2


def opening_for(pressure: float, rpm: float, weather: Weather, blocked: float) -> float:
    """Return the throttle area that gives a manifold pressure at a speed; a very large one at full throttle."""
    top = full_throttle_bar(weather, rpm, blocked)
    flow = flow_share(min(0.9999, pressure / top))
    return pressure * rpm / 1000 / (top * flow) if flow > 0 else 1e6


def intake_density(weather: Weather, settings: Settings) -> float:
    """Return density at the carburettor over standard."""
    heat = CARB_HEAT_KELVIN if settings.carb_heat else 0.0
    return weather.density * weather.kelvin / (weather.kelvin + heat)


def mean_phi(supply: Supply, weather: Weather, settings: Settings, rpm: float, pressure: float) -> float:
    """Return the engine's mean mixture. A carburettor grows rich with thin air, as one over the root of density."""
    thin = float(intake_density(weather, settings) ** -0.5)
    air = pressure * rpm / 1138  # 1 at a run-up of 1,750 rpm and 0.65 bar
    idles, runs = IDLE_PHI * supply.idle_mixture, FULL_RICH * supply.mixture
    base = float(thin * (idles if rpm < IDLE_BELOW else runs))
    base = min(base, LEVER_PHI.get(settings.lever, base))
    base *= 1 - supply.starved * min(1.0, air / 1.98)
    return base * (1 + 0.3 * supply.air_blocked) + 0.25 * supply.primer_leak / max(air, 0.1)


def cylinder_phi(cylinder: Cylinder, mean: float, rpm: float, pressure: float, weather: Weather) -> float:
    """Return one cylinder's mixture: its own fuel and air, and a leaking pipe, worst at low pressure and low speed."""
    leak = 0.6 * cylinder.pipe_leak * flow_share(pressure / weather.bar) * (1750 / rpm) * (0.65 / pressure)
    overlap = 1 + 0.25 * cylinder.clearance_off * max(0.0, 1 - pressure)  # too wide runs rich at idle (p10-34; p10-35 disagrees)
    return mean * cylinder.fuel / (cylinder.air * (1 + leak)) * overlap


def cylinder_air(cylinder: Cylinder, rpm: float) -> float:
    """Return the share of charge a cylinder traps: air, valve clearance and leaks (leaks cost most at low speed)."""
    leaks = cylinder.rings + cylinder.exhaust_valve + cylinder.intake_valve - SOUND_LEAK
    held = max(0.0, 1 - 0.045 * max(0.0, leaks) * 2000 / rpm)
    return cylinder.air * held * (1 - 0.12 * abs(cylinder.clearance_off))


def pressure_in_hg(bar: float) -> float:
    """Return bar as inches of mercury."""
    return bar * INHG_PER_BAR


def sea_level_share(bar: float) -> float:
    """Return a pressure over the standard one."""
    return bar / SEA_LEVEL_BAR
