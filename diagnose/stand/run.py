"""The engine running: torque of all cylinders against friction and propeller gives rpm, drop and roughness."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from diagnose.stand.build import Build, cylinder_of
from diagnose.stand.burn import mixture_torque
from diagnose.stand.charge import INHG_PER_BAR, cylinder_air, cylinder_phi, full_throttle_bar, manifold_bar, mean_phi, opening_for
from diagnose.stand.conditions import SEA_LEVEL_BAR, STANDARD_KELVIN, Settings, Weather
from diagnose.stand.cylinder import Firing, Lighting, firing
from diagnose.stand.deposits import nose_celsius
from diagnose.stand.grounding import Acts, live_sides
from diagnose.stand.sparks import Moment, Spark, spark

STATIC_RPM = 2300.0  # full-throttle rpm of a sound engine on the ground: middle of usual fixed-pitch figures (estimate)
STATIC_BAR = 10.3  # brake mean effective pressure there: estimate
IDLE_BAR = 0.25  # what a cylinder that does not light costs in compression heat and blow-by: estimate
GROSS = 14.5  # indicated mean effective pressure for each bar of charge: estimate for 8.5 to 1
RESIDUAL = 0.16  # exhaust left in the cylinder, as manifold pressure at sea level: estimate
STEP_DOWN = 0.94
STOPPED = 300.0  # rpm under which it does not keep running: estimate


def _never(name: str, chance: float) -> bool:
    return chance >= 1.0


@dataclass(frozen=True)
class Running:
    """A steady run: rpm (0 when it stopped), manifold pressure in bar, cylinders, sparks, unevenness, sides that sparked."""

    rpm: float
    manifold_bar: float
    phi: dict[int, float] = field(default_factory=dict)
    firings: dict[int, Firing] = field(default_factory=dict)
    sparks: dict[str, Spark] = field(default_factory=dict)
    torque: dict[int, float] = field(default_factory=dict)
    roughness: float = 0.0
    live: tuple[str, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether the engine does not run so."""
        return self.rpm <= 0

    @property
    def load(self) -> float:
        """Air through the engine over that at full power at sea level."""
        return self.manifold_bar * self.rpm / STATIC_RPM


def friction_bar(rpm: float, manifold: float, outside: float) -> float:
    """Return friction and pumping as mean effective pressure in bar: estimates that come to about a fifth at run-up."""
    return 0.6 + 0.25 * rpm / 1000 + max(0.0, outside - manifold)


def propeller_bar(rpm: float, weather: Weather) -> float:
    """Return what a fixed-pitch propeller asks, at rest: air density times rpm squared (H-8083-32B p10-27; data books)."""
    return STATIC_BAR * weather.density * (rpm / STATIC_RPM) ** 2


def drag_bar(build: Build, manifold: float, acts: Acts) -> float:
    """Return friction that should not be there, bar: failing bearings at all times or now and then, a scuffing piston at power."""
    around = build.around
    now = around.drag if around.drag > 0 and acts("drag", around.drag_acts) else 0.0
    return now + around.drag_at_power * max(0.0, manifold - 0.4) / 0.6


def _lost(build: Build, number: int, heat: str) -> float:
    cylinder = build.cylinders[number]
    hangs = cylinder.sticks_cold if heat == "cold" else cylinder.sticks_warm
    return 1 - (1 - hangs) * (1 - 0.4 * build.supply.water)


def sparks_now(build: Build, sides: tuple[str, ...], moment: Moment) -> dict[str, Spark]:
    """Return the sparks of every plug fed by a tower of a free magneto."""
    feeds = {c: build.layout.side_of[build.crossed.get(c, c)] for c in build.layout.circuits}
    return {c: spark(build, c, moment) for c in build.layout.circuits if feeds[c] in sides}


def strays(build: Build, sparks: dict[str, Spark]) -> dict[int, list[tuple[float, float]]]:
    """Return for each cylinder the (btdc, chance) of sparks that jumped over from the cylinder before it."""
    out: dict[int, list[tuple[float, float]]] = {n: [] for n in build.cylinders}
    for circuit, one in sparks.items():
        if one.stray > 1e-6:
            target = build.next_fired(circuit)
            out[cylinder_of(target)].append((one.btdc + build.interval, one.stray))
    return out


@dataclass(frozen=True)
class Power:
    """Cylinders at one speed and manifold pressure."""

    moment: Moment
    sparks: dict[str, Spark]
    firings: dict[int, Firing]
    torque: dict[int, float]

    @property
    def mean(self) -> float:
        """Indicated mean effective pressure of the whole engine, bar."""
        return sum(self.torque.values()) / len(self.torque)


def power(build: Build, sides: tuple[str, ...], rpm: float, manifold: float, weather: Weather, settings: Settings, acts: Acts) -> Power:
    """Return what every cylinder does at a speed and manifold pressure."""
    mean = mean_phi(build.supply, weather, settings, rpm, manifold)
    phi = {n: cylinder_phi(c, mean, rpm, manifold, weather) for n, c in build.cylinders.items()}
    moment = Moment(rpm, manifold, phi, weather, settings.heat, acts=acts)
    sparks = sparks_now(build, sides, moment)
    astray = strays(build, sparks)
    firings = {n: _firing(build, n, sparks, astray[n], moment) for n in build.cylinders}
    warm = (STANDARD_KELVIN / (weather.kelvin + (40.0 if settings.carb_heat else 0.0))) ** 0.5
    torque = {n: _torque(build, n, moment, firings[n].torque, firings[n].lit) * warm for n in build.cylinders}
    return Power(moment, sparks, firings, torque)


def _torque(build: Build, number: int, moment: Moment, share: float, lit: float) -> float:
    outside = moment.weather.bar * (1 + 0.5 * build.supply.exhaust_choked)
    air = cylinder_air(build.cylinders[number], moment.rpm)
    charge = max(0.0, moment.manifold_bar * air - RESIDUAL * outside / SEA_LEVEL_BAR)
    weak = 1 - build.around.weak.get(number, 0.0)
    return GROSS * charge * mixture_torque(moment.phi[number]) * share * weak - IDLE_BAR * (1 - lit)


def _firing(build: Build, number: int, sparks: dict[str, Spark], astray: list[tuple[float, float]], moment: Moment) -> Firing:
    mine = [s for c, s in sparks.items() if cylinder_of(c) == number]
    plugs = [build.plugs[c] for c in build.layout.circuits if cylinder_of(c) == number]
    nose = max(nose_celsius(moment.manifold_bar, moment.rpm, p.heat_range, moment.phi[number]) for p in plugs)
    hot = min(1.0, max(0.0, (nose - 560) / 100))
    diluted = min(1.0, max(0.0, (0.55 - moment.manifold_bar) / 0.25))
    lost = _lost(build, number, moment.heat)
    charge = Lighting(moment.rpm, moment.manifold_bar, moment.phi[number], diluted, hot, build.pace, lost)
    return firing(mine, astray, charge, build.cylinders[number], _hot_spot(build, number))


def _hot_spot(build: Build, number: int) -> float:
    """How far something in a cylinder can glow; a plug too hot for the engine a little (study notes module 16.6)."""
    plugs = [build.plugs[c] for c in build.layout.circuits if cylinder_of(c) == number]
    hot = [max(p.hot_spot, 0.06 * max(0, p.heat_range), 0.04 * p.loose) for p in plugs]
    return max(build.cylinders[number].glows, *hot)


def roughness(now: Power) -> float:
    """Return unevenness of torque from firing to firing over its mean, eased by the number of cylinders (estimate)."""
    mean = now.mean
    if mean <= 0:
        return 1.0
    between = sum((t - mean) ** 2 for t in now.torque.values()) / len(now.torque)
    full = {n: now.torque[n] / now.firings[n].torque if abs(now.firings[n].torque) > 0.02 else mean for n in now.torque}
    within = sum((full[n] * now.firings[n].spread) ** 2 for n in now.torque) / len(now.torque)
    return float(((between + within) ** 0.5 / mean) * (4 / len(now.torque)) ** 0.25)


def _steady(now: Power, live: tuple[str, ...]) -> Running:
    moment = now.moment
    return Running(moment.rpm, moment.manifold_bar, moment.phi, now.firings, now.sparks, now.torque, roughness(now), live)


def throttle_for(build: Build, weather: Weather, settings: Settings, acts: Acts = _never) -> float | None:
    """Return the throttle opening that holds `settings.rpm` on BOTH; None for full throttle or when it cannot."""
    if settings.rpm is None:
        return None
    sides = live_sides(build.layout, build.magnetos, build.switch, "both", acts)
    blocked, rpm = build.supply.air_blocked, settings.rpm
    low, high = 0.1 * weather.bar, full_throttle_bar(weather, rpm, blocked)
    for _ in range(18):
        middle = (low + high) / 2
        gain = power(build, sides, rpm, middle, weather, settings, acts).mean
        surplus = gain - friction_bar(rpm, middle, weather.bar) - drag_bar(build, middle, acts)
        surplus -= build.pitch * propeller_bar(rpm, weather)
        low, high = (low, middle) if surplus > 0 else (middle, high)
    if high >= full_throttle_bar(weather, rpm, blocked) * 0.999:
        return None
    return opening_for(high, rpm, weather, blocked)


def run(
    build: Build,
    weather: Weather,
    settings: Settings,
    position: str = "both",
    opening: float | None = None,
    acts: Acts = _never,
) -> Running:
    """Return the steady run at a throttle opening (None: full) in a switch position.

    A governed propeller (`settings.manifold_inhg`) holds rpm while there is power at all; else propeller and torque find it.
    """
    sides = live_sides(build.layout, build.magnetos, build.switch, position, acts)
    if settings.manifold_inhg is not None and settings.rpm is not None:
        pressure = settings.manifold_inhg / INHG_PER_BAR
        now = power(build, sides, settings.rpm, pressure, weather, settings, acts)
        drives = now.mean > friction_bar(settings.rpm, pressure, weather.bar)
        return _steady(now, sides) if drives else Running(0.0, pressure, live=sides)
    blocked = build.supply.air_blocked

    def at(rpm: float) -> tuple[float, Power]:
        pressure = full_throttle_bar(weather, rpm, blocked) if opening is None else manifold_bar(opening, rpm, weather, blocked)
        now = power(build, sides, rpm, pressure, weather, settings, acts)
        asked = friction_bar(rpm, pressure, weather.bar) + drag_bar(build, pressure, acts) + build.pitch * propeller_bar(rpm, weather)
        return now.mean - asked, now

    return _settle(at, sides, settings, weather) if sides else Running(0.0, weather.bar)


def _settle(at: Callable[[float], tuple[float, Power]], sides: tuple[str, ...], settings: Settings, weather: Weather) -> Running:
    """Come down from a speed too high to where torque meets the propeller; that is where a slowing engine stops slowing."""
    high = 1.1 * settings.rpm if settings.rpm is not None else 1.25 * STATIC_RPM
    while at(high)[0] > 0 and high < 6000:
        high *= 1.1
    low = high * STEP_DOWN
    while low > STOPPED and at(low)[0] <= 0:
        high, low = low, low * STEP_DOWN
    if low <= STOPPED:
        return Running(0.0, weather.bar, live=sides)
    for _ in range(11):
        middle = (low + high) / 2
        low, high = (middle, high) if at(middle)[0] > 0 else (low, middle)
    return _steady(at(low)[1], sides)
