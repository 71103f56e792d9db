"""What bench instruments read: gauges, ohmmeters, testers, timing light, compression tester. Errors of reading are estimates."""

from __future__ import annotations

from diagnose.stand.build import cylinder_of
from diagnose.stand.compression import leaks, reading_psi
from diagnose.stand.deposits import shunt_ohm, voltage_left
from diagnose.stand.engine import Engine
from diagnose.stand.grounding import live_sides, switch_grounds
from diagnose.stand.insulation import LEAD_KV, lead_kv, plug_kv
from diagnose.stand.magneto import coming_in_speed, never_open, points_late, spark_late
from diagnose.stand.reading import Reading, looked
from diagnose.stand.spark_need import need_kv
from diagnose.stand.starting import CRANK_RPM, Cranking, start_sparks

GAUGE_IN = 0.0005  # a wire gauge tells half a thousandth
METER = 0.02  # an ohmmeter reads to 2 %
LIGHT_DEG = 0.6  # a timing light and a mark tell about half a degree
COMPRESSION_PSI = 1.2
OPEN_OHM = 5e7
BOMB_KV = 18.0  # what the tester gives: estimate within published 24 kV of one shop
BOMB_BAR = 6.5  # 80 psi gauge, from memory
TESTER_KV = 10.0  # AMM of 1989
PASS_MOHM = 5000.0


def _metered(engine: Engine, name: str, ohm: float, sigma: float = METER) -> float:
    value = ohm * (1 + engine.scatter.fresh(f"meter {name}", sigma))
    return float(f"{value:.3g}")


def plug_gap(engine: Engine, circuit: str) -> Reading:
    """Gauge the widest gap with round wire, inches."""
    plug = engine.build.plugs[engine.circuit(circuit)]
    if plug.bridged:
        return Reading(0.0, "in", ("bridged",))
    return Reading(round(plug.gap_in + engine.scatter.fresh(f"gap {circuit}", GAUGE_IN), 4), "in")


def plug_resistance(engine: Engine, circuit: str) -> Reading:
    """Measure from terminal to centre electrode, ohm; None over 50 Mohm."""
    ohm = engine.build.plugs[engine.circuit(circuit)].resistor_ohm
    return Reading(None, "ohm") if ohm > OPEN_OHM else Reading(_metered(engine, f"plug {circuit}", ohm), "ohm")


def plug_insulation(engine: Engine, circuit: str) -> Reading:
    """Measure from centre electrode to shell, cold and dry, Mohm; None over 5,000."""
    plug = engine.build.plugs[engine.circuit(circuit)]
    ohm = 100.0 if plug.bridged or plug.shorted else shunt_ohm(plug, 20.0)
    mohm = _metered(engine, f"nose {circuit}", ohm / 1e6, 0.05)
    return Reading(None, "Mohm") if mohm > PASS_MOHM else Reading(mohm, "Mohm")


def plug_bomb(engine: Engine, circuit: str) -> Reading:
    """Fire the plug under pressure in the tester; it does not show what heat does."""
    plug = engine.build.plugs[engine.circuit(circuit)]
    density = (BOMB_BAR) / 1.013
    need = need_kv(plug, density, 1.1, 0.0)
    supply = BOMB_KV * (0.0 if plug.bridged or plug.shorted else voltage_left(shunt_ohm(plug, 20.0)))
    good = min(supply, plug_kv(plug, engine.weather)) * (1 + engine.scatter.fresh(f"bomb {circuit}", 0.05)) > need
    return looked("fires steadily" if good and plug.resistor_ohm < 1e6 else "misses")


def lead_continuity(engine: Engine, circuit: str, flexed: bool = False) -> Reading:
    """Measure a lead end to end, ohm; None when open. A break that comes and goes shows mostly when flexed."""
    lead = engine.build.leads[engine.circuit(circuit)]
    acts = engine.begin()
    chance = lead.opens if not flexed or lead.opens <= 0 else min(1.0, lead.opens + 0.6)
    broken = lead.gap_mm > 0 and (lead.opens <= 0 or acts(f"lead {circuit}", chance))
    return Reading(None, "ohm") if broken else Reading(_metered(engine, f"lead {circuit}", lead.ohm, 0.1), "ohm")


def lead_insulation(engine: Engine, circuit: str) -> Reading:
    """Test a lead at 10 kV DC to its shield, Mohm; None over 5,000. As wet as the day is."""
    lead = engine.build.leads[engine.circuit(circuit)]
    holds = lead_kv(lead, engine.weather, 0.0)
    if holds < TESTER_KV:
        return Reading(float(f"{max(0.1, 20 * holds / TESTER_KV):.2g}"), "Mohm", ("gap of the tester silent",))
    mohm = 20000.0 * (holds / LEAD_KV) ** 4
    return Reading(None, "Mohm") if mohm > PASS_MOHM else Reading(_metered(engine, f"insulation {circuit}", mohm, 0.1), "Mohm")


def spark_at_lead(engine: Engine, circuit: str) -> Reading:
    """Crank with the key in START, plugs out, and hold the lead a few millimetres from metal."""
    build, acts = engine.build, engine.begin()
    tower = build.crossed.get(engine.circuit(circuit), circuit)
    sides = live_sides(engine.layout, build.magnetos, build.switch, "start", acts)
    if engine.layout.side_of[tower] not in sides:
        return looked("no spark")
    at = Cranking(1.1, engine.weather, "cold", acts)
    turned = start_sparks(build, sides, at, CRANK_RPM * build.gear.battery, True)
    ones = [s for s in turned if s.spark.circuit == circuit]
    kv = ones[0].spark.available if ones else 0.0
    kv = min(kv, lead_kv(build.leads[circuit], engine.weather, 0.0)) * (1 + engine.scatter.fresh(f"bare {circuit}", 0.08))
    return looked("strong spark" if kv > 10 else "weak spark" if kv > 5 else "no spark")


def points_clearance(engine: Engine, side: str) -> Reading:
    """Feel the contact clearance at the cam's high point, inches."""
    points = engine.build.magnetos[engine.side(side)].points
    clearance = 0.0 if never_open(points) else points.clearance_in - points.follower_worn_in
    return Reading(round(max(0.0, clearance + engine.scatter.fresh(f"points {side}", GAUGE_IN)), 4), "in")


def e_gap(engine: Engine, side: str) -> Reading:
    """Read how far off the E-gap mark the points open, magnet degrees; positive is late."""
    magneto = engine.build.magnetos[engine.side(side)]
    if never_open(magneto.points):
        return Reading(None, "magnet deg", ("points do not open",))
    off = magneto.drive.e_gap_off_deg + points_late(magneto.points)
    return Reading(round(off + engine.scatter.fresh(f"e-gap {side}", 0.7), 1), "magnet deg")


def timing_to_engine(engine: Engine, side: str) -> Reading:
    """Read with the timing light where the points open, crank degrees before top centre."""
    magneto = engine.build.magnetos[engine.side(side)]
    if never_open(magneto.points) or magneto.drive.sheared:
        return Reading(None, "deg BTDC", ("light does not change",))
    late = spark_late(magneto, engine.build.ratio(side))
    seen = engine.build.timing_btdc - late + engine.scatter.fresh(f"light {side}", LIGHT_DEG)
    words = ("does not repeat",) if max(magneto.drive.wander_deg, magneto.drive.pad_loose_deg) > 2.5 else ()
    return Reading(round(seen * 2) / 2, "deg BTDC", words)


def capacitor(engine: Engine, side: str) -> Reading:
    """Measure the capacitor off the magneto, microfarad, with words for a leak or a short."""
    part = engine.build.magnetos[engine.side(side)].capacitor
    acts = engine.begin()
    acting = part.state == "sound" or acts("bench", part.acts)
    if part.state in ("open", "through_open") and acting:
        words = ("open",) if part.state == "open" else ("feed-through open",)
        return Reading(0.0 if part.state == "open" else part.microfarad, "uF", words)
    if part.state == "shorted" and acting:
        return Reading(None, "uF", ("shorted",))
    leaks_now = ("leaks at 400 V",) if part.state == "weak" and acting else ()
    return Reading(_metered(engine, f"capacitor {side}", part.microfarad), "uF", leaks_now)


def coil_primary(engine: Engine, side: str) -> Reading:
    """Measure the primary, ohm."""
    coil = engine.build.magnetos[engine.side(side)].coil
    acts = engine.begin()
    if coil.loose_primary > 0 and acts("bench", coil.loose_primary):
        return Reading(None, "ohm")
    return Reading(_metered(engine, f"primary {side}", coil.primary_ohm), "ohm")


def coil_secondary(engine: Engine, side: str) -> Reading:
    """Measure the secondary cold, ohm; None when open."""
    coil = engine.build.magnetos[engine.side(side)].coil
    if coil.break_mm > 0:
        return Reading(None, "ohm")
    return Reading(_metered(engine, f"secondary {side}", coil.secondary_ohm * (1 - coil.shorted_turns)), "ohm")


def coming_in(engine: Engine, side: str, hot: bool = False) -> Reading:
    """Spin the magneto on the bench until it fires the test gap steadily, rpm of the magnet; None when it never does."""
    rpm = coming_in_speed(engine.build.magnetos[engine.side(side)], 1.0 if hot else 0.0)
    return Reading(None, "rpm") if rpm is None else Reading(float(round(rpm + engine.scatter.fresh(f"coming in {side}", 6.0))), "rpm")


def p_lead(engine: Engine, side: str, position: str) -> Reading:
    """Measure a ground lead taken off its magneto to the airframe in a switch position, ohm; None when open."""
    magneto, acts = engine.build.magnetos[engine.side(side)], engine.begin()
    lead = magneto.p_lead
    spot = f"p-lead {lead.spot or side}"
    if lead.state == "grounded" and acts(spot, lead.acts):
        return Reading(_metered(engine, f"p-lead {side}", 0.3, 0.1), "ohm")
    if lead.state == "open" and acts(spot, lead.acts):
        return Reading(None, "ohm")
    closed = side in switch_grounds(engine.layout, engine.build.switch, position, acts)
    return Reading(_metered(engine, f"p-lead {side}", 0.3, 0.1), "ohm") if closed else Reading(None, "ohm")


def compression(engine: Engine, cylinder: str | int, hot: bool = True) -> Reading:
    """Test one cylinder with 80 psi in, psi, and where air is heard (a leak of a quarter orifice or more)."""
    number = engine.cylinder(cylinder)
    found = leaks(engine.build.cylinders[number], hot, engine.build.bore_in)
    psi = reading_psi(sum(found.values())) + engine.scatter.fresh(f"compression {number}", COMPRESSION_PSI)
    heard = [name for name, leak in found.items() if leak > (0.5 if name == "breather" else 0.25)]
    loose = [c for c in engine.layout.circuits if cylinder_of(c) == number and engine.build.plugs[c].loose]
    return Reading(float(min(80, round(psi))), "psi", tuple(heard + (["plug hole"] if loose else [])))


def injector_flow(engine: Engine, cylinder: str | int) -> Reading:
    """Catch one nozzle's flow in a jar, as a share of the mean of all."""
    parts = engine.build.cylinders
    mean = sum(c.fuel for c in parts.values()) / len(parts)
    value = parts[engine.cylinder(cylinder)].fuel / mean * (1 + engine.scatter.fresh(f"jar {cylinder}", 0.03))
    return Reading(round(value, 2), "of mean")


def battery_volts(engine: Engine) -> Reading:
    """Measure volts at the starter while cranking, 12 V system."""
    return Reading(round(10.5 * engine.build.gear.battery + engine.scatter.fresh("battery", 0.1), 1), "V")


def tachometer_error(engine: Engine) -> Reading:
    """Compare the tachometer with a known good one, rpm at 2,000, and tap the glass."""
    frame = engine.build.airframe
    words = ("needle sticks",) if frame.tach_sticks_rpm > 20 else ()
    return Reading(float(round(2000 * frame.tach_bias + engine.scatter.fresh("optical", 4.0))), "rpm", words)


def probe_test(engine: Engine, cylinder: str | int) -> Reading:
    """Warm one exhaust probe and read its channel."""
    number, frame = engine.cylinder(cylinder), engine.build.airframe
    if number in frame.probe_dead:
        return looked("no reading")
    if frame.probe_of.get(number, number) != number:
        return looked("another channel moves")
    return looked("reads low" if frame.probe_weak.get(number, 1.0) < 0.7 else "reads right")


def retard_points(engine: Engine, side: str) -> Reading:
    """Read how far after the main points the retard points open, magnet degrees."""
    retard = engine.build.magnetos[engine.side(side)].retard
    if retard is None:
        return looked("no retard points")
    if retard.stuck:
        return Reading(None, "magnet deg", (f"stay {retard.stuck}",))
    return Reading(round(retard.angle_magnet_deg + engine.scatter.fresh(f"retard {side}", 0.7), 1), "magnet deg")
