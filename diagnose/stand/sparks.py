"""Sparks of one circuit: how often, when, how strong, and where they go when not to their own plug."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.stand.build import Build, cylinder_of
from diagnose.stand.conditions import Weather
from diagnose.stand.deposits import nose_celsius, shunt_ohm, voltage_left
from diagnose.stand.grounding import Acts
from diagnose.stand.insulation import block_kv, weakest
from diagnose.stand.magneto import open_circuit_kv, spark_late
from diagnose.stand.parts import Magneto
from diagnose.stand.spark_need import HEATED_INTAKE_KELVIN, charge_density, need_kv

SPREAD = 0.10  # relative spread of need and voltage from spark to spark: estimate
BREAK_KV_PER_MM = 2.0  # what a break in series adds to the need: estimate (3 kV/mm in still air, less for a pulse)
STRAY_SHARE = 0.5  # share of block flashovers that reach another tower, the rest go to ground: estimate
HEAT = {"cold": 0.0, "warm": 0.4, "hot": 1.0}


@dataclass(frozen=True)
class Moment:
    """The state of the engine at which sparks are asked for; pressures in bar, `phi` by cylinder."""

    rpm: float
    manifold_bar: float
    phi: dict[int, float]
    weather: Weather
    heat: str = "warm"
    intake_kelvin: float = HEATED_INTAKE_KELVIN
    sealing: float = 1.0
    acts: Acts = lambda name, chance: chance >= 1.0


@dataclass(frozen=True)
class Spark:
    """Sparks at one plug: `chance` of one when due, `btdc` crank degrees before its own top centre, kV of need and supply.

    `btdc` may lie hundreds of degrees away when leads are crossed. `stray` is the share that goes to the next cylinder.
    """

    circuit: str
    chance: float
    btdc: float
    wander: float
    need: float
    available: float
    ohm: float
    stray: float
    lost_at: str

    @property
    def margin(self) -> float:
        """Voltage there is over voltage needed."""
        return self.available / max(self.need, 0.01)


def exceeds(high: float, low: float, spread: float = SPREAD) -> float:
    """Return the chance that `high` is above `low` when their ratio is spread so much."""
    if high <= 0:
        return 0.0
    return 0.5 * (1 + math.erf(math.log(high / max(low, 1e-6)) / (spread * math.sqrt(2))))


def running_btdc(build: Build, side: str) -> float:
    """Return crank degrees before top centre at which a side fires, its start retard included when that stays on."""
    magneto = build.magnetos[side]
    btdc = build.timing_btdc - spark_late(magneto, build.ratio(side))
    impulse = magneto.drive.impulse
    if impulse is not None and impulse.stays_back:
        btdc -= impulse.lag_magnet_deg / build.ratio(side)
    return btdc


def series_kv(build: Build, circuit: str, magneto: Magneto, acts: Acts) -> float:
    """Return what breaks in series add to the need of a circuit, in kV."""
    lead = build.leads[circuit]
    gap = lead.gap_mm if lead.opens <= 0 or acts(f"lead {circuit}", lead.opens) else 0.0
    coil = magneto.coil
    return BREAK_KV_PER_MM * (gap + coil.break_mm + magneto.distributor.brush_gap_mm) + lead.terminal_dirt * 1.5


def open_kv(magneto: Magneto, side: str, magnet_rpm: float, moment: Moment) -> float:
    """Return the open-circuit voltage of a side in this run, breaks that come and go included."""
    coil = magneto.coil
    if coil.loose_primary > 0 and moment.acts(f"primary {side}", coil.loose_primary):
        return 0.0
    acting = moment.acts(f"capacitor {side}", magneto.capacitor.acts)
    return open_circuit_kv(magneto, magnet_rpm, HEAT[moment.heat], acting)


def spark(build: Build, circuit: str, moment: Moment) -> Spark:
    """Return the sparks at a circuit's plug while its magneto is free to fire and running at engine speed."""
    tower = build.crossed.get(circuit, circuit)
    side = build.layout.side_of[tower]
    btdc = running_btdc(build, side)
    supply = open_kv(build.magnetos[side], side, moment.rpm * build.ratio(side), moment)
    drive = build.magnetos[side].drive
    wander = math.hypot(drive.wander_deg, drive.pad_loose_deg)
    return spark_at(build, circuit, moment, supply, btdc, wander)


def spark_at(build: Build, circuit: str, moment: Moment, supply_kv: float, btdc: float, wander: float) -> Spark:
    """Return the sparks at a plug for an open-circuit voltage and a moment of the crank."""
    tower = build.crossed.get(circuit, circuit)
    cylinder, plug, lead = cylinder_of(circuit), build.plugs[circuit], build.leads[circuit]
    magneto = build.magnetos[build.layout.side_of[tower]]
    due = btdc + build.steps(cylinder_of(tower), cylinder) * build.interval
    phi, warmth = moment.phi[cylinder], min(1.0, moment.manifold_bar * moment.rpm / 2300)
    density = charge_density(moment.manifold_bar, moment.intake_kelvin, min(due, 180.0), moment.sealing)
    need = need_kv(plug, density, phi, warmth) + series_kv(build, circuit, magneto, moment.acts)
    nose = nose_celsius(moment.manifold_bar, moment.rpm, plug.heat_range, phi)
    available = supply_kv * voltage_left(shunt_ohm(plug, nose))
    hot = HEAT[moment.heat]
    block = block_kv(magneto.distributor, tower, moment.weather, build.layout.pressurised, hot)
    path = weakest(plug, lead, block, moment.weather, hot, build.layout.pressurised)
    holds = exceeds(path.kv, need)
    chance = 0.0 if plug.bridged or plug.shorted else exceeds(available, need) * holds * (1 - magneto.distributor.stray)
    stray = magneto.distributor.stray + (STRAY_SHARE * (1 - holds) if path.where == "block" else 0.0)
    lost = path.where if holds < 0.5 else ""
    ohm = plug.resistor_ohm + lead.ohm
    return Spark(circuit, chance, due, wander, need, available, ohm, min(1.0, stray) * (supply_kv > need), lost)
