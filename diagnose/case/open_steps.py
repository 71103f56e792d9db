"""What a step leaves to be made good: parts to refit, and the OFF check after anything that can have disturbed the grounding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.case.log import Event
from diagnose.case.standing import standing_entries
from diagnose.plan.rules import PROVE_OFF
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_result


def refit_item(base: RuleBase, events: Sequence[Event], check: str) -> Mapping[str, Any] | None:
    """Return the open item that a check done (`CHECK@PLACE`) leaves; None where it leaves none, or one stands already."""
    name, _, place = check.partition("@")
    entry = base.checks.get(name)
    if entry is None or not entry.refit:
        return None
    standing = standing_entries(events)
    closed = {e.data.get("closes") for e in standing if e.kind == "note"}
    if any(e.kind == "note" and e.data.get("refit") == check and e.seq not in closed for e in standing):
        return None
    return {"note": f"To make good after: {entry.label}{f' ({place})' if place else ''}. {entry.refit}", "open": True, "refit": check}


def off_check_open(network: Network, events: Sequence[Event]) -> Event | None:
    """Return the newest entry whose step can have disturbed the grounding, where no OFF check was passed since; else None."""
    found: Event | None = None
    for event in standing_entries(events):
        if _proves_off(network, event):
            found = None
        elif set(PROVE_OFF) & set(_cautions(network.base, event)):
            found = event
    return found


def _cautions(base: RuleBase, event: Event) -> tuple[str, ...]:
    """Return the cautions of the remedy, or of the check, that an entry says was done."""
    name = str(event.data.get("remedy" if event.kind == "repair" else "check") or "").partition("@")[0]
    entry = base.remedies.get(name) if event.kind == "repair" else base.checks.get(name) if event.kind == "result" else None
    return entry.cautions if entry is not None else ()


def _proves_off(network: Network, event: Event) -> bool:
    if event.kind != "result":
        return False
    try:
        found = read_result(str(event.data.get("result", "")), network.base, network.layout)
    except BadInput:
        return False
    return any(not r.history and network.base.symptoms[r.symptom].role == "runs_in_off" and r.normal for r in found)
