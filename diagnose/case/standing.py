"""Which entries of a case stand, and as what: the only place that says what a correction means.

Of several corrections of one entry the newest decides: it withdraws the entry, or gives fields of it anew. Every correction
stays readable; nothing here removes one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from diagnose.case.log import Event

# An entry of one of these kinds can change what would be advised.
CHANGES = ("open", "result", "repair", "exchange", "correct", "access", "decline", "state")


Made = Mapping[int, tuple[Event, ...]]


def corrections(events: Iterable[Event]) -> Made:
    """Return number of a corrected entry -> its corrections, oldest first."""
    found: dict[int, list[Event]] = {}
    for event in events:
        target = event.data.get("corrects")
        if event.kind == "correct" and isinstance(target, int):
            found.setdefault(target, []).append(event)
    return {number: tuple(made) for number, made in found.items()}


def withdrawn(event: Event, made: Made) -> bool:
    """Return whether an entry no longer stands."""
    return event.seq in made and bool(made[event.seq][-1].data.get("withdrawn"))


def as_it_stands(event: Event, made: Made) -> Event | None:
    """Return an entry as its newest correction has it; None where it is withdrawn."""
    if event.seq not in made:
        return event
    return None if withdrawn(event, made) else replace(event, data={**event.data, **made[event.seq][-1].data})


def standing_entries(events: Sequence[Event]) -> list[Event]:
    """Return the entries that were not withdrawn, oldest first, each as it stands."""
    made = corrections(events)
    standing = (as_it_stands(event, made) for event in events)
    return [event for event in standing if event is not None]


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


def complaint_words(events: Sequence[Event]) -> tuple[Event, ...]:
    """Return the entries that hold the complaint in the reporter's words: as the case was opened, and as told to the interview.

    An older file does not mark them: there they stand right before a result that is the complaint.
    """
    standing = standing_entries(events)
    told = [e.kind == "result" and bool(e.data.get("complaint")) for e in standing]
    asked = [e.kind == "open" or bool(e.data.get("complaint")) or then for e, then in zip(standing, (*told[1:], False), strict=True)]
    return tuple(e for e, of_it in zip(standing, asked, strict=True) if of_it and e.data.get("words"))


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
        if event.kind in CHANGES or isinstance(event.data.get("closes"), int):
            return True
    return False
