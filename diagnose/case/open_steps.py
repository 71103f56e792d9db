"""What a step leaves to be made good, as an open item of a case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.case.log import Event
from diagnose.case.standing import standing_entries
from diagnose.rulebase.records import RuleBase


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
