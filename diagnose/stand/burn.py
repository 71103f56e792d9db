"""The burn: how long it takes with two sparks or one, where half of it is done, and what that costs in torque.

Each spark starts its own front. Fronts add until they meet, so two sparks burn faster than one (FAA-H-8083-32B p10-26:
one front burns more slowly, as if the spark were late). Half burnt at 8 to 12 degrees after top centre is the best
place (engine books; Heywood ch. 9 as quoted on public pages).
"""

from __future__ import annotations

import math

DELAY_DEG = 8.0  # crank degrees before a front is seen: 5 to 15 in engine books
# 0 to 100 % from one spark at run-up, full rich. Set once so that two sparks at 25 degrees peak at 16 to 17 degrees after top
# centre (two trade texts), which is half burnt about 11 (peak comes 5 to 6 after it: estimate).
BURN_DEG = 72.0
SHAPE = 3.0  # exponent of the Wiebe form: estimate (common values 2 to 3, plus one)
STEEP = 5.0
BEST_HALF = 9.0
# 1 % at 5 degrees off the best and 4 % at 10 (from memory, as engine books have it)
LOSS = 4.5e-4
FLAME_PEAK = 1.08


def flame_share(phi: float) -> float:
    """Return flame speed over the fastest, by mixture: fastest a little rich, falling faster on the lean side (estimate)."""
    width = 0.75 if phi > FLAME_PEAK else 0.55
    return max(0.15, 1 - ((phi - FLAME_PEAK) / width) ** 2)


def burn_degrees(rpm: float, manifold_bar: float, phi: float) -> float:
    """Return crank degrees for the whole burn from one spark."""
    speed = (rpm / 1750) ** 0.2 * (0.65 / max(0.1, manifold_bar)) ** 0.2
    return float(BURN_DEG * speed * (flame_share(phi) / flame_share(1.25)) ** -0.6)


def _front(degrees: float, duration: float) -> float:
    return 0.0 if degrees <= 0 else 1 - math.exp(-STEEP * (degrees / duration) ** SHAPE)


def half_burnt(sparks: tuple[float, ...], duration: float) -> float:
    """Return crank degrees after top centre at which half is burnt; `sparks` are degrees before top centre."""
    delay = DELAY_DEG * duration / BURN_DEG
    if len(sparks) == 1 or sparks[0] == sparks[1]:
        target = 0.5 if len(sparks) == 1 else 0.25
        return float(-sparks[0] + delay + duration * (-math.log(1 - target) / STEEP) ** (1 / SHAPE))
    low = -max(sparks) + delay
    high = low + duration
    for _ in range(25):
        middle = (low + high) / 2
        burnt = sum(_front(middle + btdc - delay, duration) for btdc in sparks)
        low, high = (middle, high) if burnt < 0.5 else (low, middle)
    return (low + high) / 2


def torque_share(half: float) -> float:
    """Return torque over the best for half burnt at `half` degrees after top centre; negative when far too early."""
    off = half - BEST_HALF
    if abs(off) <= 25:
        return 1 - LOSS * off * off
    beyond = 1 - LOSS * 625 - LOSS * 50 * (abs(off) - 25)
    return max(0.1, beyond) if off > 0 else max(-0.4, beyond)


def mixture_torque(phi: float) -> float:
    """Return torque over the best by mixture: flat on the rich side, falling with the fuel on the lean side."""
    off = phi - 1.1
    return max(0.3, 1 - (0.6 if off > 0 else 1.6) * off * off)


def lights(phi: float, margin: float, ohm: float, diluted: float) -> float:
    """Return the chance that one spark lights the charge.

    `margin` is voltage over need (a spark with nothing to spare is weak), `ohm` the resistance in series, `diluted`
    0 at power to 1 at idle (exhaust left in the charge). Limits are estimates: lean 0.62, rich 1.9.
    """
    energy = 1 / (1 + ohm / 30e3)
    weak = max(0.0, 1.3 - margin) + 0.4 * (1 - energy) ** 2
    lean, rich = 0.62 + 0.15 * weak + 0.12 * diluted, 1.9 - 0.4 * weak - 0.15 * diluted
    inside = _gate((phi - lean) / 0.025) * _gate((rich - phi) / 0.05)
    return float(inside * min(1.0, energy / 0.12) ** 0.5)


def _gate(x: float) -> float:
    return 1 / (1 + math.exp(-max(-60.0, min(60.0, x))))
