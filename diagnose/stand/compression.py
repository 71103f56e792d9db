"""Differential compression: air through the tester's orifice against air through the cylinder's leaks.

Two openings in a row: gas dynamics gives the pressure between them. 80 psi and orifices of 0.040 in (bore under
5.00 in) and 0.060 in are those of AC 43.13-1B 8-14. A hole as large as the orifice itself reads about 61 psi, so the
25 % of the rule is a leak about the size of the orifice.
"""

from __future__ import annotations

from diagnose.stand.charge import flow_share
from diagnose.stand.parts import Cylinder

REGULATED = 80.0
ATMOSPHERE_PSI = 14.7
RINGS_COLD = 1.35  # rings seal worse cold: estimate
HOLDS_OPEN = 4.0  # leak of a valve that hangs open, in orifice areas: estimate


def orifice_in(bore_in: float) -> float:
    """Return the tester's orifice in inches (AC 43.13-1B 8-14)."""
    return 0.040 if bore_in < 5.0 else 0.060


def reading_psi(leak: float, regulated: float = REGULATED) -> float:
    """Return cylinder pressure in psi for a leak area in units of the orifice."""
    supply = regulated + ATMOSPHERE_PSI
    low, high = ATMOSPHERE_PSI, supply
    for _ in range(50):
        inside = (low + high) / 2
        gain = supply * flow_share(inside / supply) - leak * inside * flow_share(ATMOSPHERE_PSI / inside)
        low, high = (inside, high) if gain > 0 else (low, inside)
    return (low + high) / 2 - ATMOSPHERE_PSI


def leaks(cylinder: Cylinder, hot: bool, bore_in: float) -> dict[str, float]:
    """Return leak areas by where the air is heard, in units of this tester's orifice; valves that hang cold count cold."""
    scale = (0.060 / orifice_in(bore_in)) ** 2 if bore_in < 5.0 else 1.0
    hang = cylinder.sticks_warm if hot else max(cylinder.sticks_cold, cylinder.sticks_warm)
    tight = HOLDS_OPEN * max(0.0, -cylinder.clearance_off - 0.6)
    return {
        "breather": cylinder.rings * (1.0 if hot else RINGS_COLD) * scale,
        "exhaust": (cylinder.exhaust_valve + HOLDS_OPEN * hang * (hang > 0.5) + tight) * scale,
        "intake": cylinder.intake_valve * scale,
    }
