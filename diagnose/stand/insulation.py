"""Where else the voltage can go: lead, plug insulator, terminal well, distributor block, stray towers."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.stand.conditions import SEA_LEVEL_BAR, Weather
from diagnose.stand.parts import Distributor, Lead, Plug
from diagnose.stand.spark_need import TWENTY_CELSIUS, gap_kv

LEAD_KV = 35.0  # sound lead: tested at 10 kV DC (airframe manual 1989); breakdown of a sound one an estimate
INSULATOR_KV = 32.0  # sound core: estimate (dielectric test 9 kV rms, MIL-S-7886B 4.7.4)
WELL_KV = 26.0  # sound dry well at sea level: estimate
TALL_WELL_KV = 36.0  # the longer all-weather well that high-flying engines use: estimate
BLOCK_KV = 24.0  # sound dry block of an unpressurised magneto at sea level: estimate
PATH_IN = 0.394  # 10 mm of surface: estimate
PRESSURISED_BAR = 1.3  # pressure held inside a pressurised magneto: estimate


def thin_air(bar: float, kelvin: float) -> float:
    """Return flashover along a surface in air at this pressure, over that at sea level (10 mm path, uniform form)."""
    density = bar / SEA_LEVEL_BAR * TWENTY_CELSIUS / kelvin
    return gap_kv(PATH_IN, density) / gap_kv(PATH_IN, 1.0)


@dataclass(frozen=True)
class Weakest:
    """The weakest path beside the gap: kV it holds, and whether the spark goes to another cylinder there."""

    kv: float
    where: str


def lead_kv(lead: Lead, weather: Weather, hot: float) -> float:
    """Return what a lead holds; damage, water on a poor lead, and heat lower it."""
    wet = 1 - 0.75 * lead.damp * weather.wet
    return LEAD_KV * (1 - lead.hurt) * wet * (1 - 0.1 * hot)


def plug_kv(plug: Plug, weather: Weather, tall: bool = False) -> float:
    """Return what insulator and terminal well hold, whichever is less; `tall` for all-weather terminals."""
    core = INSULATOR_KV * (1 - plug.crack)
    well = (
        (TALL_WELL_KV if tall else WELL_KV)
        * thin_air(weather.bar, weather.kelvin + 30)
        * (1 - 0.75 * plug.well)
        * (1 - 0.15 * weather.wet * (1 + plug.well))
    )
    return min(core, well)


def block_kv(distributor: Distributor, circuit: str, weather: Weather, pressurised: bool, hot: float) -> float:
    """Return what the block holds at one tower; water leaves a hot magneto (FAA-H-8083-32B p4-26)."""
    inside = max(weather.bar, PRESSURISED_BAR) if pressurised else weather.bar
    damp = distributor.damp * (0.35 + 0.65 * weather.wet) * (1 - 0.6 * hot)
    base = BLOCK_KV * thin_air(inside, weather.kelvin + 20 + 40 * hot)
    return base * (1 - distributor.tracked.get(circuit, 0.0)) * (1 - 0.8 * min(1.0, damp)) * (1 - 0.25 * distributor.oil)


def weakest(plug: Plug, lead: Lead, block: float, weather: Weather, hot: float, tall: bool) -> Weakest:
    """Return the weakest path of one circuit."""
    paths = (
        Weakest(lead_kv(lead, weather, hot), "lead"),
        Weakest(plug_kv(plug, weather, tall), "plug"),
        Weakest(block, "block"),
    )
    return min(paths, key=lambda path: path.kv)
