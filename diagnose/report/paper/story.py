"""A case read for its papers: which entries belong together, what is in force, and what was believed when.

Nothing here is worded for a reader; that is `wording.py` and one module per paper.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from diagnose import session
from diagnose.assessment.assess import Assessment
from diagnose.belief.model import Contradiction
from diagnose.case import log
from diagnose.case.case import Case
from diagnose.case.log import Event
from diagnose.case.standing import Made, as_it_stands, withdrawn
from diagnose.problems import BadInput, Problem
from diagnose.review.replay import Standing, Step, steps
from diagnose.trouble.complaint import complaints, looks_again
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, read_result

CONFIRMING = "confirming_run"


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
    """A case with its network, its head hash and the breaks of its chain. What costs time is computed when asked for."""

    case: Case
    network: Network
    head: str
    problems: tuple[Problem, ...]
    made: str

    @property
    def corrections(self) -> Made:
        """Return number of a corrected entry -> its corrections, oldest first."""
        return self.case.corrected

    @property
    def events(self) -> tuple[Event, ...]:
        """Return every entry, oldest first."""
        return self.case.events

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Return belief before and after every entry."""
        return tuple(steps(self.case, self.network))

    @cached_property
    def assessment(self) -> Assessment | None:
        """Return the assessment of the case as it stands; None where its results cannot all be true."""
        try:
            return session.assessed(self.network, self.case.trouble)
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
    def last(self) -> Standing:
        """Return what is believed now."""
        return self.steps[-1].after if self.steps else Standing()

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

    def read(self, text: str) -> tuple[Result, ...]:
        """Return a result text as results; nothing where this rule base does not know it."""
        try:
            return read_result(text, self.network.base, self.network.layout)
        except BadInput:
            return ()


def story_of(case: Case, network: Network) -> Story:
    """Return the story of a case."""
    problems, head = log.verify(case.path)
    return Story(case, network, head, tuple(problems), log.now())


def _groups(story: Story) -> Iterator[EntryGroup]:
    """Yield runs of results that answer one check, each with the readings they were worked from."""
    owner = _owners(story.events)
    run: list[Event] = []
    first = live = run_live = 0
    key = ("", "")
    for index, event in enumerate(story.events):
        if event.kind == "repair" and not story.withdrawn(event):
            live += 1
        breaks = event.kind in ("repair", "exchange")
        mine = _key(story, event, owner, live)
        if run and (breaks or (mine is not None and mine != key)):
            yield EntryGroup(key[0], key[1], tuple(run), first, run_live)
            run = []
        if mine is not None:
            if not run:
                key, first, run_live = mine, index, live
            run.append(event)
    if run:
        yield EntryGroup(key[0], key[1], tuple(run), first, run_live)


def _owners(events: Sequence[Event]) -> Mapping[int, Event]:
    """Return number of a worked reading -> the first result taken from it."""
    found: dict[int, Event] = {}
    for event in events:
        source = event.data.get("from")
        if event.kind == "result" and isinstance(source, int):
            found.setdefault(source, event)
    return found


def _key(story: Story, event: Event, owner: Mapping[int, Event], live: int) -> tuple[str, str] | None:
    if event.kind == "reading":
        taken = owner.get(event.seq)
        return ("reading", str(event.data.get("calculation", ""))) if taken is None else _key(story, taken, owner, live)
    if event.kind != "result":
        return None
    text = str(event.data.get("result", ""))
    if any(r.history for r in story.read(text)):
        return ("history", "")
    check = str(event.data.get("check", "") or "")
    if check.partition("@")[0] == CONFIRMING:
        return ("confirming", check)
    if live and any(_about_complaint(story, r) for r in story.read(text)):
        return ("confirming", check)
    if event.data.get("complaint"):
        return ("complaint", check)
    return ("check", check) if check else ("loose", "")


def lead_up(story: Story, group: EntryGroup, withdrawn: bool = False) -> Iterator[Event]:
    """Yield the entries between the last result, repair or exchange and a group, newest first."""
    for event in reversed(story.events[: group.first]):
        if event.kind in ("result", "repair", "exchange"):
            return
        if withdrawn or not story.withdrawn(event):
            yield event


def looked_at_again(story: Story, complaint: Result) -> tuple[Event, ...]:
    """Return the entries after a repair that look at one result of the complaint again."""
    after = [e for g in story.groups if g.live for e in g.results]
    return tuple(e for e in after if any(looks_again(r, complaint) for r in story.read(story.result(e))))


def _about_complaint(story: Story, result: Result) -> bool:
    return any(looks_again(result, c) for _, c in story.complaint)
