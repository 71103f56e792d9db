"""What the entries of a case say of the aircraft now: units, state, open items; withdrawn entries do not count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.case.case import corrections
from diagnose.case.log import Event

# An entry of one of these kinds can change what would be advised.
CHANGES = ("open", "result", "repair", "exchange", "correct", "access", "decline")


def standing_entries(events: Sequence[Event]) -> list[Event]:
    """Return the entries that were not withdrawn, oldest first, each as its newest correction has it."""
    changed = corrections(events)
    standing = (e for e in events if e.seq not in changed or not changed[e.seq].data.get("withdrawn"))
    return [replace(e, data={**e.data, **changed[e.seq].data}) if e.seq in changed else e for e in standing]


def open_items(events: Sequence[Event]) -> dict[int, str]:
    """Return number of an open item -> its text, those not yet closed."""
    found: dict[int, str] = {}
    for event in standing_entries(events):
        if event.kind == "note" and event.data.get("open"):
            found[event.seq] = str(event.data.get("note", ""))
        closed = event.data.get("closes")
        if event.kind == "note" and isinstance(closed, int):
            found.pop(closed, None)
    return found


def units(events: Sequence[Event]) -> dict[str, str]:
    """Return what is on the aircraft -> its part number, serial and times, as last recorded."""
    found: dict[str, str] = {}
    for event in standing_entries(events):
        if event.kind == "unit":
            found[str(event.data.get("unit"))] = str(event.data.get("text"))
    return found


def advice_due(events: Sequence[Event]) -> bool:
    """Return whether something has been recorded since the last advice that could change it."""
    for event in reversed(events):
        if event.kind == "advice":
            return False
        if event.kind in CHANGES:
            return True
    return False
