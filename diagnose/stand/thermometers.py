"""Exhaust and head temperatures: what changes between two runs, in deg F. Absolute values mean nothing here.

Retarding raises exhaust and lowers heads (common practice; FAA-H-8083-32B p10-26 for one front acting as a late spark).
"""

from __future__ import annotations

from diagnose.stand.run import Running

EGT_PER_DEGREE = 8.0  # deg F for each crank degree of later burning; 4 to 6 deg C in engine books, from memory
EGT_UNLIT = 650.0  # deg F by which a cylinder's exhaust falls when nothing burns, after half a minute: estimate
PEAK_PHI = 0.98
RICH_SLOPE, LEAN_SLOPE = 950.0, 700.0  # deg F for one unit of phi; best power about 125 rich of peak (trade): derived
CHT_RISE = 300.0  # deg F above the air at full power: estimate
CHT_PER_DEGREE = 0.005  # share for each crank degree of later burning: estimate, small as "CHT normal" reports say
CHT_UNLIT = 0.27  # share of its rise an unlit cylinder keeps: from FAA-H-8083-32B fig 10-56 (45-70 against 145-180)
EARLY_HEAT = 1.2  # extra heat of cycles lit far too early: estimate


def exhaust(running: Running, cylinder: int) -> float:
    """Return one cylinder's exhaust temperature against an arbitrary zero, deg F."""
    fire, phi = running.firings[cylinder], running.phi[cylinder]
    off = phi - PEAK_PHI
    mixture = -(RICH_SLOPE if off > 0 else LEAN_SLOPE) * ((off * off + 0.0009) ** 0.5 - 0.03)
    late = EGT_PER_DEGREE * min(35.0, max(-25.0, fire.half - 10))
    level = 90 * (running.load - 0.5)
    unlit = max(0.0, 1 - fire.lit - fire.early)
    return float(fire.lit * (mixture + late + level) - unlit * EGT_UNLIT - 150 * fire.early)


def exhaust_swing(running: Running, cylinder: int) -> float:
    """Return how far the needle swings to either side when cycles come and go, deg F (estimate)."""
    lit = running.firings[cylinder].lit
    return 6 + 240 * float((lit * (1 - lit)) ** 0.5) * (0.5 + 0.5 * (0.05 < lit < 0.95))


def head(running: Running, cylinder: int) -> float:
    """Return one head's rise above the air once settled, deg F."""
    fire, phi = running.firings[cylinder], running.phi[cylinder]
    late = 1 - CHT_PER_DEGREE * (fire.half - 10) - 0.0008 * min(0.0, fire.half - 4) * abs(fire.half - 4)
    mixture = 1 - 0.9 * (phi - 1.02) ** 2 - 0.15 * max(0.0, phi - 1.2)
    burnt = fire.lit * late * mixture + EARLY_HEAT * fire.early
    share = CHT_UNLIT + (1 - CHT_UNLIT) * burnt
    return CHT_RISE * share * float(max(0.05, running.load) ** 0.6)


def exhaust_change(before: Running, after: Running, cylinder: int) -> float:
    """Return the change of a cylinder's exhaust temperature in deg F; positive when it rose."""
    return exhaust(after, cylinder) - exhaust(before, cylinder)


def head_change(before: Running, after: Running, cylinder: int) -> float:
    """Return the change of a head's settled temperature in deg F; positive when it rose."""
    return head(after, cylinder) - head(before, cylinder)
