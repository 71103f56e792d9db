"""What was given in an interview, answer by answer, so that one press takes one of them back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.case.standing import corrections, withdrawn

ANSWERS = ("result", "repair", "exchange", "decline")


@dataclass(frozen=True)
class Answer:
    """One answer: its words, and the numbers of its entries."""

    words: str
    entries: list[int]


@dataclass
class Answers:
    """What was given since the interview began, oldest first; `steps` are where the answers of each step under way begin."""

    all: list[Answer] = field(default_factory=list)
    steps: list[int] = field(default_factory=list)

    def add(self, words: str, entries: Sequence[int]) -> None:
        """Keep one answer."""
        self.all.append(Answer(words, list(entries)))

    def join(self, entries: Sequence[int]) -> None:
        """Keep entries that nobody gave by themselves, such as what a step leaves: they go with the first answer of the step."""
        first = self.steps[-1] if self.steps else len(self.all) - 1
        if 0 <= first < len(self.all):
            self.all[first].entries.extend(entries)

    @contextmanager
    def step(self) -> Iterator[None]:
        """Keep what is given meanwhile as one step: what is taken back in it goes no further than its beginning."""
        self.steps.append(len(self.all))
        try:
            yield
        finally:
            self.steps.pop()

    def last(self) -> Answer | None:
        """Take off what one press takes back: the last answer, in a step under way the last one of that step."""
        return self.all.pop() if len(self.all) > (self.steps[-1] if self.steps else 0) else None


def last_on_file(events: Sequence[Event]) -> list[Event]:
    """Return the entries of the last answer of an interview begun before: all of one reading, or those of one check written in one go.

    What was complained of is no step: it is where the case begins. A run is answered one by one: nothing of it is called normal as a whole.
    """
    made = corrections(events)
    live = [e for e in events if e.kind in ANSWERS and not e.data.get("complaint") and not withdrawn(e, made)]
    if not live:
        return []
    last = live[-1]
    reading = last.data.get("from")
    if reading is not None:
        return [e for e in events if e.seq == reading or e.data.get("from") == reading]
    found = [last]
    for event in reversed(live[:-1]):
        same = (event.seq + 1, event.time, event.kind, event.data.get("check"))
        if last.data.get("check") in (None, "", CONFIRMING) or same != (found[-1].seq, last.time, last.kind, last.data.get("check")):
            break
        found.append(event)
    return found[::-1]
