"""Starting: cranking speed, start sparks with impulse coupling or vibrator, kick-back, and what happens on release."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.places import SIDES
from diagnose.stand.build import Build, cylinder_of
from diagnose.stand.burn import lights
from diagnose.stand.conditions import SEA_LEVEL_BAR, Weather
from diagnose.stand.grounding import Acts, live_sides
from diagnose.stand.magneto import IMPULSE_SPEED, VIBRATOR_KV, VIBRATOR_SPARKS, never_open
from diagnose.stand.run import sparks_now
from diagnose.stand.sparks import Moment, Spark, open_kv, running_btdc, spark_at

CRANK_RPM = 130.0  # starters turn at 120 to 140 (trade dictionary quotation)
CATCH_UNDER = 300.0  # engine rpm at which flyweights let go: published 150 to 400
START_BAR = 0.95  # throttle barely open, engine hardly turning: estimate
WALLS_WARM = {"cold": 10.0, "warm": 30.0, "hot": 45.0}  # K by which walls warm the charge while cranking: estimate
CRANK_SEALS = 0.85  # share of the charge held at cranking speed: estimate
KICK_BTDC = 12.0  # a charge lit earlier than this at cranking speed turns the engine back: estimate
START_PHI = 1.15
COAST = 0.9  # speed just after the key is released, over cranking speed: estimate


@dataclass(frozen=True)
class StartSpark:
    """A start spark of one circuit, how many come in one firing event, and the share of turns on which it comes."""

    spark: Spark
    sparks: int = 1
    share: float = 1.0


@dataclass(frozen=True)
class Cranking:
    """What is cranked into: mixture, weather, how warm the engine is, which faults act."""

    phi: float
    weather: Weather
    heat: str
    acts: Acts


@dataclass(frozen=True)
class StartTry:
    """One try: cranking rpm, chance that a compression fires, that one kicks back, that one fires once the key is let go."""

    crank_rpm: float
    fires: float
    kicks: float
    fires_on_release: float
    buzz: bool
    click: tuple[str, ...]


def crank_rpm(build: Build, weather: Weather) -> float:
    """Return cranking speed: battery, and thick oil in the cold."""
    cold = max(0.0, 15.0 - weather.celsius)
    return CRANK_RPM * float(max(0.0, build.gear.battery) ** 0.8) * (1 - 0.010 * min(40.0, cold))


def vibrates(build: Build) -> bool:
    """Return whether the vibrator buzzes."""
    has = "vibrator" in build.layout.start_aid.values()
    return has and build.gear.vibrator != "dead" and build.gear.battery > 0.45


def catches(build: Build, side: str, weather: Weather) -> float:
    """Return the share of turns on which a side's coupling catches; 0 without one."""
    impulse = build.magnetos[side].drive.impulse
    if impulse is None or impulse.spring <= 0.05 or impulse.magnetised:
        return 0.0
    gum = 1.0 if weather.celsius > -5 else 1 - 0.5 * (impulse.worn > 0.4)  # cold oil holds worn flyweights back
    return impulse.catches * gum


def start_sparks(build: Build, sides: tuple[str, ...], at: Cranking, rpm: float, key: bool) -> list[StartSpark]:
    """Return the sparks of every circuit of the free sides while the engine is turned at `rpm`."""
    pressure, warmed = START_BAR * at.weather.bar / SEA_LEVEL_BAR, at.weather.kelvin + WALLS_WARM[at.heat]
    phi = dict.fromkeys(build.cylinders, at.phi)
    moment = Moment(rpm, pressure, phi, at.weather, at.heat, warmed, CRANK_SEALS, at.acts)
    out = []
    for circuit, plain in sparks_now(build, sides, moment).items():
        side = build.layout.side_of[build.crossed.get(circuit, circuit)]
        aided = _aided(build, circuit, side, moment, key)
        out += [aided] if aided is not None else []
        out += [StartSpark(plain, share=1.0 - aided.share)] if aided is not None else [StartSpark(plain)]
    return out


def _aided(build: Build, circuit: str, side: str, moment: Moment, key: bool) -> StartSpark | None:
    magneto, ratio = build.magnetos[side], build.ratio(side)
    impulse, caught = magneto.drive.impulse, catches(build, side, moment.weather)
    if impulse is not None and moment.rpm < CATCH_UNDER and caught > 0:
        speed = IMPULSE_SPEED * impulse.spring
        back = 0.0 if impulse.stays_back else impulse.lag_magnet_deg / ratio
        btdc = running_btdc(build, side) - back
        kv = open_kv(magneto, side, speed, moment)
        return StartSpark(spark_at(build, circuit, moment, kv, btdc, 1.0), share=caught)
    if magneto.retard is None or not key or not vibrates(build) or magneto.retard.stuck == "closed" or never_open(magneto.points):
        return None
    full = VIBRATOR_KV * build.gear.battery * (0.5 if build.gear.vibrator == "weak" else 1.0)
    kv = full * min(1.0, open_kv(magneto, side, 2000.0, moment) / 18.5)
    late = 0.0 if magneto.retard.stuck == "open" else magneto.retard.angle_magnet_deg / ratio
    return StartSpark(spark_at(build, circuit, moment, kv, running_btdc(build, side) - late, 1.0), VIBRATOR_SPARKS)


def _compression(build: Build, sparks: list[StartSpark], number: int, at: Cranking) -> tuple[float, float]:
    """(chance to fire usefully, chance to kick back) of one cylinder's compression."""
    cylinder = build.cylinders[number]
    hangs = cylinder.sticks_cold if at.heat == "cold" else cylinder.sticks_warm
    leaks = cylinder.rings + cylinder.exhaust_valve + cylinder.intake_valve
    sealed = max(0.0, 1 - 0.25 * max(0.0, leaks - 0.5)) * (1 - hangs)
    mixed = at.phi * cylinder.fuel * (1 - 0.5 * build.supply.water)
    kick, miss = 0.0, 1.0
    for one in sparks:
        btdc = one.spark.btdc - 720 if one.spark.btdc > 600 else one.spark.btdc
        if cylinder_of(one.spark.circuit) != number or not -45 <= btdc <= 60:
            continue
        single = one.spark.chance * lights(mixed, one.spark.margin, one.spark.ohm, 0.3)
        fires = (1 - (1 - single) ** one.sparks) * sealed * one.share
        if btdc > KICK_BTDC:
            kick = kick + miss * fires * 0.5
        miss *= 1 - fires
    return max(0.0, 1 - miss - kick), kick


def _chances(build: Build, sparks: list[StartSpark], at: Cranking) -> tuple[float, float]:
    pairs = [_compression(build, sparks, n, at) for n in build.cylinders]
    return sum(p for p, _ in pairs) / len(pairs), sum(k for _, k in pairs) / len(pairs)


def start_phi(build: Build, prime: float) -> float:
    """Return the mixture while cranking; `prime` 1 is right for the day, 0.5 too little, 2 flooded."""
    supply = build.supply
    return START_PHI * prime * float(supply.mixture**0.5) * (1 - 0.8 * supply.starved) + 0.3 * supply.primer_leak


def start_try(build: Build, weather: Weather, acts: Acts, prime: float = 1.0, heat: str = "cold") -> StartTry:
    """Return what one try at starting gives: START held, then released to BOTH while the engine still turns."""
    rpm, at = crank_rpm(build, weather), Cranking(start_phi(build, prime), weather, heat, acts)
    if rpm < 20:
        return StartTry(0.0, 0.0, 0.0, 0.0, vibrates(build), ())
    held = live_sides(build.layout, build.magnetos, build.switch, "start", acts)
    fires, kicks = _chances(build, start_sparks(build, held, at, rpm, True), at)
    freed = live_sides(build.layout, build.magnetos, build.switch, "both", acts)
    later, _ = _chances(build, start_sparks(build, freed, at, rpm * COAST, False), at)
    clicks = tuple(s for s in SIDES if acts(f"click {s}", catches(build, s, weather)))
    return StartTry(rpm, fires, kicks, later, vibrates(build), clicks)
