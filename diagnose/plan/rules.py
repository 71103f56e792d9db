"""Hard rules, apart from all probabilities: what must not be done as things stand."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result

FLOWN = ("altitude",)  # regimes that only a flight gives; the tool never proposes one


POWER = ("high_power", "cruise_lean")  # regimes that need power on the ground


P_LEAD_OFF = ("p_lead_off_live", "turn_lead_off")  # cautions of the steps that take a P-lead off


PROVE_OFF = (*P_LEAD_OFF, "switch_wires", "prove_off")  # and of those after which the OFF check must be passed


ENGINE_TURNS = ("run_area", "cranking")


BY_HAND = "turn_by_hand"


def barred_access(network: Network, results: Sequence[Result]) -> frozenset[str]:
    """Return the access states that cannot be reached: an engine that will not start cannot be run."""
    for result in results:
        if not result.history and network.base.symptoms[result.symptom].role == "no_start" and result.abnormal:
            return frozenset({"engine_running", "engine_hot"})
    return frozenset()


def needs_flight(check: Check) -> bool:
    """Return whether every result of a check could only be had in flight."""
    return bool(check.gives) and all(ref.regime in FLOWN for ref in check.gives)


def must_not_be_done(base: RuleBase, check: Check, live: bool, broken: bool) -> bool:
    """Return whether a check would hurt somebody or the engine as things stand, whatever it would tell.

    A turn by hand, plugs in, while a magneto is known `live`; a run or a turn by the starter while a part is known to be `broken`.
    """
    by_hand = BY_HAND in check.cautions and "plugs_out" not in check.access
    return (by_hand and live) or (turns_engine(base, check) and broken)


def may_be_done(remedy: Remedy, broken: bool) -> bool:
    """Return whether a remedy may be offered as things stand: none that runs or cranks the engine while a part is known to be broken."""
    return not (broken and set(ENGINE_TURNS) & set(remedy.cautions))


def turns_engine(base: RuleBase, check: Check) -> bool:
    """Return whether a check, or the access it needs, runs or cranks the engine."""
    needed = [c for a in check.access if a in base.access for c in base.access[a].cautions]
    return bool(set(ENGINE_TURNS) & {*check.cautions, *needed})
