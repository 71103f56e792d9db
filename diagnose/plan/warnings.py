"""What must be said: always, at a step, before a repair. Words only; what is forbidden stands in `rules`."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from diagnose.places import SIDES
from diagnose.plan.access import after
from diagnose.plan.plan import SETTLED, Plan, Valued
from diagnose.plan.rules import Bars, needs_power
from diagnose.plan.to_run import otherwise
from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble.aircraft import Aircraft, Fact, turning
from diagnose.trouble.aircraft_words import P_LEADS
from diagnose.trouble.network import Network
from diagnose.trouble.results import side_of_place

ALWAYS = (
    "Treat the propeller as live at all times, whatever the switch says.",
    "The current manual of the manufacturer, local rules and licensed people decide. "
    "This tool advises; it releases nothing and signs nothing.",
)


OFF_CHECK = "P-lead back on and the OFF check passed before anybody goes near the propeller and before this case closes."


RUNS_IN_OFF = (
    "A magneto is live with the switch OFF. Tag the propeller, keep everybody out of its arc, stop the engine "
    "by mixture, and nobody moves the propeller by hand until the cause is found and the OFF check has passed."
)


NO_RUN = (
    "A part is cracked, in pieces, stopped, shedding metal, or a lead is on the wrong plug: no start, and no turning by the starter, "
    "until every piece is found and the cause is mended."
)


BLOW = (
    "It kicked back or the propeller struck something: no start, and no turning by the starter, until starter, drives, gears, couplings "
    "and propeller have been looked at as the manuals say after it, and that is recorded."
)


BY_HAND = (
    "Nobody turns the propeller by hand: it can fire. First a plug out of every cylinder, or the magneto grounded at itself, and recorded."
)


ASK = 'Before anything turns the engine: see that {names} {are} on. Not recorded; say it with: diagnose note CASE --state "{states}"'


def step_warnings(base: RuleBase, valued: Valued, plan: Plan, gained: Collection[str], aircraft: Aircraft | None = None) -> tuple[str, ...]:
    """Return what must be said at one check beside its own cautions, each warning once, by the state of the aircraft where it is given."""
    check = valued.located.check
    cold = cold_first_warning(base, valued, plan, gained)
    turns = turning(base, check) if aircraft is not None else frozenset()
    before = before_turning(turns, aircraft, check.access) if aircraft is not None else ()
    return (*before, *((cold,) if cold else ()), *check_warnings(base, check))


def before_turning(turns: Collection[str], aircraft: Aircraft, access: Collection[str] = ()) -> tuple[str, ...]:
    """Return what comes before a step that turns the engine in some ways (run, crank, hand): made good, put back, or asked.

    `access`: what the step itself needs open.
    """
    if not turns:
        return ()
    found = [f"First, before anything turns the engine: {item}" for item in (i.text for i in aircraft.left)]
    asked = aircraft.leads_unasked
    if asked:
        states = ", ".join(f"{name}=on" for name in asked)
        found.append(ASK.format(names=" and ".join(asked), are="are" if len(asked) > 1 else "is", states=states))
    found += [f"Before the run: {item.do} ({_recorded(item.thing, item.fact)})" for item in otherwise(aircraft, turns, access)]
    return tuple(found)


def check_warnings(base: RuleBase, check: Check) -> tuple[str, ...]:
    """Return what must be said at a check wherever the trouble stands."""
    found = (power_run_warning(base, check), second_person_warning(base, check), p_lead_warning(check))
    return tuple(text for text in found if text)


def power_run_warning(base: RuleBase, check: Check) -> str:
    """Return a warning where a check runs the engine at power; else an empty text."""
    if not needs_power(base, check):
        return ""
    return (
        "Power run: into wind, brakes and chocks, a person qualified to run this engine at the controls, temperatures within "
        "the manual's limits, and no longer than the reading takes."
    )


def second_person_warning(base: RuleBase, check: Check) -> str:
    """Return a warning where a check must not be done alone - turning the propeller never is; else an empty text."""
    people = max(check.people, 2 if "hand" in turning(base, check) else 1)
    return f"Not alone: {people} trained people, agreed signals before anything moves." if people > 1 else ""


def cold_first_warning(base: RuleBase, valued: Valued, plan: Plan, gained: Collection[str]) -> str:
    """Return a warning where a check ends a cold engine that another check worth doing still needs; else an empty text."""
    needed = valued.located.check.access
    if "engine_cold" not in gained or "engine_cold" in needed or "engine_cold" in after(base, needed, gained):
        return ""
    waiting = [v for v in plan.checks if v.pays and "engine_cold" in v.located.check.access and v.located != valued.located]
    if not waiting:
        return ""
    first = waiting[0].located
    back = base.access["engine_cold"].minutes.value
    return f"This ends the cold engine. {first.check.label} ({first.place}) needs it cold: do that first, or wait {back:.0f} min again."


def p_lead_warning(entry: Check | Remedy) -> str:
    """Return what must follow a step that takes a P-lead off; else an empty text."""
    return f"Afterwards: {OFF_CHECK}" if {"p_lead", "p_lead_in_turn"} & set(entry.leaves) else ""


def standing_warnings(bars: Bars, aircraft: Aircraft | None = None, suspects: str = "") -> tuple[str, ...]:
    """Return what must stand on every screen of a trouble: why nothing is run, why nobody turns the propeller; what always holds last.

    `suspects`: in words, what is suspected and would make a run dangerous.
    """
    said = [_lead_off(aircraft, side) for side in bars.p_leads if aircraft is not None]
    said += [RUNS_IN_OFF] if bars.live else []
    said += [NO_RUN] if bars.broken else []
    said += [BLOW] if bars.blow else []
    said += [f"Suspected: {suspects}. No start, and no turning by the starter, until it has been looked at."] if bars.suspects else []
    said += [BY_HAND] if bars.by_hand else []
    return (*said, *ALWAYS)


def _lead_off(aircraft: Aircraft, side: str) -> str:
    """Return the first line of all where a P-lead is off, or not known to be on."""
    fact = aircraft.facts[P_LEADS[side]]
    told = _recorded(P_LEADS[side], fact)
    what = f"LIVE MAGNETO. Recorded {told}." if fact.now == "off" else f"Treat as live: {told} does not say it is connected."
    return f"{what} The switch cannot stop it: tag the propeller, keep out of its arc; no run and no cranking until it is back on."


def _recorded(thing: str, fact: Fact) -> str:
    words = fact.words or fact.now
    short = words if len(words) <= 80 else f"{words[:77]}..."
    by = ", ".join(t for t in (f"entry {fact.stamp.entry}" if fact.stamp.entry else "", fact.stamp.person[:40]) if t)
    return f"{thing}: {short}{f' ({by})' if by else ''}"


def unseen_warning(remedy: Remedy) -> str:
    """Return a warning before heavy work that nothing has shown to be needed, or before moving what nobody has measured."""
    if remedy.measured_by:
        return "It moves what nobody has measured yet: measure it first, and write down as found."
    return f"{remedy.minutes.value:.0f} min of work, and no check has seen the fault: a share alone is not enough. Look first."


def cautions_of(base: RuleBase, cautions: Collection[str], access: Collection[str]) -> tuple[str, ...]:
    """Return the texts of an entry's cautions and of the access it needs, each once."""
    ids = list(cautions)
    for name in access:
        ids += list(base.access[name].cautions) if name in base.access else []
    return tuple(base.cautions[c].label for c in dict.fromkeys(ids) if c in base.cautions)


def part_change_warning(remedy: Remedy, share: float, plan: Plan) -> str:
    """Return a warning where a part would be changed while a check that pays could still tell; else an empty text."""
    if not remedy.parts or share >= SETTLED or not plan.paying:
        return ""
    first = plan.paying[0]
    return (
        f"A part would be changed at {share:.0%} with no result that settles it. "
        f"First: {first.located.check.label} ({first.located.place}), {first.minutes:.0f} min. "
        "You may go on; the reason is kept in the record."
    )


def both_sides_warning(network: Network, places: Sequence[str]) -> str:
    """Return a warning where the repairs of a case, at these places, have touched both ignition systems."""
    sides = {side_of_place(place, network.layout) for place in places}
    if not set(SIDES) <= sides:
        return ""
    return (
        "Repairs of this case have now touched both magnetos or their circuits. Do not let one person disturb both in one go; "
        "check each on its own, by a second person where it can be had."
    )
