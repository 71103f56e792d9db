"""What eyes and instruments find with the engine stopped: the stand's words and numbers as grades.

Limits are those of the bench arithmetic or of the rule base's own list of typical ones; a band is the reading error.
"""

from __future__ import annotations

from collections.abc import Callable

from diagnose.calc.answer import above, below
from diagnose.calc.compression import CompressionReading, grade
from diagnose.calc.contact_points import CLEARANCE_HIGH, CLEARANCE_LOW
from diagnose.calc.plugs import PlugLimits, PlugReadings, gap_grades
from diagnose.calc.timing import TimingReadings, timing_results
from diagnose.calc.units import Quantity
from diagnose.drill.look import Look
from diagnose.stand.observations import observe
from diagnose.stand.reading import Reading

Answer = Callable[[Look, str, str], str]
OHM = "ohm"
E_GAP_OFF, E_GAP_BAND = 4.0, 0.7  # magnet degrees off the E-gap: 10 plus or minus 4 of one family (rule base, limits)
COIL = {"coil-primary": (0.5, 1.2), "coil-secondary": (13000.0, 20500.0)}  # one airframe manual (rule base, limits)
COMES_IN = 1.4  # share over this magneto's own coming-in speed from which the spark is weak: estimate
CAPACITOR = (0.34, 0.41)  # microfarad (rule base, limits; dual family)
LEAST_BATTERY, BATTERY_BAND = 9.0, 0.1  # V of a 12 V battery under load: common practice, no source
LEAST_MOHM, MOST_LEAD_OHM, MOST_PLUG_OHM = 100.0, 10.0, 5000.0  # rule base, limits
LEAST_FLOW, FLOW_BAND = 0.88, 0.03  # of the mean of all nozzles: estimate


def word(name: str, *wanted: str) -> Answer:
    """Return an answer: yes where one of some words stands in an observation of the place."""
    return lambda look, regime, place: _yes(look.says(name, place, *wanted))


def word_of_engine(name: str, *wanted: str) -> Answer:
    """Return an answer: yes where one of some words stands in an observation of the whole engine."""
    return lambda look, regime, place: _yes(look.says(name, "engine", *wanted))


def looks_other(name: str, sound: str) -> Answer:
    """Return an answer: yes where an observation says anything but its sound word; nothing where there is no such part."""

    def told(look: Look, regime: str, place: str) -> str:
        words = look.see(name, place).words
        return "" if any(w.startswith("no ") and w.endswith(("coupling", "points", "vibrator")) for w in words) else _yes(words != (sound,))

    return told


def looks_other_of_engine(name: str, sound: str) -> Answer:
    """Return the same about an observation of the whole engine, whatever the place of the symptom."""
    return lambda look, regime, place: looks_other(name, sound)(look, regime, "engine")


def _yes(found: bool) -> str:
    return "yes" if found else "no"


def plug_gap(wide: bool) -> Answer:
    """Return the answer about the gap, too wide or too narrow, by the bench arithmetic."""

    def told(look: Look, regime: str, place: str) -> str:
        inches = look.see("plug-gap", place).number or 0.0
        if inches < 0.006:
            return _yes(not wide)
        grades = gap_grades(PlugReadings(place, gap=Quantity(min(inches, 0.079), "in", "length")), PlugLimits())
        return "" if grades is None else grades[0 if wide else 1]

    return told


def _over(reading: Reading, most: float) -> str:
    return "yes" if reading.number is None else above(reading.number, most, 0.02 * most)


def plug_resistance(look: Look, regime: str, place: str) -> str:
    """Return whether the plug's resistance is over its limit."""
    return _over(look.see("plug-resistance", place), MOST_PLUG_OHM)


def plug_type(look: Look, regime: str, place: str) -> str:
    """Return whether the part number is of another heat range than the engine takes: it is printed on the plug."""
    return _yes(look.engine.build.plugs[place].heat_range != 0)


def lead_open(look: Look, regime: str, place: str) -> str:
    """Return whether the lead is open, flexed while it is measured."""
    return _over(look.see("lead-continuity-flexed", place), MOST_LEAD_OHM)


def lead_leaks(look: Look, regime: str, place: str) -> str:
    """Return whether insulation at 10 kV is under its limit."""
    number = look.see("lead-insulation", place).number
    return "no" if number is None else below(number, LEAST_MOHM, 10.0)


def lead_order(look: Look, regime: str, place: str) -> str:
    """Return whether the lead rings out to another plug."""
    return _yes(not look.says("lead-goes-to", place, f"tower of {place}"))


def tracked(look: Look, regime: str, place: str) -> str:
    """Return whether the block is tracked; cracked block, loose bushing and broken teeth are one fault of the stand, and left open."""
    if look.says("distributor-look", place, "track at"):
        return "yes"
    return "no|yes" if look.says("distributor-look", place, "cracked block") else "no"


def burnt(look: Look, regime: str, place: str) -> str:
    """Return whether contacts are coarse, frosted with soot, or blued."""
    return _yes(look.says("points-look", place, "coarse", "blue"))


def clearance(wide: bool) -> Answer:
    """Return the answer about the points' clearance."""

    def told(look: Look, regime: str, place: str) -> str:
        inches = look.see("points-clearance", place).number or 0.0
        return above(inches, CLEARANCE_HIGH.value, 0.0005) if wide else below(inches, CLEARANCE_LOW.value, 0.0005)

    return told


def e_gap(look: Look, regime: str, place: str) -> str:
    """Return whether the points open off the E-gap."""
    off = look.see("e-gap", place).number
    return "yes" if off is None else above(abs(off), E_GAP_OFF, E_GAP_BAND)


def timing(role: str) -> Answer:
    """Return the answer about timing to the engine by the bench arithmetic; nothing where the light does not change."""

    def told(look: Look, regime: str, place: str) -> str:
        found = look.see("timing-to-engine", place).number
        if found is None:
            return ""
        specified = look.engine.build.timing_btdc
        texts = timing_results(TimingReadings({place: specified}, {place: max(-20.0, min(60.0, found))}, {}, {}), 1.0)
        return next(t.split("=")[1] for t in texts if t.startswith(f"{role}."))

    return told


def capacitor(look: Look, regime: str, place: str) -> str:
    """Return whether the capacitor fails its test."""
    seen = look.see("capacitor", place)
    return _yes(bool(seen.words) or seen.number is None or not CAPACITOR[0] - 0.01 <= seen.number <= CAPACITOR[1] + 0.01)


def stays_grounded(look: Look, regime: str, place: str) -> str:
    """Return whether the light does not change on the bare magneto: capacitor shorted or points that never open."""
    return _yes(look.says("capacitor", place, "shorted") or look.says("points-look", place, "do not open"))


def coil(look: Look, regime: str, place: str) -> str:
    """Return whether a winding is open or out of limits."""
    for name, (low, high) in COIL.items():
        ohm = look.see(name, place).number
        if ohm is None or not low * 0.98 <= ohm <= high * 1.02:
            return "yes"
    return "no"


def comes_in(hot: bool) -> Answer:
    """Return the answer of the magneto on the bench: none, weak or strong (hot: out of limits or not), against its own speed when sound."""

    def told(look: Look, regime: str, place: str) -> str:
        now = look.see("coming-in-hot" if hot else "coming-in", place).number
        usual = observe(look.usual, "coming-in", place).number or 200.0
        weak = now is None or now > COMES_IN * usual
        return _yes(weak) if hot else "none" if now is None else "weak" if weak else "no"

    return told


def battery(look: Look, regime: str, place: str) -> str:
    """Return whether volts while cranking are low."""
    return below(look.see("battery-volts").number or 0.0, LEAST_BATTERY, BATTERY_BAND)


def p_lead(name: str, grounded: bool) -> Answer:
    """Return the answer of a ground lead off its magneto: whether it reads ground (or open) where it should not."""
    return lambda look, regime, place: _yes((look.see(name, place).number is not None) == grounded)


def p_leads_swapped(look: Look, regime: str, place: str) -> str:
    """Return whether LEFT grounds the left lead and RIGHT the right one."""
    return _yes(all(look.see(f"p-lead-{side}", side).number is not None for side in ("left", "right")))


def start_grounds(look: Look, regime: str, place: str) -> str:
    """Return whether START grounds a magneto that should fire."""
    sides = look.engine.layout.start_sides
    return _yes(any(look.see("p-lead-start", side).number is not None for side in sides))


def start_leaves_free(look: Look, regime: str, place: str) -> str:
    """Return whether START leaves the magneto without a start aid free."""
    layout = look.engine.layout
    others = [s for s in ("left", "right") if s not in layout.start_sides]
    return "" if not others or layout.drive == "single" else _yes(any(look.see("p-lead-start", s).number is None for s in others))


def compression(look: Look, regime: str, place: str) -> str:
    """Return whether differential compression is low, by the bench arithmetic; taken hot, as the book has it."""
    psi = look.see("compression-hot", place).number or 0.0
    return grade(CompressionReading(int(place), Quantity(min(80.0, max(0.0, psi)), "psi", "pressure"), hot=True))


def nozzle(look: Look, regime: str, place: str) -> str:
    """Return whether a nozzle gives less than the others."""
    return below(look.see("injector-flow", place).number or 0.0, LEAST_FLOW, FLOW_BAND)


def tachometer(look: Look, regime: str, place: str) -> str:
    """Return whether a second tachometer disagrees, or the needle sticks."""
    seen = look.see("tachometer-error")
    return "yes" if seen.words or look.engine.build.airframe.tach_from else above(abs(seen.number or 0.0), 50.0, 15.0)


def metal_in_filter(look: Look, regime: str, place: str) -> str:
    """Return whether the filter holds metal: from bearings, a rod, a scuffing piston, or a piston that sheds onto its plugs."""
    around, plugs = look.engine.build.around, look.engine.build.plugs.values()
    grinding = (around.drag > 0 and around.drag_acts >= 1.0) or around.drag_at_power > 0
    return _yes(grinding or any(plug.metal > 0.5 for plug in plugs))


def exhaust_blocked(look: Look, regime: str, place: str) -> str:
    """Return whether the exhaust is blocked inside; a small part of it is missed (estimate)."""
    return _yes(look.engine.build.supply.exhaust_choked > 0.25)
