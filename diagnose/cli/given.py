"""What was given in an interview, step by step and answer by answer, so that one press takes one of them back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from diagnose.case.log import Event
from diagnose.case.standing import corrections, withdrawn

ANSWERS = ("result", "repair", "exchange", "decline")


@dataclass
class Given:
    """One step: what it is called, and its answers, each with its words and the numbers of its entries."""

    words: str = ""
    answers: list[tuple[str, list[int]]] = field(default_factory=list)

    def told(self) -> str:
        """Return the step in words, or its only answer."""
        if len(self.answers) == 1:
            return self.answers[0][0]
        return f"{self.words} ({len(self.answers)} answers)"


@dataclass
class Answers:
    """What was given since the interview began: steps done, and the one under way."""

    done: list[Given] = field(default_factory=list)
    open: Given | None = None

    def add(self, words: str, entries: Sequence[int]) -> None:
        """Keep one answer: of the step under way, else a step of its own."""
        if self.open is not None:
            self.open.answers.append((words, list(entries)))
        else:
            self.done.append(Given(words, [(words, list(entries))]))

    @contextmanager
    def step(self, words: str) -> Iterator[None]:
        """Keep what is given meanwhile as one step."""
        before, self.open = self.open, Given(words)
        try:
            yield
        finally:
            made, self.open = self.open, before
            if made.answers:
                self.done.append(made)

    def last(self) -> tuple[str, list[int]] | None:
        """Take off what one press takes back: the last answer of the step under way, else the whole last step."""
        if self.open is not None and self.open.answers:
            return self.open.answers.pop()
        if self.open is not None or not self.done:
            return None
        step = self.done.pop()
        return step.told(), [entry for _, entries in step.answers for entry in entries]


def last_on_file(events: Sequence[Event]) -> list[Event]:
    """Return the entries of the last step of an interview begun before: those of one reading, or one after the other of one check.

    What was complained of is no step: it is where the case begins.
    """
    made = corrections(events)
    live = [e for e in events if e.kind in ANSWERS and not e.data.get("complaint") and not withdrawn(e, made)]
    if not live:
        return []
    last = live[-1]
    reading, check = last.data.get("from"), last.data.get("check")
    if reading is not None:
        return [e for e in events if e.seq == reading or e.data.get("from") == reading]
    found = [last]
    for event in reversed(live[:-1]):
        if not check or event.kind != last.kind or event.data.get("check") != check or event.data.get("from") is not None:
            break
        found.append(event)
    return found[::-1]
