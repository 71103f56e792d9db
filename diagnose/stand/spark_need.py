"""The voltage a plug's gap needs, from gap, charge density, mixture and electrodes.

The uniform-field form is that of textbooks (from memory; within 1 to 6 % of the public sphere-gap table of the IEC 52
type). What a plug adds to it is an estimate with a known direction: sharp edges lower it, worn
round ones raise it; lean mixture raises it; hot electrodes lower it (public pages on magnetos and plugs).
"""

from __future__ import annotations

import math

from diagnose.stand.conditions import SEA_LEVEL_BAR
from diagnose.stand.parts import Plug

CM_PER_INCH = 2.54
COMPRESSION_RATIO = 8.5  # common on opposed engines of today: estimate
# Volume trapped when the intake valve shuts, over the clearance volume: the valve shuts after bottom centre (estimate).
TRAPPED_RATIO = 7.5
ROD_RATIO = 3.5  # rod length over crank radius: estimate
HEATED_INTAKE_KELVIN = 340.0  # charge warmed by valves, walls and residual gas: estimate
TWENTY_CELSIUS = 293.15
SHARP = 0.95  # sharp new edges against even electrodes: estimate
ROUND = 1.20  # worn round: estimate
# A pulse of some 50 us breaks a gap later than a steady voltage does: estimate. With it a sound plug needs 7 to 14 kV, inside the
# "6,000 to 20,000 volts" of a trade paper (Sep 1999) and near the "15,000 V to begin" of study notes module 16.6.
PULSE = 1.25
BRIDGED_KV = 0.05  # a bridge carries the current without a spark


def volume_ratio(btdc: float) -> float:
    """Return cylinder volume over clearance volume at `btdc` crank degrees before top centre (slider-crank)."""
    angle = math.radians(btdc)
    travel = 0.5 * (ROD_RATIO + 1 - math.cos(angle) - math.sqrt(ROD_RATIO**2 - math.sin(angle) ** 2))
    return 1 + (COMPRESSION_RATIO - 1) * travel


def squeeze(btdc: float) -> float:
    """Return how many times the trapped charge is squeezed when the spark comes; never under 1."""
    return max(1.0, TRAPPED_RATIO / volume_ratio(btdc))


def charge_density(manifold_bar: float, intake_kelvin: float, btdc: float, sealing: float = 1.0) -> float:
    """Return charge density at the spark over that of air at 20 deg C and 101.325 kPa; `sealing` 1 is gas-tight."""
    return manifold_bar / SEA_LEVEL_BAR * TWENTY_CELSIUS / intake_kelvin * squeeze(btdc) * sealing


def gap_kv(gap_in: float, density: float) -> float:
    """Return the uniform-field breakdown in kV of a gap in inches at a relative density."""
    reach = max(0.0, gap_in) * CM_PER_INCH * density
    return 24.22 * reach + 6.08 * math.sqrt(reach)


def mixture_factor(phi: float) -> float:
    """Return the factor on the need for fuel-air ratio `phi` over the chemically correct one; 1 near best power."""
    return 1 + 0.45 * max(0.0, 1.05 - phi) + 0.05 * max(0.0, phi - 1.15)  # estimates


def need_kv(plug: Plug, density: float, phi: float, warmth: float) -> float:
    """Return the kV that the plug needs; `warmth` is 0 for cold electrodes and 1 for take-off power."""
    if plug.bridged or plug.shorted:
        return BRIDGED_KV
    edges = SHARP + (ROUND - SHARP) * plug.worn
    wet = 1 + 0.15 * plug.water
    return gap_kv(plug.gap_in, density) * PULSE * edges * mixture_factor(phi) * (1 - 0.05 * warmth) * wet
