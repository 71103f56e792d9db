"""What must be said: always, at a step, before a repair. Words only; what is forbidden stands in `rules`."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from diagnose.places import SIDES
from diagnose.plan.access import after
from diagnose.plan.plan import SETTLED, Plan, Valued
from diagnose.plan.rules import BY_HAND, P_LEAD_OFF, POWER, turns_engine
from diagnose.rulebase.records import Check, Remedy, RuleBase
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


LIVE_BY_HAND = (
    "This turns the propeller and a magneto is live: first ground it at the magneto itself, or take a plug out of every cylinder."
)


NO_RUN = (
    "A part is cracked, in pieces, stopped or shedding metal: no start, and no turning by the starter, until every piece is found "
    "and the cause is mended."
)


def step_warnings(base: RuleBase, valued: Valued, plan: Plan, gained: Collection[str], unfinished: Sequence[str] = ()) -> tuple[str, ...]:
    """Return what must be said at one check beside its own cautions, each warning once; `unfinished` are parts not yet refitted."""
    cold = cold_first_warning(base, valued, plan, gained)
    return (*unfinished_warnings(base, valued.located.check, unfinished), *((cold,) if cold else ()), *check_warnings(valued.located.check))


def unfinished_warnings(base: RuleBase, check: Check, unfinished: Sequence[str]) -> tuple[str, ...]:
    """Return what has to be made good before a check that turns the engine."""
    turns = turns_engine(base, check) or BY_HAND in check.cautions
    return tuple(f"First, before anything turns the engine: {item}" for item in unfinished) if turns else ()


def check_warnings(check: Check) -> tuple[str, ...]:
    """Return what must be said at a check wherever the trouble stands."""
    found = (power_run_warning(check), second_person_warning(check), p_lead_warning(check))
    return tuple(text for text in found if text)


def power_run_warning(check: Check) -> str:
    """Return a warning where a check runs the engine at power; else an empty text."""
    if not any(ref.regime in POWER for ref in check.gives):
        return ""
    return (
        "Power run: into wind, brakes and chocks, a person qualified to run this engine at the controls, temperatures within "
        "the manual's limits, and no longer than the reading takes."
    )


def second_person_warning(check: Check) -> str:
    """Return a warning where a check must not be done alone - turning the propeller never is; else an empty text."""
    people = max(check.people, 2 if BY_HAND in check.cautions else 1)
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
    return f"Afterwards: {OFF_CHECK}" if set(P_LEAD_OFF) & set(entry.cautions) else ""


def standing_warnings(live: bool, broken: bool) -> tuple[str, ...]:
    """Return what must stand on every screen of a trouble in which a magneto is live, or a part broken (`alarms`)."""
    return (*((RUNS_IN_OFF,) if live else ()), *((NO_RUN,) if broken else ()), *ALWAYS)


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
