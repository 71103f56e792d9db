"""What eyes and fingers find with the engine stopped: plugs, leads, magneto inside, couplings, fuel and air parts.

Small things are missed: a state is seen when it passes a threshold with the reader's own scatter on it (estimate).
"""

from __future__ import annotations

from diagnose.stand.build import cylinder_of
from diagnose.stand.engine import Engine
from diagnose.stand.magneto import never_open, points_late
from diagnose.stand.parts import Plug
from diagnose.stand.reading import Reading, looked

EYE = 0.06  # scatter of a look on a scale from 0 to 1: estimate
SEEN = 0.3  # from here on a deposit is called by its name: estimate
FACES = {
    "frosted": "grey and frosted",
    "mound": "mound with matching pit, not burnt",
    "pitted": "pitted, burnt crater",
    "coarse": "coarse frosting, sooty sides",
    "blue": "blue",
    "oily": "oily and smudged",
}


def _sees(engine: Engine, name: str, amount: float, threshold: float = SEEN) -> bool:
    return amount > 0.02 and amount + engine.scatter.fresh(f"eye {name}", EYE) > threshold


def plug_look(engine: Engine, circuit: str) -> Reading:
    """Take a plug out and look at its firing end, well and electrodes; "tan and dry" when there is nothing to say."""
    plug = engine.build.plugs[engine.circuit(circuit)]
    amounts = (
        ("dry black soot", plug.soot),
        ("grey or yellow lead, beads", plug.lead),
        ("black and wet with oil", plug.oil),
        ("shiny glaze", plug.glaze),
        ("metal specks", plug.metal),
        ("water or ice", plug.water),
        ("wet with fuel", plug.fuel),
        ("electrodes worn round", plug.worn * 0.75 - 0.3),
        ("cracked insulator", plug.crack * 0.6),  # many cracks are invisible (FAA-H-8083-32B p4-35)
        ("dirt or water in the well", plug.well),
        ("white and blistered", _overheat(engine, circuit, plug)),
    )
    words = [word for word, amount in amounts if _sees(engine, f"{circuit} {word}", amount)]
    words += ["gap bridged"] if plug.bridged else []
    words += ["compound on the electrodes"] if plug.shorted else []
    words += ["loose in its seat"] if plug.loose else []
    return looked(*words or ["tan and dry"])


def _overheat(engine: Engine, circuit: str, plug: Plug) -> float:
    cylinder = engine.build.cylinders[cylinder_of(circuit)]
    lean = max(0.0, 0.9 - cylinder.fuel) + 0.5 * cylinder.pipe_leak
    return max(plug.hot_spot, 0.4 * max(0, plug.heat_range) + 0.6 * lean + 0.4 * plug.loose + 0.5 * cylinder.glows)


def lead_look(engine: Engine, circuit: str) -> Reading:
    """Look along a lead and into its plug end."""
    lead = engine.build.leads[engine.circuit(circuit)]
    words = ["chafed or burnt insulation"] if _sees(engine, f"{circuit} chafe", lead.hurt * 0.7) else []
    words += ["dirty or burnt terminal"] if _sees(engine, f"{circuit} terminal", lead.terminal_dirt) else []
    words += ["spring or terminal not touching"] if lead.gap_mm > 0 and engine.scatter.toss(f"eye {circuit} spring") < 0.6 else []
    words += ["wet sleeve, track in it"] if _sees(engine, f"{circuit} sleeve", lead.damp * (0.5 + 0.5 * engine.weather.wet)) else []
    words += ["shield broken"] if lead.shield_broken else []
    return looked(*words or ["sound"])


def lead_goes_to(engine: Engine, circuit: str) -> Reading:
    """Ring out a plug's lead to the block: the circuit whose tower it comes from."""
    tower = engine.build.crossed.get(engine.circuit(circuit), circuit)
    return looked(f"from the tower of {tower}")


def points_look(engine: Engine, side: str) -> Reading:
    """Open the breaker cover and look at contacts, spring and follower."""
    magneto = engine.build.magnetos[engine.side(side)]
    words = [FACES[magneto.points.face]]
    words += ["oil in the compartment"] if magneto.points.face == "oily" or magneto.distributor.oil > 0.3 else []
    words += ["do not open"] if never_open(magneto.points) else []
    words += ["spring weak, closes lazily"] if _sees(engine, f"{side} spring", magneto.points.weak_spring, 0.4) else []
    words += ["follower worn"] if magneto.points.follower_worn_in > 0.006 else []
    words += ["primary terminal loose"] if magneto.coil.loose_primary > 0 else []
    return looked(*words)


def distributor_look(engine: Engine, side: str) -> Reading:
    """Open the distributor and look at block, towers, finger, gears and brush."""
    inside = engine.build.magnetos[engine.side(side)].distributor
    words = [f"track at the tower of {c}" for c, amount in inside.tracked.items() if _sees(engine, f"{side} track {c}", amount)]
    words += ["water or dirt inside"] if _sees(engine, f"{side} damp", inside.damp) else []
    words += ["oil inside"] if _sees(engine, f"{side} oil", inside.oil) else []
    words += ["cracked block, loose bushing or broken gear teeth"] if _sees(engine, f"{side} stray", 4 * inside.stray, 0.2) else []
    words += ["brush stuck or worn short"] if inside.brush_gap_mm > 0.5 else []
    return looked(*words or ["clean and sound"])


def fixing_look(engine: Engine, side: str) -> Reading:
    """Feel the magneto on its pad, its drive for play, and read its plate."""
    drive = engine.build.magnetos[engine.side(side)].drive
    words = ["loose on its pad"] if drive.pad_loose_deg > 1.5 else []
    words += ["play in the drive"] if drive.wander_deg > 2.5 else []
    words += ["drive turns without the magnet"] if drive.sheared else []
    words += ["plate for the other rotation"] if drive.turns_wrong else []
    return looked(*words or ["tight"])


def impulse_by_hand(engine: Engine, side: str) -> Reading:
    """Turn a magneto's coupling by hand, ignition off and plugs out: it should stop and snap past top centre."""
    impulse = engine.build.magnetos[engine.side(side)].drive.impulse
    if impulse is None:
        return looked("no coupling")
    if impulse.spring <= 0.05:
        return looked("no snap, spring broken")
    acts = engine.begin()
    caught = acts("hand", 0.0 if impulse.magnetised else impulse.catches)
    words = ["snaps"] if caught else ["does not catch"]
    if caught and impulse.spring < 0.6:
        words = ["snaps weakly"]
    if 0.0 < impulse.catches < 1.0 and not impulse.magnetised:
        words = ["catches now and then"]
    return looked(*words)


def impulse_look(engine: Engine, side: str) -> Reading:
    """Look at a coupling off the magneto: ears, flyweights, spring, magnetism."""
    impulse = engine.build.magnetos[engine.side(side)].drive.impulse
    if impulse is None:
        return looked("no coupling")
    words = ["ears or pawls worn"] if impulse.worn > 0.4 else []
    words += ["flyweights magnetised"] if impulse.magnetised else []
    words += ["spring broken or weak"] if impulse.spring < 0.6 else []
    words += ["flyweights stay out"] if impulse.stays_back else []
    return looked(*words or ["sound"])


def vibrator_sound(engine: Engine) -> Reading:
    """Listen for the vibrator: mixture cut, fuel off, battery on, propeller clear."""
    if "vibrator" not in engine.layout.start_aid.values():
        return looked("no vibrator")
    gear = engine.build.gear
    if gear.vibrator == "dead" or gear.battery < 0.45:
        return looked("no buzz")
    return looked("weak buzz" if gear.vibrator == "weak" or gear.battery < 0.65 else "buzz")


def key_test(engine: Engine) -> Reading:
    """Try in which positions the key comes out."""
    return looked("key comes out in any position" if engine.build.switch.key_out_anywhere else "key comes out only in OFF")


def induction_look(engine: Engine, cylinder: str | int) -> Reading:
    """Look for stains and brush soapy water on one cylinder's induction pipe and its joints."""
    leak = engine.build.cylinders[engine.cylinder(cylinder)].pipe_leak
    return looked("leak at pipe or joint" if _sees(engine, f"pipe {cylinder}", min(1.0, 3 * leak), 0.2) else "tight")


def valve_look(engine: Engine, cylinder: str | int) -> Reading:
    """Take a rocker cover off: clearance and how the valve moves in its guide."""
    part = engine.build.cylinders[engine.cylinder(cylinder)]
    words = ["clearance too wide"] if part.clearance_off > 0.25 else []
    words += ["clearance too small"] if part.clearance_off < -0.25 else []
    words += ["valve drags in its guide"] if max(part.sticks_cold, part.sticks_warm) > 0.15 else []
    return looked(*words or ["clearance right, valves free"])


def air_filter_look(engine: Engine) -> Reading:
    """Look at the air filter and ducts."""
    return looked("blocked" if engine.build.supply.air_blocked > 0.25 else "clean")


def fuel_drain(engine: Engine) -> Reading:
    """Drain a sample."""
    return looked("water in it" if engine.build.supply.water > 0.02 else "clean")


def primer_look(engine: Engine) -> Reading:
    """Look whether the primer is locked and tight."""
    return looked("leaks or unlocked" if engine.build.supply.primer_leak > 0.1 else "locked and tight")


def mount_look(engine: Engine) -> Reading:
    """Look at mount, bushings and propeller."""
    frame = engine.build.airframe
    words = ["mount or bushings soft or cracked"] if frame.mount > 0.3 else []
    words += ["blade damage or out of track"] if frame.propeller_unbalance > 0.5 else []
    return looked(*words or ["sound"])


def marks_agree(engine: Engine, side: str) -> Reading:
    """Compare the magneto's internal marks at the moment the points open."""
    magneto = engine.build.magnetos[engine.side(side)]
    off = abs(magneto.drive.e_gap_off_deg + points_late(magneto.points))
    return looked("marks off" if off + engine.scatter.fresh(f"marks {side}", 0.7) > 4.0 else "marks agree")
