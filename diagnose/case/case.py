"""A case: what its events add up to - the trouble, who said what, and what was corrected."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from diagnose import __version__
from diagnose.case import log
from diagnose.case.aircraft_log import AircraftLog
from diagnose.case.carried import Read, read_as_now
from diagnose.case.kinds import KINDS, TAKEN_BACK
from diagnose.case.log import CaseText, Event
from diagnose.case.standing import Made, as_it_stands, corrections
from diagnose.places import Layout
from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.aircraft import Stamp
from diagnose.trouble.alarms import DANGER
from diagnose.trouble.complaint import completed, looks_again
from diagnose.trouble.exchanges import read_exchange
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import Result, read_result
from diagnose.trouble.trouble import Trouble

SCHEMA = "case/1"
# What a value of the wrong kind in an entry raises when it is used.
DAMAGE = (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError)


@dataclass(frozen=True)
class Case:
    """A case as replayed from its file."""

    path: Path
    text: CaseText
    layout: Layout
    trouble: Trouble
    opening: Mapping[str, Any]
    corrected: Made = field(default_factory=dict)
    changed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def events(self) -> tuple[Event, ...]:
        """Return the events, oldest first."""
        return self.text.events


def open_case(
    path: Path, base: RuleBase, layout: Layout, person: str, data: Mapping[str, Any], more: Sequence[tuple[str, Mapping[str, Any]]] = ()
) -> None:
    """Start a case file, with what belongs to its opening, whole or not at all."""
    rulebase = {"version": base.settings.version, "sha256": base.sha256}
    log.create(path, person, {"schema": SCHEMA, "layout": layout.id, "rulebase": rulebase, "software": __version__, **data}, more)


def load(path: Path, base: RuleBase) -> Case:
    """Return a case replayed under a rule base; warnings tell what differs from when it was written."""
    text = log.read(path)
    opening = text.events[0].data
    _check_schema(path, text.events[0])
    name = str(opening.get("layout"))
    if name not in base.layouts:
        raise BadInput(f"case '{path}' is about layout '{name}', which this rule base lacks; {did_you_mean(name, base.layouts)}")
    layout = base.layouts[name]
    corrected = corrections(text.events)
    replay = _Replay(base, layout, corrected)
    for number, event in enumerate(text.events, 1):
        try:
            replay.take(event)
        except BadInput as error:
            raise BadInput(f"{path}:{number}: {error} (`diagnose log` still prints the case)") from None
        except DAMAGE:
            raise BadInput(f"{path}:{number}: an event of kind '{event.kind}' lacks what it needs; see `diagnose verify`") from None
    warnings = (*_warnings(text, base, opening), *replay.said)
    return Case(path, text, layout, replay.trouble(), opening, corrected, tuple(replay.changed), warnings)


def _check_schema(path: Path, opening: Event) -> None:
    """Raise BadInput where a file is no case, or one of a newer format."""
    schema = str(opening.data.get("schema", ""))
    name, _, number = schema.partition("/")
    if opening.kind == "open" and schema == SCHEMA:
        return
    if opening.kind == "open" and name == SCHEMA.partition("/")[0] and number.isascii() and number.isdigit():
        raise BadInput(f"case '{path}' is of the newer format {schema[:20]}, this program reads {SCHEMA}; read it with the newer program")
    raise BadInput(f"case '{path}' does not start with an open event of {SCHEMA}; it is not a case of this tool")


def trouble_after(events: Sequence[Event], base: RuleBase, layout: Layout) -> Trouble:
    """Return the trouble as it stood after these events: a later correction of one of them does not act."""
    replay = _Replay(base, layout, corrections(events))
    for event in events:
        replay.take(event)
    return replay.trouble()


def troubles(events: Sequence[Event], base: RuleBase, layout: Layout) -> Iterator[Trouble]:
    """Yield the trouble after each entry, each taken as its newest correction has it: one withdrawn never acted."""
    replay = _Replay(base, layout, corrections(events))
    for event in events:
        replay.take(event)
        yield replay.trouble()


def _warnings(text: CaseText, base: RuleBase, opening: Mapping[str, Any]) -> tuple[str, ...]:
    found = []
    if text.breaks:
        first, more = text.breaks[0], len(text.breaks) - 1
        where = f"line {first.line}, {first.message}" + (f", and {more} more places" if more else "")
        found.append(f"THIS FILE WAS CHANGED OUTSIDE THIS PROGRAM: {where}; see `diagnose verify {text.path}`")
    before = opening.get("rulebase")
    before = before if isinstance(before, Mapping) else {}
    if before.get("sha256") != base.sha256:
        found.append(
            f"opened under rule base {before.get('version')} ({str(before.get('sha256'))[:12]}), "
            f"read now under {base.settings.version} ({base.sha256[:12]}): numbers can differ"
        )
    if text.torn:
        found.append("the last line breaks off and counts for nothing (a write cut short, or its end cut off later)")
    return tuple(found)


class _Replay:
    """Adds events up to a trouble."""

    def __init__(self, base: RuleBase, layout: Layout, corrected: Made) -> None:
        self.base, self.layout, self.corrected = base, layout, corrected
        self.looks: list[LookResults] = [LookResults()]
        self.declined: frozenset[str] = frozenset()
        self.changed: list[str] = []
        self.aircraft = AircraftLog(base, layout)
        self.said: list[str] = []

    def trouble(self) -> Trouble:
        trouble = Trouble(tuple(self.looks), self.aircraft.access, self.declined, self.aircraft.aircraft)
        return completed(self.base, trouble)

    def take(self, event: Event) -> None:
        stands = as_it_stands(event, self.corrected)
        if stands is None:
            self._take_withdrawn(event)
            return
        take = {
            "result": self._take_results,
            "repair": self._take_repair,
            "exchange": self._take_exchange,
            "access": self._take_access,
            "note": self._take_note,
            "state": self._take_state,
            "decline": self._take_decline,
            "correct": self._take_correction,
        }.get(event.kind)
        if take is not None:
            take(stands)
        elif event.kind not in KINDS:
            self.said.append(f"entry {event.seq} is of a kind this program does not know, '{event.kind[:30]}': kept, not used")

    def _take_results(self, event: Event) -> None:
        for result in self._as_now(event, "result", read_result) or ():
            complaint = bool(event.data.get("complaint"))
            self._result(result, complaint)
            past = complaint and not any(look.repairs for look in self.looks)
            self.aircraft.looked(result, str(event.data.get("check") or ""), past, _stamp(event))

    def _take_withdrawn(self, event: Event) -> None:
        """Take of a withdrawn result what was taken off for it; an answer taken back while it was being asked was no look."""
        newest = self.corrected[event.seq][-1]
        if event.kind == "result" and newest.data.get("reason") != TAKEN_BACK:
            self.aircraft.withdrawn(str(event.data.get("result", "")), str(event.data.get("check") or ""), _stamp(event))

    def _take_repair(self, event: Event) -> None:
        repair = self._as_now(event, "remedy", read_repair)
        if repair is not None:
            self.aircraft.step(self.base.remedies[repair.remedy], repair.place, _stamp(event))
            self._repair(repair)

    def _take_exchange(self, event: Event) -> None:
        exchange = self._as_now(event, "exchange", read_exchange)
        if exchange is not None:
            self.looks.append(LookResults(exchange=exchange))

    def _take_access(self, event: Event) -> None:
        self.aircraft.reached(event.data["now"], _stamp(event), str(event.data.get("check") or ""))

    def _take_decline(self, event: Event) -> None:
        self.declined |= {str(event.data["check"])}

    def _take_correction(self, event: Event) -> None:
        int(event.data["corrects"])  # one that names no entry must not pass in silence

    def _take_note(self, event: Event) -> None:
        self.aircraft.note(event.data, _stamp(event))

    def _take_state(self, event: Event) -> None:
        self.aircraft.state(event.data.get("state"), _stamp(event))

    def _as_now(self, event: Event, key: str, read: Callable[[str, RuleBase, Layout], Read]) -> Read | None:
        """Return what an entry's text reads as under the rule base of now; None where it counts for nothing."""
        return read_as_now(str(event.data[key]), event.seq, self.base, lambda now: read(now, self.base, self.layout), self.said)

    def _result(self, result: Result, complaint: bool) -> None:
        look = self.looks[-1]
        before = [r for r in look.results if r.subject == result.subject]
        if before and before[0].grade != result.grade:
            self.changed.append(f"{result.subject}: {before[0].grade} -> {result.grade}")
        kept = tuple(r for r in look.results if r.subject != result.subject)
        named = tuple(r for r in look.complaint if r.subject != result.subject)
        if result.complained and (complaint or self._was_complaint(result)):
            named = (*named, result)
        seen = [r for r in before if r.abnormal and not result.abnormal]
        danger = tuple(r for r in seen if self.base.symptoms[r.symptom].role in DANGER)
        self.looks[-1] = replace(look, results=(*kept, result), complaint=named, once=(*look.once, *danger))

    def _was_complaint(self, result: Result) -> bool:
        """Return whether a result is one complained of before, or looks again at something that was."""
        if any(c.subject == result.subject for c in self.looks[-1].complaint):
            return True
        return any(looks_again(result, c) for look in self.looks[:-1] for c in look.complaint)

    def _repair(self, repair: Repair) -> None:
        look = self.looks[-1]
        if look.results or look.exchange or not look.repairs:
            self.looks.append(LookResults(repairs=(repair,)))
        else:
            self.looks[-1] = replace(look, repairs=(*look.repairs, repair))
        self.declined = frozenset()


def _stamp(event: Event) -> Stamp:
    return Stamp(event.person, event.time, event.seq)


def read_repair(text: str, base: RuleBase, layout: Layout) -> Repair:
    """Return a remedy at a place from `REMEDY@PLACE`; BadInput names the nearest."""
    name, _, place = text.partition("@")
    if name not in base.remedies:
        raise BadInput(f"remedy '{text}': no remedy is called '{name}'; {did_you_mean(name, base.remedies)}")
    places = layout.places(base.remedies[name].at)
    place = place or (places[0] if len(places) == 1 else "")
    if place not in places:
        hint = did_you_mean(place, places) if place else f"write {name}@PLACE, PLACE one of {', '.join(places)}"
        raise BadInput(f"remedy '{text}': {f'it is not done at {place!r}' if place else 'the place is missing'}; {hint}")
    lacking = [n for n in base.remedies[name].needs if not layout.has(place, n)]
    if lacking:
        raise BadInput(f"remedy '{text}': it cannot be done on {layout.id}, which lacks {', '.join(lacking)}; see `diagnose show remedies`")
    return Repair(name, place)
