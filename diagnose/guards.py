"""Hard rules, apart from all probabilities: what must be said, and what must not be done."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from diagnose.network import Network
from diagnose.places import SIDES
from diagnose.plan import Plan
from diagnose.results import Result, side_of_place
from diagnose.rulebase.records import Remedy, RuleBase

ALWAYS = (
    "Treat the propeller as live at all times, whatever the switch says.",
    "The current manual of the manufacturer, local rules and licensed people decide. "
    "This tool advises; it releases nothing and signs nothing.",
)
SETTLED = 0.9  # a part may be changed without a word from here on
RUNS_IN_OFF = (
    "It fires with the switch OFF: a magneto is live. Tag the propeller, keep everybody out of its arc, stop the engine "
    "by mixture, and do not move the propeller until the cause is found and the OFF check has passed."
)


def barred_access(network: Network, results: Sequence[Result]) -> frozenset[str]:
    """Return the access states that cannot be reached: an engine that will not start cannot be run."""
    for result in results:
        if not result.history and network.base.symptoms[result.symptom].role == "no_start" and result.abnormal:
            return frozenset({"engine_running", "engine_hot"})
    return frozenset()


def standing_warnings(network: Network, results: Sequence[Result]) -> tuple[str, ...]:
    """Return what must stand on every screen of this trouble."""
    for result in results:
        if not result.history and network.base.symptoms[result.symptom].role == "runs_in_off" and result.abnormal:
            return (RUNS_IN_OFF, *ALWAYS)
    return ALWAYS


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
