"""Hard rules, apart from how likely anything is: what must not be done as things stand, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.places import SIDES
from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble.aircraft import turning
from diagnose.trouble.alarms import LIVE, inspection_due, magneto_live, not_to_be_run
from diagnose.trouble.looks import newest_results
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result
from diagnose.trouble.trouble import Trouble

FLOWN = ("altitude",)  # regimes that only a flight gives; the tool never proposes one


POWER = ("high_power", "cruise_lean")  # regimes that need power on the ground


POWERED = frozenset({"run", "crank"})


SHOWS_IT = 0.5  # a cause makes a magneto live where it shows that more often than not (estimate)


@dataclass(frozen=True)
class Bars:
    """What forbids a step as things stand.

    `p_leads`: sides whose P-lead is not surely on; `live`, `broken`: as in `alarms`; `blow`: the engine took one and was not looked at;
    `parts`: a part is off; `suspects`: causes that make a run dangerous and are likely enough; `unproved`: no OFF check passed since the
    grounding can have been disturbed; `by_hand`: a turn by hand with the plugs in may fire a cylinder.
    """

    p_leads: tuple[str, ...] = ()
    live: bool = False
    broken: bool = False
    blow: bool = False
    parts: bool = False
    suspects: tuple[str, ...] = ()
    unproved: bool = False
    by_hand: bool = False

    @property
    def powered(self) -> bool:
        """Return whether nothing may run or crank the engine."""
        return bool(self.p_leads or self.live or self.broken or self.blow or self.parts or self.suspects)


def bars(network: Network, trouble: Trouble, shares: Mapping[str, float]) -> Bars:
    """Return what forbids a step; `shares` are those of the causes no repair has ended yet."""
    aircraft, looks = trouble.aircraft, trouble.looks
    p_leads, live = tuple(aircraft.leads_not_on), magneto_live(network, looks)
    unproved = aircraft.off_due is not None
    fires = {*p_leads, *(SIDES if live or unproved or live_suspected(network, shares) else ())}
    return Bars(
        p_leads,
        live,
        not_to_be_run(network, looks),
        inspection_due(network, looks, aircraft),
        aircraft.now("parts off") not in ("", "none"),
        suspected(network, trouble, shares),
        unproved,
        any(not aircraft.grounded(side) for side in fires) and not aircraft.plugs_out,
    )


def suspected(network: Network, trouble: Trouble, shares: Mapping[str, float]) -> tuple[str, ...]:
    """Return the causes that make a run dangerous, likeliest first, where together they are likely enough.

    Where work on such a part was told of, less is enough.
    """
    settings = network.base.settings
    found = {c: shares.get(c, 0.0) for c, located in network.causes.items() if located.cause.no_run and shares.get(c, 0.0) > 0}
    answers = [r for look in trouble.looks for r in look.results if r.history and r.high >= 0]
    worked = {c: share for c, share in found.items() if _work_told(network, c, answers)}
    if sum(found.values()) < settings.no_run_at and sum(worked.values()) < settings.no_run_after_work:
        return ()
    return tuple(sorted(found, key=lambda c: (-round(found[c], 12), c)))


def live_suspected(network: Network, shares: Mapping[str, float]) -> bool:
    """Return whether a magneto is likely enough to be live with the switch OFF, by the causes that show it more often than not."""
    causes = set()
    for name, located in network.symptoms.items():
        if located.symptom.role in LIVE:
            for effect in network.graph.predecessors(name):
                for cause in network.graph.predecessors(effect):
                    often = network.graph.edges[cause, effect]["strength"] * (1 - network.graph.edges[effect, name]["levels"][0])
                    causes |= {cause} if often >= SHOWS_IT else set()
    return sum(shares.get(c, 0.0) for c in causes) >= network.base.settings.no_run_at


def _work_told(network: Network, cause: str, answers: Sequence[Result]) -> bool:
    """Return whether an answer on what happened before makes a cause likelier."""
    located = network.causes[cause].cause
    for answer in answers:
        history = network.base.history[answer.symptom]
        factors = history.acts_on.get(located.id) or history.acts_on.get(located.family)
        if factors and answer.grade in factors and factors[answer.grade].value > 1:
            return True
    return False


def barred_access(network: Network, results: Sequence[Result]) -> frozenset[str]:
    """Return the access states that cannot be reached: an engine that will not start cannot be run."""
    for result in results:
        if not result.history and network.base.symptoms[result.symptom].role == "no_start" and result.abnormal:
            return frozenset({"engine_running", "engine_hot"})
    return frozenset()


def needs_power(base: RuleBase, check: Check) -> bool:
    """Return whether a check runs the engine at power; one that only reads or asks what such a run showed does not."""
    return "run" in turning(base, check) and any(ref.regime in POWER for ref in check.gives)


def needs_flight(check: Check) -> bool:
    """Return whether every result of a check could only be had in flight."""
    return bool(check.gives) and all(ref.regime in FLOWN for ref in check.gives)


def forbidden(base: RuleBase, entry: Check | Remedy, bars: Bars) -> bool:
    """Return whether a check or remedy would hurt somebody or the engine as things stand, whatever it would tell or end."""
    turns = turning(base, entry)
    if turns & POWERED and bars.powered:
        return True
    return "hand" in turns and "plugs_out" not in entry.access and bars.by_hand


def off_check_may_be_run(network: Network, trouble: Trouble, bars: Bars, mended: bool) -> bool:
    """Return whether the OFF check, and nothing else, may be run to prove the grounding; `mended` as `alarms.live_mended`."""
    held = bars.p_leads or bars.broken or bars.blow or bars.parts or bars.suspects
    starts = not barred_access(network, newest_results(trouble.looks))
    return not held and mended and starts


def turns_engine(base: RuleBase, entry: Check | Remedy) -> bool:
    """Return whether a check or remedy, or the access it needs, turns the engine in any way."""
    return bool(turning(base, entry))
