"""One drill at the keys: its work, where it is shown, and the few ways in which every screen of it asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from diagnose.cli import keys
from diagnose.cli.drills.fitting import ON, lines_of, making_room, screens_of
from diagnose.cli.paging import LAST
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk
from diagnose.report import screens
from diagnose.report.glance import prompt_lines
from diagnose.report.text import clean, folded, size
from diagnose.training.righting import off_now
from diagnose.training.work import MOVE, Work
from diagnose.trouble.network import Network

HELP = (
    "Every answer wants its Enter. b goes one step back, ? shows this. A number chooses a check of the page, n turns the page, t finds a "
    "check by your own words. f marks what still fits. c changes or mends a part. r is the confirming run. g puts right what is off or "
    "open. s shows all that was seen. k shows the tool's ranking: it is counted. e ends with the entry. q leaves; the same command goes on."
)
MOST_DIGITS = 3
MOST_SAID = 2  # lines of a message that take the place of others; a longer one has a screen of its own
TO_SCREEN = "Enter: back to the screen"


class Back(Exception):
    """One step back is wanted."""


def walk(questions: Sequence[Callable[[], bool | None]]) -> bool:
    """Ask one question after the other; `Back` from one goes to the one before. Return False for a step back from the first.

    A question returns False where it asks nothing as things stand: it is passed over in both directions.
    """
    at, way = 0, 1
    while 0 <= at < len(questions):
        try:
            way = way if questions[at]() is False else 1
        except Back:
            way = -1
        at += way
    return at >= 0


@dataclass
class Session:
    """A drill under way: `noted` is what the next screen says of the last step, `page` the page of checks shown."""

    work: Work
    talk: Talk
    noted: str = ""
    page: int = 0

    @property
    def network(self) -> Network:
        """Return the network of the exercise's layout."""
        return self.work.network

    def show(self, paragraphs: Sequence[str], question: str = "", last_words: str = LAST) -> str:
        """Show paragraphs and return the answer (Enter or b); without a question, through a pipe, nothing is asked."""
        if not question and not keys.single():
            self._draw(lines_of(paragraphs, size()[0]), "")
            return ""
        return self.panel(paragraphs, question or last_words, {"", "b"})

    def panel(self, lines: Sequence[str], question: str, allowed: set[str] | None = None, said: str = "") -> str:
        """Show lines, screen by screen where they are too many, the question below the last; return its answer.

        `said`: what there is to say of the answer before, in place of a line.
        With `allowed` it is one of these. `b` on a screen goes to the one before, on the first of several it is the answer. Every answer
        of a drill wants its Enter, so that none passes a screen unread; what was typed before the screen came counts nothing.
        """
        width, height = size()
        told = lines_of(lines, width)
        shown = screens_of(told, question, width, height) if keys.single() else [told]
        at = 0
        while True:
            last = at == len(shown) - 1
            text = self._asked(shown[at], question if last else ON, allowed if last else {"", "b"}, said if last else "")
            if text == "b" and at > 0:
                at -= 1
            elif last or text == "b":
                return text
            else:
                at += 1

    def _asked(self, shown: Sequence[str], question: str, allowed: set[str] | None, said: str) -> str:
        keys.forget()
        if said:
            self._told(shown, question, said)
        if not said or not keys.single():
            self._draw(shown, question)
        return ask(self.talk.out, question, allowed, HELP, line=True, tell=partial(self._told, shown, question))

    def _draw(self, shown: Sequence[str], question: str) -> None:
        width, height = size()
        for text in shown:
            self.talk.out.print(text, soft_wrap=True, style="bold" if text.startswith("!!") else None)
        for _ in range(height - len(prompt_lines(question, width)) - len(shown) if keys.single() else 0):
            self.talk.out.print()

    def _told(self, shown: Sequence[str], question: str, text: str) -> None:
        """Say something of an answer: in place of a line of the screen, so that none is pushed off it; where it is longer, on its own."""
        width, height = size()
        if not keys.single():
            screens.line(self.talk.out, text)
            return
        message = folded(clean(text), width)
        with_it = making_room(shown, message, height - len(prompt_lines(question, width))) if len(message) <= MOST_SAID else []
        if not with_it:
            self._draw(message, TO_SCREEN)
            ask(self.talk.out, TO_SCREEN, None, HELP, line=True)
        self._draw(with_it or shown, question)

    def move(self, name: str, **data: Any) -> None:
        """Keep a move that is no step on the engine."""
        self.work.record((MOVE, {"move": name, **data}))

    def pick(self, title: Sequence[str], rows: Mapping[str, str], question: str = "Number (Enter: back)", said: str = "") -> str:
        """Show numbered rows and return the id of the one chosen; empty where none was."""
        ids = list(rows)
        text = self.panel([*title, *numbered(list(rows.values()))], question, {"", "b", *(str(n) for n in range(1, len(ids) + 1))}, said)
        return "" if text in ("", "b") else ids[int(text) - 1]

    def picks(self, title: Sequence[str], rows: Mapping[str, str], question: str, before: Sequence[str] | None = None) -> list[str] | None:
        """Show numbered rows and return the ids of all chosen (none for 0, all for a); None for b, and for Enter, which takes `before`."""
        ids, wrong = list(rows), ""
        while True:
            text = self.panel([*title, *numbered(list(rows.values()))], question, said=wrong).lower()
            numbers = text.replace(",", " ").split()
            if text in ("", "b"):
                return list(before) if before is not None and not text else None
            if text in ("a", "0"):
                return ids if text == "a" else []
            if all(n.isascii() and n.isdigit() and 1 <= int(n[:MOST_DIGITS]) <= len(ids) for n in numbers):
                return [ids[int(n) - 1] for n in dict.fromkeys(numbers)]
            wrong = f"'{text[:40]}' is none of the numbers 1 to {len(ids)}."

    def percent(self, title: Sequence[str], question: str) -> float | None:
        """Ask how sure the trainee is; return a share, or None where he left it out. Raises Back."""
        wrong = ""
        while True:
            text = self.panel(title, f"{question} In % (Enter: leave out, b back)", said=wrong).rstrip(" %")
            if text.lower() == "b":
                raise Back
            if text == "":
                return None
            if text.isascii() and text.isdigit() and 1 <= int(text[:MOST_DIGITS]) <= 99:
                return int(text) / 100
            wrong = f"'{text[:40]}' is no whole number from 1 to 99: nobody is 100 % sure."


def numbered(rows: Sequence[str]) -> list[str]:
    """Return rows with their numbers, in two columns where one would not fit the screen and all are short enough; none is cut."""
    width, height = size()
    told = [f"{n:>2}  {clean(text)}" for n, text in enumerate(rows, 1)]
    whole = [line for text in told for line in folded(text, width, under="    ")]
    half, each = (len(told) + 1) // 2, width // 2 - 1
    if len(whole) <= height - 6 or max(map(len, told)) > each:
        return whole
    right = [*told[half:], ""]
    return [f"{a:<{each + 2}}{b}".rstrip() for a, b in zip(told[:half], right, strict=False)]


def state_line(s: Session) -> list[str]:
    """Return what stands otherwise than as parked and whole, what must be back before the engine runs; none where nothing."""
    aircraft = s.work.case.trouble.aircraft
    told = [f"{thing} {aircraft.now(thing).split(' of ')[0]}" for thing in off_now(aircraft)]
    told[:0] = ["OFF check due"] if aircraft.off_due is not None else []
    return folded(f"NOW     {'; '.join(told)}", size()[0], under=" " * 8) if told else []


def words_of(network: Network, label: str, place: str) -> str:
    """Return a check or remedy with its place in words."""
    return label if place == "engine" else f"{label}, {screens.place_words(network, place)}"
