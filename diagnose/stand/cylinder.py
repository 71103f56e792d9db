"""One cylinder's cycles: lit by two sparks, one or none, early, late, or by a stray spark; mean and spread of torque."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.stand.burn import LOSS, burn_degrees, half_burnt, lights, torque_share
from diagnose.stand.parts import Cylinder
from diagnose.stand.sparks import Spark

IN_TIME = 60.0  # a spark up to this many degrees before top centre is an ordinary one
INTAKE_SHUTS = 130.0  # degrees before top centre: intake shuts about 50 after bottom centre (estimate)
INTAKE_OPENS = 375.0
FIRED_BEFORE = 600.0  # beyond this the spark falls after the cylinder's own top centre
SPREAD_TWO, SPREAD_ONE = 0.03, 0.05  # cycle-to-cycle spread of torque: estimates
HOT_SPOT_BTDC = 70.0  # where a glowing spot lights the charge: estimate


@dataclass(frozen=True)
class Firing:
    """One cylinder over many cycles.

    `lit` share of cycles lit in time, `torque` mean over a full charge well burnt, `spread` its standard deviation,
    `half` mean crank degrees after top centre of half burnt (of lit cycles), `backfires` share that burn back into
    the intake, `early` share lit far too early.
    """

    lit: float
    torque: float
    spread: float
    half: float
    backfires: float
    early: float


@dataclass(frozen=True)
class Lighting:
    """The charge that the sparks meet."""

    rpm: float
    manifold_bar: float
    phi: float
    diluted: float
    hot: float  # 0 to 1, how far a hot spot can glow
    pace: float = 1.0  # burn duration of this engine over the usual one
    lost: float = 0.0  # share of cycles lost for other reasons: valve open, water in the fuel


def _sorted(sparks: list[Spark]) -> tuple[list[Spark], list[tuple[float, float]]]:
    """Split into sparks in time and (degrees, chance) of those out of time."""
    timely, stray = [], []
    for spark in sparks:
        btdc = spark.btdc - 720 if spark.btdc > FIRED_BEFORE else spark.btdc
        if btdc <= IN_TIME:
            timely.append(spark)
        else:
            stray.append((btdc, spark.chance))
    return timely, stray


def firing(sparks: list[Spark], strays: list[tuple[float, float]], charge: Lighting, cylinder: Cylinder, hot_spot: float) -> Firing:
    """Return a cylinder's cycles from its plugs' sparks, stray sparks of neighbours as (btdc, chance), and its charge."""
    timely, wrong = _sorted(sparks)
    backfires, early = _astray(wrong + strays)
    early = early + (1 - early) * hot_spot * charge.hot
    if charge.phi < 0.75:
        backfires += (0.75 - charge.phi) * 0.3 * (1 if timely else 0)  # slow lean burn still alight at overlap
    backfires += 0.01 * min(4.0, max(0.0, cylinder.intake_valve - 0.5))  # flame past a leaking intake valve: estimate
    duration = charge.pace * burn_degrees(charge.rpm, charge.manifold_bar, charge.phi)
    cases = _cases(timely, charge, duration)
    return _mixed(cases, min(1.0, backfires), early, charge.lost)


def _astray(wrong: list[tuple[float, float]]) -> tuple[float, float]:
    backfires = early = 0.0
    for btdc, chance in wrong:
        if INTAKE_SHUTS < btdc < INTAKE_OPENS:
            backfires += 0.6 * chance
        elif IN_TIME < btdc <= INTAKE_SHUTS:
            early += 0.8 * chance
    return min(1.0, backfires), min(1.0, early)


def _cases(timely: list[Spark], charge: Lighting, duration: float) -> list[tuple[float, float, float]]:
    """(chance, half burnt, spread) of each way to be lit."""
    chances = [s.chance * lights(charge.phi, s.margin, s.ohm, charge.diluted) for s in timely]
    degrees = [s.btdc - 720 if s.btdc > FIRED_BEFORE else s.btdc for s in timely]
    out = []
    for i, spark in enumerate(timely):
        alone = chances[i]
        for j in range(len(timely)):
            alone *= 1 - chances[j] if j != i else 1.0
        if alone > 1e-9:
            out.append((alone, half_burnt((degrees[i],), duration), SPREAD_ONE + 0.01 * spark.wander))
    both = chances[0] * chances[1] if len(chances) == 2 else 0.0
    if both > 1e-9:
        wander = 0.5 * (timely[0].wander + timely[1].wander)
        out.append((both, half_burnt((degrees[0], degrees[1]), duration), SPREAD_TWO + 0.005 * wander))
    return out


def _mixed(cases: list[tuple[float, float, float]], backfires: float, early: float, lost: float) -> Firing:
    usable = (1 - backfires) * (1 - early) * (1 - lost)
    lit = sum(chance for chance, _, _ in cases)
    mean = square = 0.0
    for chance, half, spread in cases:
        torque = torque_share(half) - LOSS * (100 * spread - 3) ** 2 * 0.2
        mean += chance * torque
        square += chance * (torque**2 + spread**2)
    half = sum(c * h for c, h, _ in cases) / lit if lit > 0 else 30.0
    bad = -0.3 * early * (1 - lost)
    total, total_square = usable * mean + bad, usable * square + 0.09 * early
    return Firing(usable * lit, total, max(0.0, total_square - total**2) ** 0.5, half, backfires, early)
