"""Deposits: what they let leak past the gap, how they grow with running, and what heat clears.

Directions are published: lead conducts hot and may insulate cold, oil and soot short at start and idle and may clear,
glaze conducts hot (FAA-H-8083-32B p4-33 to 4-35; a US Navy manual for glaze). The slopes are estimates.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.stand.parts import Plug

CLEAN_LOG_OHM = 9.0  # a clean plug: 1,000 Mohm (estimate; motor manuals ask for 10 Mohm or more)
SOURCE_OHM = 5e5  # rise time of about 50 us over about 100 pF of lead and coil: derived, estimate
CLEAN_NOSE = 450.0  # deg C above which soot and oil burn off a nose: from memory
LEAD_NOSE = 480.0  # deg C below which lead settles: about 900 degF (owner's text), from memory


def nose_celsius(manifold_bar: float, rpm: float, heat_range: int, phi: float) -> float:
    """Return the temperature of the insulator nose in deg C: about 320 at idle, 480 at run-up, 650 at take-off (estimates)."""
    load = min(1.2, manifold_bar * rpm / 2300)
    return 250 + 400 * float(load**0.6) + 70 * heat_range - 150 * max(0.0, phi - 1.15) + 60 * max(0.0, 1.1 - phi)


def shunt_ohm(plug: Plug, nose: float) -> float:
    """Return the leak across the nose in ohm at a nose temperature in deg C."""
    hot = min(1.0, max(0.0, (nose - 250) / 400))
    cold = 1 - 0.5 * hot
    log_ohm = CLEAN_LOG_OHM - 5.5 * plug.soot
    log_ohm -= 5.5 * plug.oil * (1 - 0.25 * hot)
    log_ohm -= 6.0 * plug.lead * (0.25 + 0.75 * hot)
    log_ohm -= 4.5 * plug.glaze * hot
    log_ohm -= 4.5 * plug.water * cold + 3.5 * plug.fuel * cold + 5.0 * plug.metal
    return float(10 ** max(3.0, log_ohm))


def voltage_left(shunt: float) -> float:
    """Return the share of open-circuit voltage that a leak in ohm leaves."""
    return shunt / (shunt + SOURCE_OHM)


@dataclass(frozen=True)
class Service:
    """How a plug lived: hours, share of them at idle, mixture, whether its spark lit the charge, oil that reaches it."""

    hours: float
    idle_share: float
    phi: float
    fires: float
    oil: float
    fouls_first: bool


def after_service(plug: Plug, life: Service) -> None:
    """Age a plug by a stretch of running (rates are estimates; which way each goes is published)."""
    low = 1.5 if life.fouls_first else 0.5
    cold = 1.0 if plug.heat_range >= 0 else 2.0
    rich = max(0.0, life.phi - 1.2)
    plug.lead = min(1.0, plug.lead + life.hours * 0.0015 * low * cold * (0.4 + 2.0 * life.idle_share))
    plug.soot = min(1.0, plug.soot + life.hours * cold * (0.04 * rich * (0.3 + life.idle_share) + 0.06 * (1 - life.fires)))
    plug.oil = min(1.0, plug.oil + life.hours * life.oil * 0.06 * low)
    plug.fuel = max(0.0, 1 - life.fires) if life.hours > 0 else plug.fuel
    plug.gap_in += life.hours * 0.00003 * life.fires  # about 0.003 in a hundred hours of a massive plug
    plug.worn = min(1.0, plug.worn + life.hours * 0.0015 * life.fires)  # about half its metal in some 600 hours
    plug.water = 0.0


def burn_off(plug: Plug, nose: float, minutes: float) -> None:
    """Clear what heat clears: soot and oil above about 450 deg C, a little lead (FAA-H-8083-32B p4-34)."""
    if nose <= CLEAN_NOSE - 60:
        return
    left = 0.5 ** (minutes * min(2.0, (nose - (CLEAN_NOSE - 60)) / 60))
    plug.soot, plug.oil, plug.fuel, plug.water = plug.soot * left, plug.oil * left, plug.fuel * left, 0.0
    plug.lead *= 0.3 + 0.7 * left if plug.lead < 0.75 else 0.97 + 0.03 * left  # heavy lead hardly moves: estimate
