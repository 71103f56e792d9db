"""The flux in a coil's core while the magnet turns past neutral, and what the points let go at each angle.

Winding and core follow one equation: the flux linked changes only as fast as the resistance lets it,
d(flux)/d(angle) = -(R / L w) (flux - flux of the magnet alone). Both constants are estimates, chosen for one thing: that the
difference is greatest about ten magnet degrees past neutral, as the handbook has it (FAA-H-8083-32B p4-29).
"""

from __future__ import annotations

from math import tanh

STEEP = 8.0  # magnet degrees over which the pole shoes turn the flux over: estimate
LEAK = 0.025  # share of the difference lost for each magnet degree, R / (L w): estimate
SPAN = (-45.0, 45.0)  # magnet degrees from neutral: from full register to full register of a four-pole magnet
STEP = 0.25


def magnet_alone(angle: float) -> float:
    """Return the flux the magnet gives by itself at an angle from neutral, as a share of its highest: 1 to -1."""
    return -tanh(angle / STEEP)


def held() -> tuple[tuple[float, float], ...]:
    """Return (angle, flux) with the points closed all the way from full register."""
    angle, flux = SPAN[0], magnet_alone(SPAN[0])
    found = [(angle, flux)]
    while angle < SPAN[1]:
        flux -= LEAK * STEP * (flux - magnet_alone(angle))
        angle += STEP
        found.append((angle, flux))
    return tuple(found)


def let_go(angle: float) -> float:
    """Return the change of flux when the points open at an angle from neutral, as a share of the magnet's highest flux."""
    return min((abs(at - angle), flux - magnet_alone(at)) for at, flux in held())[1]


def best_angle() -> float:
    """Return the magnet degrees past neutral at which opening the points changes the flux most: the E-gap of this model."""
    return max((flux - magnet_alone(angle), angle) for angle, flux in held())[1]
