"""One drill at the keys: its work, where it is shown, and the few ways in which every screen of it asks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.cli import keys
from diagnose.cli.paging import LAST, read
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk
from diagnose.places import SIDES
from diagnose.plan.to_run import otherwise
from diagnose.report import screens
from diagnose.report.glance import prompt_lines
from diagnose.report.text import clean, cut, folded, size
from diagnose.training.work import AS_PARKED, MOVE, Work
from diagnose.trouble.network import Network

HELP = (
    "Every answer wants its Enter. A number chooses a check of the page, n turns the page, t finds a check by your own words. f marks what "
    "still fits. c changes or mends a part. r is the confirming run. g puts right what is off or open. s shows all that was seen. k shows "
    "the tool's ranking: it is counted. e ends with the entry. q leaves; the same command goes on."
)
MOST_DIGITS = 3


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
        """Show paragraphs a screen at a time; with a question, return its answer (Enter or b)."""
        keys.forget()
        return read(self.talk, paragraphs, question, last_words, line=True)

    def panel(self, lines: Sequence[str], question: str, allowed: set[str] | None = None) -> str:
        """Show lines on a screen of their own, the question at its foot, and return the answer; with `allowed` one of these.

        Every answer of a drill wants its Enter, so that none passes a screen unread; what was typed before the screen came counts nothing.
        """
        keys.forget()
        width, height = size()
        told = [part for text in lines for part in folded(clean(text), width, under=_under(text))]
        room = height - len(prompt_lines(question, width))
        shown = told[:room] if keys.single() else told
        for text in shown:
            self.talk.out.print(text, soft_wrap=True, style="bold" if text.startswith("!!") else None)
        for _ in range(room - len(shown) if keys.single() else 0):
            self.talk.out.print()
        return ask(self.talk.out, question, allowed, HELP, line=True)

    def move(self, name: str, **data: Any) -> None:
        """Keep a move that is no step on the engine."""
        self.work.record((MOVE, {"move": name, **data}))

    def pick(self, title: Sequence[str], rows: Mapping[str, str], question: str = "Number (Enter: back)") -> str:
        """Show numbered rows and return the id of the one chosen; empty where none was."""
        ids = list(rows)
        text = self.panel([*title, *numbered(list(rows.values()))], question, {"", "b", *(str(n) for n in range(1, len(ids) + 1))})
        return "" if text in ("", "b") else ids[int(text) - 1]

    def picks(self, title: Sequence[str], rows: Mapping[str, str], question: str) -> list[str] | None:
        """Show numbered rows and return the ids of all chosen (none for 0, all for a); None for Enter."""
        ids, wrong = list(rows), ""
        while True:
            lines = [*title, *numbered(list(rows.values())), *([wrong] if wrong else [])]
            text = self.panel(lines, question).lower()
            numbers = text.replace(",", " ").split()
            if text in ("", "b"):
                return None
            if text in ("a", "0"):
                return ids if text == "a" else []
            if all(n.isascii() and n.isdigit() and 1 <= int(n[:MOST_DIGITS]) <= len(ids) for n in numbers):
                return [ids[int(n) - 1] for n in dict.fromkeys(numbers)]
            wrong = f"'{text[:40]}' is none of the numbers 1 to {len(ids)}."

    def percent(self, title: Sequence[str], question: str) -> float | None:
        """Ask how sure the trainee is; return a share, or None where he left it out."""
        wrong = ""
        while True:
            text = self.panel([*title, *([wrong] if wrong else [])], f"{question} In % (Enter: leave out)").rstrip(" %")
            if text in ("", "b"):
                return None
            if text.isascii() and text.isdigit() and 1 <= int(text[:MOST_DIGITS]) <= 99:
                return int(text) / 100
            wrong = f"'{text[:40]}' is no whole number from 1 to 99: nobody is 100 % sure."


def numbered(rows: Sequence[str]) -> list[str]:
    """Return rows with their numbers, in two columns where one would not fit the screen."""
    width, height = size()
    told = [f"{n:>2}  {clean(text)}" for n, text in enumerate(rows, 1)]
    whole = [line for text in told for line in folded(text, width, under="    ")]
    if len(whole) <= height - 6:
        return whole
    if len(told) <= height - 6:
        return [cut(text, width) for text in told]
    half, each = (len(told) + 1) // 2, width // 2 - 1
    right = [*told[half:], ""]
    return [f"{cut(a, each):<{each + 2}}{cut(b, each)}".rstrip() for a, b in zip(told[:half], right, strict=False)]


def _under(text: str) -> str:
    return "  " if text.startswith("! ") else "   " if text.startswith("!!") else " " * (len(text) - len(text.lstrip()) + 2)


def state_line(s: Session) -> list[str]:
    """Return one line of what stands otherwise than as parked and whole: what must be back before the engine runs; none where nothing."""
    aircraft = s.work.case.trouble.aircraft
    single = {item.thing: item.must_be for item in otherwise(aircraft, {"run"}) if item.part}  # plug 3-bottom, cover left
    whole = {**AS_PARKED, **single, **{f"magneto {side}": "not grounded" for side in SIDES}, "cowl": "on"}
    told = [f"{thing} {aircraft.now(thing).split(' of ')[0]}" for thing, now in whole.items() if aircraft.now(thing) not in ("", now)]
    told[:0] = ["OFF check due"] if aircraft.off_due is not None else []
    return [f"NOW     {'; '.join(told)}"] if told else []


def words_of(network: Network, label: str, place: str) -> str:
    """Return a check or remedy with its place in words."""
    return label if place == "engine" else f"{label}, {screens.place_words(network, place)}"
