"""Hard rules, apart from all probabilities: what must be said, and what must not be done."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from diagnose.groups import Group
from diagnose.network import Network
from diagnose.places import SIDES
from diagnose.plan import Plan, Valued
from diagnose.results import Result
from diagnose.rulebase.records import Remedy, RuleBase

ALWAYS = (
    "Treat the propeller as live at all times, whatever the switch says.",
    "The current manual of the manufacturer, local rules and licensed people decide. "
    "This tool advises; it releases nothing and signs nothing.",
)
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


def part_change_warning(remedy: Remedy, place: str, shares: Mapping[str, float], groups: Mapping[str, Group], plan: Plan) -> str:
    """Return a warning where a part would be changed while a check that pays could still tell; else an empty text."""
    key = f"{remedy.id}@{place}"
    share = shares.get(key, 0.0)
    cheaper = _telling(plan, groups.get(key))
    if not remedy.parts or share >= 0.9 or cheaper is None:
        return ""
    return (
        f"A part would be changed at {share:.0%} with no result that settles it. "
        f"First: {cheaper.located.check.label} ({cheaper.located.place}), {cheaper.minutes:.0f} min. "
        "You may go on; the reason is kept in the record."
    )


def _telling(plan: Plan, group: Group | None) -> Valued | None:
    del group  # the best paying check is the one to name, whichever group it splits
    return plan.paying[0] if plan.paying else None


def both_sides_disturbed(network: Network, places: Sequence[str]) -> bool:
    """Return whether work at these places touches both magnetos or their leads."""
    sides = {p if p in SIDES else network.layout.side_of.get(p, "") for p in places}
    return set(SIDES) <= sides
