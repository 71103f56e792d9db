"""Repairs and exchanges: what is done to an engine's parts. What a repair does not touch stays as it was."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.places import SIDES
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand.build import cylinder_of
from diagnose.stand.engine import Engine
from diagnose.stand.magneto import CLEARANCE_IN, points_late
from diagnose.stand.parts import Airframe, Capacitor, Coil, Distributor, Impulse, PLead, Points, Retard, Switch

GAP_IN = 0.0175


def clean_plug(engine: Engine, circuit: str) -> None:
    """Clean, gap and test a plug; wear, resistor and cracks stay."""
    plug = engine.build.plugs[engine.circuit(circuit)]
    plug.lead = plug.soot = plug.oil = plug.metal = plug.water = plug.fuel = plug.well = 0.0
    plug.glaze *= 0.7  # glaze hardly comes off: replace (US Navy manual)
    plug.bridged = plug.shorted = plug.loose = False
    plug.gap_in = GAP_IN + engine.scatter.fresh(f"regap {circuit}", 0.0005)


def gap_plug(engine: Engine, circuit: str) -> None:
    """Set a plug's gap only."""
    engine.build.plugs[engine.circuit(circuit)].gap_in = GAP_IN + engine.scatter.fresh(f"regap {circuit}", 0.0005)


def dry_plugs(engine: Engine, place: str) -> None:
    """Take all plugs out and dry them."""
    for plug in engine.build.plugs.values():
        plug.water = plug.fuel = 0.0


def right_heat_range(engine: Engine, place: str) -> None:
    """Fit the right type of plug all round."""
    for circuit in engine.layout.circuits:
        engine.fit_new_plug(circuit)


def clean_lead_ends(engine: Engine, circuit: str) -> None:
    """Clean and seat both ends of a lead; a small break at a terminal goes, one inside stays."""
    lead = engine.build.leads[engine.circuit(circuit)]
    lead.terminal_dirt, lead.damp = 0.0, lead.damp * 0.5
    lead.gap_mm = 0.0 if lead.gap_mm <= 6.0 and lead.opens <= 0 else lead.gap_mm


def straighten_leads(engine: Engine, place: str) -> None:
    """Put every lead on its proper tower."""
    engine.build.crossed.clear()


def exchange_plugs(engine: Engine, first: str, second: str) -> None:
    """Exchange two plugs between their holes."""
    plugs = engine.build.plugs
    plugs[engine.circuit(first)], plugs[engine.circuit(second)] = plugs[engine.circuit(second)], plugs[first]


def exchange_leads(engine: Engine, first: str, second: str) -> None:
    """Exchange two leads at both their ends, so that each circuit is still fed from its own tower."""
    leads = engine.build.leads
    leads[engine.circuit(first)], leads[engine.circuit(second)] = leads[engine.circuit(second)], leads[first]


def exchange_nozzles(engine: Engine, first: str | int, second: str | int) -> None:
    """Exchange two injector nozzles."""
    a, b = (engine.build.cylinders[engine.cylinder(n)] for n in (first, second))
    a.fuel, b.fuel = b.fuel, a.fuel


def exchange_probes(engine: Engine, first: str | int, second: str | int) -> None:
    """Exchange two exhaust probes with their channels: what is wrong with a probe goes with it."""
    frame, a, b = engine.build.airframe, engine.cylinder(first), engine.cylinder(second)
    swap = {a: b, b: a}
    frame.probe_dead = {swap.get(n, n) for n in frame.probe_dead}
    frame.probe_weak = {swap.get(n, n): value for n, value in frame.probe_weak.items()}


def new_points(engine: Engine, side: str) -> None:
    """Fit and set new points at the E-gap, then time the magneto to the engine."""
    magneto = engine.build.magnetos[engine.side(side)]
    magneto.points = Points(clearance_in=CLEARANCE_IN + engine.scatter.fresh(f"new points {side}", 0.0004))
    magneto.drive.e_gap_off_deg = 0.0
    time_to_engine(engine, side)


def set_points(engine: Engine, side: str) -> None:
    """Set worn points to their clearance and the E-gap, clean the faces, then time the magneto to the engine."""
    magneto = engine.build.magnetos[engine.side(side)]
    points = magneto.points
    points.clearance_in = CLEARANCE_IN + points.follower_worn_in + engine.scatter.fresh(f"points set {side}", 0.0004)
    points.face = "frosted" if points.face == "oily" else points.face
    magneto.drive.e_gap_off_deg = 0.0
    time_to_engine(engine, side)


def time_to_engine(engine: Engine, side: str) -> None:
    """Set a magneto to the engine with the timing light and tighten it; on a single drive both sides move."""
    magneto = engine.build.magnetos[engine.side(side)]
    drive = magneto.drive
    drive.late_deg = engine.scatter.fresh(f"timed {side}", 0.4) - points_late(magneto.points) / engine.build.ratio(side)
    drive.pad_loose_deg = 0.0


def new_drive_parts(engine: Engine, side: str) -> None:
    """Renew gear, bushing or shaft of the drive, then time the magneto to the engine."""
    drive = engine.build.magnetos[engine.side(side)].drive
    drive.wander_deg, drive.sheared = 0.4, False
    time_to_engine(engine, side)


def new_capacitor(engine: Engine, side: str) -> None:
    """Fit a new capacitor."""
    engine.build.magnetos[engine.side(side)].capacitor = Capacitor()


def new_coil(engine: Engine, side: str) -> None:
    """Fit a new coil and tighten its terminals."""
    engine.build.magnetos[engine.side(side)].coil = Coil()


def tighten_primary(engine: Engine, side: str) -> None:
    """Tighten the primary terminal."""
    engine.build.magnetos[engine.side(side)].coil.loose_primary = 0.0


def new_block(engine: Engine, side: str) -> None:
    """Fit a new block, finger and brush."""
    engine.build.magnetos[engine.side(side)].distributor = Distributor()


def dry_distributor(engine: Engine, side: str) -> None:
    """Clean and dry the inside; tracks and cracks stay."""
    inside = engine.build.magnetos[engine.side(side)].distributor
    inside.damp = inside.oil = 0.0


def new_seal(engine: Engine, side: str) -> None:
    """Fit a new drive seal, clean the inside, fit new points where they are oily."""
    dry_distributor(engine, side)
    if engine.build.magnetos[side].points.face == "oily":
        new_points(engine, side)


def new_coupling(engine: Engine, side: str) -> None:
    """Fit a new impulse coupling where there is one."""
    drive = engine.build.magnetos[engine.side(side)].drive
    if drive.impulse is not None:
        drive.impulse = Impulse(lag_magnet_deg=drive.impulse.lag_magnet_deg)


def clean_coupling(engine: Engine, side: str) -> None:
    """Clean and demagnetise a coupling; wear and a weak spring stay."""
    impulse = engine.build.magnetos[engine.side(side)].drive.impulse
    if impulse is not None:
        impulse.magnetised, impulse.stays_back = False, False
        impulse.catches = impulse.catches if impulse.worn > 0.4 else 1.0


def set_retard_points(engine: Engine, side: str) -> None:
    """Set the retard points."""
    if engine.build.magnetos[engine.side(side)].retard is not None:
        engine.build.magnetos[side].retard = Retard()


def new_vibrator(engine: Engine, place: str) -> None:
    """Fit a new vibrator and mend its feed."""
    engine.build.gear.vibrator = "sound"


def charge_battery(engine: Engine, place: str) -> None:
    """Charge or change the battery and clean its connections."""
    engine.build.gear.battery = 1.0


def mend_p_lead(engine: Engine, side: str) -> None:
    """Mend or renew a ground lead; the filter goes with it, a capacitor's feed-through does not."""
    engine.build.magnetos[engine.side(side)].p_lead = PLead()


def new_switch(engine: Engine, place: str) -> None:
    """Fit a new switch, wired right."""
    engine.build.switch = Switch()


def clean_nozzle(engine: Engine, cylinder: str) -> None:
    """Clean an injector nozzle and its line."""
    engine.build.cylinders[engine.cylinder(cylinder)].fuel = 1.0


def seal_pipe(engine: Engine, cylinder: str) -> None:
    """Seal an intake pipe."""
    engine.build.cylinders[engine.cylinder(cylinder)].pipe_leak = 0.0


def free_valve(engine: Engine, cylinder: str) -> None:
    """Ream the guide and set the clearance."""
    part = engine.build.cylinders[engine.cylinder(cylinder)]
    part.sticks_cold = part.sticks_warm = part.clearance_off = 0.0


def overhaul_cylinder(engine: Engine, cylinder: str) -> None:
    """Fit an overhauled cylinder with its own nozzle; the plugs are put back as they are."""
    kept = engine.build.cylinders[engine.cylinder(cylinder)].fuel
    engine.fit_cylinder(cylinder)
    engine.build.cylinders[engine.cylinder(cylinder)].fuel = kept


def set_mixture(engine: Engine, place: str) -> None:
    """Set or overhaul carburettor or fuel control: running and idle mixture."""
    engine.build.supply.mixture = engine.build.supply.idle_mixture = 1.0


def mend_supply(engine: Engine, place: str) -> None:
    """Drain water, clean strainers and lines, lock and seal the primer."""
    supply = engine.build.supply
    supply.water = supply.starved = supply.primer_leak = 0.0


def clear_air(engine: Engine, place: str) -> None:
    """Change the air filter and clear induction and exhaust."""
    engine.build.supply.air_blocked = engine.build.supply.exhaust_choked = 0.0


def mend_mount(engine: Engine, place: str) -> None:
    """Renew mount bushings and balance the propeller."""
    engine.build.airframe.mount = engine.build.airframe.propeller_unbalance = 0.0


def mend_instruments(engine: Engine, place: str) -> None:
    """Mend tachometer, probes and their wiring."""
    old = engine.build.airframe
    engine.build.airframe = Airframe(propeller_unbalance=old.propeller_unbalance, mount=old.mount)


def mend_shields(engine: Engine, place: str) -> None:
    """Mend shields and bonding."""
    engine.build.airframe.radio_noise = False
    for lead in engine.build.leads.values():
        lead.shield_broken = False


def both_plugs(engine: Engine, cylinder: str) -> None:
    """Fit new plugs in one cylinder."""
    for circuit in engine.layout.circuits:
        if cylinder_of(circuit) == engine.cylinder(cylinder):
            engine.fit_new_plug(circuit)


Repair = Callable[[Engine, str], None]
REPAIRS: Mapping[str, tuple[str, Repair]] = {
    "clean-plug": ("circuit", clean_plug),
    "gap-plug": ("circuit", gap_plug),
    "new-plug": ("circuit", Engine.fit_new_plug),
    "both-plugs": ("cylinder", both_plugs),
    "dry-plugs": ("engine", dry_plugs),
    "right-heat-range": ("engine", right_heat_range),
    "new-lead": ("circuit", Engine.fit_new_lead),
    "clean-lead-ends": ("circuit", clean_lead_ends),
    "straighten-leads": ("engine", straighten_leads),
    "mend-shields": ("engine", mend_shields),
    "new-points": ("side", new_points),
    "set-points": ("side", set_points),
    "time-to-engine": ("side", time_to_engine),
    "new-drive-parts": ("side", new_drive_parts),
    "new-capacitor": ("side", new_capacitor),
    "new-coil": ("side", new_coil),
    "tighten-primary": ("side", tighten_primary),
    "new-block": ("side", new_block),
    "dry-distributor": ("side", dry_distributor),
    "new-seal": ("side", new_seal),
    "good-magneto": ("side", Engine.fit_magneto),
    "new-coupling": ("side", new_coupling),
    "clean-coupling": ("side", clean_coupling),
    "set-retard-points": ("side", set_retard_points),
    "new-vibrator": ("engine", new_vibrator),
    "charge-battery": ("engine", charge_battery),
    "mend-p-lead": ("side", mend_p_lead),
    "new-switch": ("engine", new_switch),
    "clean-nozzle": ("cylinder", clean_nozzle),
    "seal-pipe": ("cylinder", seal_pipe),
    "free-valve": ("cylinder", free_valve),
    "overhaul-cylinder": ("cylinder", overhaul_cylinder),
    "set-mixture": ("engine", set_mixture),
    "mend-supply": ("engine", mend_supply),
    "clear-air": ("engine", clear_air),
    "mend-mount": ("engine", mend_mount),
    "mend-instruments": ("engine", mend_instruments),
}


def repair(engine: Engine, name: str, place: str = "engine") -> None:
    """Do one repair at a place. Raises BadInput for an unknown repair or a place it does not suit."""
    if name not in REPAIRS:
        raise BadInput(f"repair {name!r} is not known; {did_you_mean(name, REPAIRS)}")
    kind, do = REPAIRS[name]
    places = {"engine": ("engine",), "side": SIDES}.get(kind) or engine.layout.places(kind)
    if place not in places:
        raise BadInput(f"repair {name} is not done at {place!r}; {did_you_mean(place, places)}")
    do(engine, place)
