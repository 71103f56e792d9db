"""A case: what its events add up to - the trouble, who said what, and what was corrected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from diagnose import __version__
from diagnose.case import log
from diagnose.case.log import CaseText, Event
from diagnose.case.standing import Made, as_it_stands, corrections
from diagnose.places import Layout
from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.complaint import looks_again
from diagnose.trouble.evidence import LookResults, Repair
from diagnose.trouble.exchanges import read_exchange
from diagnose.trouble.results import Result, read_result
from diagnose.trouble.trouble import Trouble

SCHEMA = "case/1"


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


def open_case(path: Path, base: RuleBase, layout: Layout, person: str, data: Mapping[str, Any]) -> None:
    """Start a case file."""
    rulebase = {"version": base.settings.version, "sha256": base.sha256}
    log.create(path, person, {"schema": SCHEMA, "layout": layout.id, "rulebase": rulebase, "software": __version__, **data})


def load(path: Path, base: RuleBase) -> Case:
    """Return a case replayed under a rule base; warnings tell what differs from when it was written."""
    text = log.read(path)
    opening = text.events[0].data
    if text.events[0].kind != "open" or opening.get("schema") != SCHEMA:
        raise BadInput(f"case '{path}' does not start with an open event of {SCHEMA}; it is not a case of this tool")
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
        except (KeyError, TypeError, ValueError, AttributeError):
            raise BadInput(f"{path}:{number}: an event of kind '{event.kind}' lacks what it needs; see `diagnose verify`") from None
    return Case(path, text, layout, replay.trouble(), opening, corrected, tuple(replay.changed), _warnings(text, base, opening))


def trouble_after(events: Sequence[Event], base: RuleBase, layout: Layout) -> Trouble:
    """Return the trouble as it stood after these events: a later correction of one of them does not act."""
    replay = _Replay(base, layout, corrections(events))
    for event in events:
        replay.take(event)
    return replay.trouble()


def _warnings(text: CaseText, base: RuleBase, opening: Mapping[str, Any]) -> tuple[str, ...]:
    found = []
    before = opening.get("rulebase")
    before = before if isinstance(before, Mapping) else {}
    if before.get("sha256") != base.sha256:
        found.append(
            f"opened under rule base {before.get('version')} ({str(before.get('sha256'))[:12]}), "
            f"read now under {base.settings.version} ({base.sha256[:12]}): numbers can differ"
        )
    if text.torn:
        found.append("the last line was torn off while being written; it is set aside, everything before it is whole")
    return tuple(found)


class _Replay:
    """Adds events up to a trouble."""

    def __init__(self, base: RuleBase, layout: Layout, corrected: Made) -> None:
        self.base, self.layout, self.corrected = base, layout, corrected
        self.looks: list[LookResults] = [LookResults()]
        self.access: frozenset[str] = frozenset()
        self.declined: frozenset[str] = frozenset()
        self.changed: list[str] = []
        self.unfinished: dict[int, str] = {}

    def trouble(self) -> Trouble:
        return Trouble(tuple(self.looks), self.access, self.declined, tuple(self.unfinished.values()))

    def take(self, event: Event) -> None:
        stands = as_it_stands(event, self.corrected)
        if stands is None:
            return
        data = stands.data
        if event.kind == "result":
            for result in read_result(str(data["result"]), self.base, self.layout):
                self._result(result, bool(data.get("complaint")))
        elif event.kind == "repair":
            self._repair(str(data["remedy"]))
        elif event.kind == "exchange":
            self.looks.append(LookResults(exchange=read_exchange(str(data["exchange"]), self.base, self.layout)))
        elif event.kind == "access":
            self.access = frozenset(data["now"])
        elif event.kind == "note":
            self._note(event.seq, data)
        elif event.kind == "decline":
            self.declined |= {str(data["check"])}
        elif event.kind == "correct":
            int(data["corrects"])  # one that names no entry must not pass in silence

    def _note(self, seq: int, data: Mapping[str, Any]) -> None:
        """Keep what a check left to be made good until a note closes it."""
        if data.get("refit") and data.get("open"):
            self.unfinished[seq] = str(data.get("note", ""))
        self.unfinished.pop(data["closes"], None) if isinstance(data.get("closes"), int) else None

    def _result(self, result: Result, complaint: bool) -> None:
        look = self.looks[-1]
        before = [r for r in look.results if r.subject == result.subject]
        if before and before[0].grade != result.grade:
            self.changed.append(f"{result.subject}: {before[0].grade} -> {result.grade}")
        kept = tuple(r for r in look.results if r.subject != result.subject)
        named = tuple(r for r in look.complaint if r.subject != result.subject)
        if result.abnormal and (complaint or self._was_complaint(result)):
            named = (*named, result)
        self.looks[-1] = replace(look, results=(*kept, result), complaint=named)

    def _was_complaint(self, result: Result) -> bool:
        """Return whether a result after a repair looks at something the complaint was about."""
        if not any(look.repairs for look in self.looks):
            return any(c.subject == result.subject for c in self.looks[0].complaint)
        return any(looks_again(result, c) for c in self.looks[0].complaint)

    def _repair(self, text: str) -> None:
        repair = read_repair(text, self.base, self.layout)
        look = self.looks[-1]
        if look.results or look.exchange or not look.repairs:
            self.looks.append(LookResults(repairs=(repair,)))
        else:
            self.looks[-1] = replace(look, repairs=(*look.repairs, repair))
        self.declined = frozenset()


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
