"""A case read for its papers: which entries belong together, what is in force, and what was believed when.

Nothing here is worded for a reader; that is `wording.py` and one module per paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from diagnose import loaded
from diagnose.assessment.assess import Assessment
from diagnose.belief.model import Contradiction
from diagnose.case import log
from diagnose.case.case import Case, troubles
from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.case.standing import Made, as_it_stands, withdrawn
from diagnose.problems import BadInput, Problem
from diagnose.review.replay import Moment, Ranking, moments_as_corrected
from diagnose.trouble.complaint import complaint_gone, complaints, completed, living, looks_again
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, read_result
from diagnose.trouble.trouble import Trouble

WEIGHT = ("history", "confirming", "complaint", "check", "loose", "reading")  # what a group is for: the first that any entry is for

Watch = Callable[[Iterator[Moment]], Iterable[Moment]]


@dataclass(frozen=True)
class EntryGroup:
    """Entries made in one go: the results of one check, of the complaint, of a calculation, ...

    `kind` is history, complaint, check, confirming, loose (a result with no check named) or reading.
    `first` is the index of its first entry among the events; `live` counts repairs in force before it.
    """

    kind: str
    check: str
    events: tuple[Event, ...]
    first: int
    live: int

    @property
    def results(self) -> tuple[Event, ...]:
        """Return its result entries."""
        return tuple(e for e in self.events if e.kind == "result")

    @property
    def readings(self) -> tuple[Event, ...]:
        """Return its worked readings."""
        return tuple(e for e in self.events if e.kind == "reading")


@dataclass(frozen=True)
class Story:
    """A case with its network, its head hash and the breaks of its chain. What costs time is computed when asked for.

    `watch` passes on its steps while all of them are worked out, so that somebody can say how far that is.
    """

    case: Case
    network: Network
    head: str
    problems: tuple[Problem, ...]
    made: str
    watch: Watch = iter

    @property
    def corrections(self) -> Made:
        """Return number of a corrected entry -> its corrections, oldest first."""
        return self.case.corrected

    @property
    def events(self) -> tuple[Event, ...]:
        """Return every entry, oldest first."""
        return self.case.events

    @cached_property
    def steps(self) -> tuple[Moment, ...]:
        """Return belief before and after every entry, each as corrected: what is withdrawn is evidence of nothing."""
        return tuple(moments_as_corrected(self.case, self.network, self.troubles))

    def work_through(self) -> None:
        """Work out the belief after every entry now, for a paper that reads them all, and tell `watch` how far that is."""
        for step in self.watch(iter(self.steps)):
            step.worked_out()

    @cached_property
    def troubles(self) -> tuple[Trouble, ...]:
        """Return the trouble after every entry, each as corrected."""
        return tuple(troubles(self.events, self.network.base, self.network.layout))

    @cached_property
    def trouble(self) -> Trouble:
        """Return the trouble, its complaint filled in where none was named: what every paper judges by."""
        return completed(self.network.base, self.case.trouble)

    @property
    def gone(self) -> bool:
        """Return whether the complaint is gone."""
        return complaint_gone(self.trouble.looks)

    @cached_property
    def assessment(self) -> Assessment | None:
        """Return the assessment of the case as it stands; None where its results cannot all be true."""
        try:
            return loaded.assessed(self.network, self.case.trouble)
        except Contradiction:
            return None

    @cached_property
    def groups(self) -> tuple[EntryGroup, ...]:
        """Return the entries grouped, oldest first."""
        return tuple(_groups(self))

    @cached_property
    def complaint(self) -> tuple[tuple[Event, Result], ...]:
        """Return the entries in force that make up the complaint, each with its result as first told."""
        subjects = {c.result.subject for c in complaints(self.case.trouble.looks)}
        found: dict[str, tuple[Event, Result]] = {}
        for event in self.of("result"):
            for result in self.read(self.result(event)):
                if result.subject in subjects and result.abnormal:
                    found.setdefault(result.subject, (event, result))
        return tuple(found.values())

    @property
    def last(self) -> Ranking:
        """Return what is believed now."""
        return self.steps[-1].after if self.steps else Ranking()

    def of(self, kind: str) -> tuple[Event, ...]:
        """Return every entry of a kind, those withdrawn among them."""
        return tuple(e for e in self.events if e.kind == kind)

    def live(self, kind: str) -> tuple[Event, ...]:
        """Return the entries of a kind that are in force."""
        return tuple(e for e in self.of(kind) if not self.withdrawn(e))

    def withdrawn(self, event: Event) -> bool:
        """Return whether the newest correction of an entry withdraws it."""
        return withdrawn(event, self.corrections)

    def result(self, event: Event) -> str:
        """Return the result an entry stands for now; empty where it is withdrawn."""
        stands = as_it_stands(event, self.corrections)
        return "" if stands is None else str(stands.data.get("result", ""))

    def data(self, event: Event) -> Mapping[str, Any]:
        """Return the fields of an entry as corrected; of one withdrawn, as they were."""
        return (as_it_stands(event, self.corrections) or event).data

    def looks_at(self, event: Event) -> tuple[LookResults, ...]:
        """Return the looks up to an entry, as corrected."""
        return next((t.looks for e, t in zip(self.events, self.troubles, strict=True) if e.seq == event.seq), ())

    def check(self, event: Event) -> str:
        """Return the check an entry names, as corrected; empty where it names none."""
        return str(self.data(event).get("check") or "")

    def source(self, event: Event) -> Event | None:
        """Return the worked reading a result was taken from."""
        number = event.data.get("from")
        if event.kind != "result" or not isinstance(number, int) or not 0 < number <= len(self.events):
            return None
        found = self.events[number - 1]
        return found if found.kind == "reading" else None

    def said(self, event: Event, name: str) -> object:
        """Return a field of an entry as it stands, else of the reading it was taken from: how it was measured, by what limit, ..."""
        source = self.source(event)
        return self.data(event).get(name) or (source.data.get(name) if source is not None else None)

    def read(self, text: str) -> tuple[Result, ...]:
        """Return a result text as results; nothing where this rule base does not know it."""
        try:
            return read_result(text, self.network.base, self.network.layout)
        except BadInput:
            return ()


def story_of(case: Case, network: Network, watch: Watch = iter) -> Story:
    """Return the story of a case; `watch` passes its steps on while they are worked out."""
    problems, head = log.verify(case.path)
    return Story(case, network, head, tuple(problems), log.now(), watch)


def _groups(story: Story) -> Iterator[EntryGroup]:
    """Yield runs of entries that answer one check, a calculation whole: its readings and every result taken from them."""
    owner = _owners(story)
    run: list[tuple[Event, str]] = []
    first = live = run_live = 0
    key = ("", 0)
    for index, event in enumerate(story.events):
        if story.withdrawn(event):
            continue
        live += event.kind == "repair"
        kind = _kind(story, event, owner, story.troubles[index - 1].looks if index else ())
        mine = _key(story, event, kind, owner)
        if run and (event.kind in ("repair", "exchange") or (kind and not _together(key, mine))):
            yield _group(story, run, first, run_live)
            run = []
        if kind:
            if not run:
                key, first, run_live = mine, index, live
            key = (key[0], key[1] or mine[1])
            run.append((event, kind))
    if run:
        yield _group(story, run, first, run_live)


def _group(story: Story, run: Sequence[tuple[Event, str]], first: int, live: int) -> EntryGroup:
    """Return a run as one group; of what its entries are for, the first in `WEIGHT` names it."""
    events = tuple(event for event, _ in run)
    kind = min((kind for _, kind in run), key=WEIGHT.index)
    check = next((text for e in events if (text := story.check(e))), "")
    if kind == "reading":
        return EntryGroup(kind, check or str(events[0].data.get("calculation", "")), events, first, live)
    return EntryGroup(kind, "" if kind in ("history", "loose") else check, events, first, live)


def _together(key: tuple[str, int], mine: tuple[str, int]) -> bool:
    """Return whether two keys can be of one check: the same check, and not two calculations."""
    return key[0] == mine[0] and (not key[1] or not mine[1] or key[1] == mine[1])


def _key(story: Story, event: Event, kind: str, owner: Mapping[int, Event]) -> tuple[str, int]:
    """Return what keeps entries together: the check they name (else their kind), and the calculation they come from."""
    if event.kind == "reading":
        taken = owner.get(event.seq)
        return story.check(event if taken is None else taken) or f"({event.seq})", event.seq
    source = event.data.get("from")
    source = source if isinstance(source, int) else 0
    check = "" if kind == "history" else story.check(event)
    return check or (f"({source})" if source else f"({kind})"), source


def _owners(story: Story) -> Mapping[int, Event]:
    """Return number of a worked reading -> the first result taken from it that stands."""
    found: dict[int, Event] = {}
    for event in story.live("result"):
        source = event.data.get("from")
        if isinstance(source, int):
            found.setdefault(source, event)
    return found


def _kind(story: Story, event: Event, owner: Mapping[int, Event], before: Sequence[LookResults]) -> str:
    """Return what an entry is for, one of `WEIGHT`; empty where it is neither a result nor a reading. `before`: the looks before it."""
    if event.kind == "reading":
        taken = owner.get(event.seq)
        return "reading" if taken is None else _kind(story, taken, owner, before)
    if event.kind != "result":
        return ""
    found = story.read(story.result(event))
    if any(r.history for r in found):
        return "history"
    check = story.check(event)
    if check.partition("@")[0] == CONFIRMING or any(_repaired_for(before, r) for r in found):
        return "confirming"
    if event.data.get("complaint"):
        return "complaint"
    return "check" if check else "loose"


def lead_up(story: Story, group: EntryGroup, withdrawn: bool = False) -> Iterator[Event]:
    """Yield the entries between the last result, repair or exchange and a group, newest first."""
    for event in reversed(story.events[: group.first]):
        if event.kind in ("result", "repair", "exchange"):
            return
        if withdrawn or not story.withdrawn(event):
            yield event


def looked_at_again(story: Story, told: Event, complaint: Result) -> tuple[Event, ...]:
    """Return the entries that look at one result of the complaint again after a repair that followed its entry."""
    repaired = next((e.seq for e in story.live("repair") if e.seq > told.seq), None)
    after = [e for g in story.groups for e in g.results if repaired is not None and e.seq > repaired]
    return tuple(e for e in after if any(looks_again(r, complaint) for r in story.read(story.result(e))))


def _repaired_for(looks: Sequence[LookResults], result: Result) -> bool:
    """Return whether a result looks again at a complaint that lived after these looks and that a repair has followed."""
    return any(looks_again(result, c.result) for c in living(looks) if any(look.repairs for look in looks[c.newest + 1 :]))
