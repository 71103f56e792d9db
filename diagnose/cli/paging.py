"""A step on the screen with its keys, and the longer texts behind them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from diagnose.cli import keys
from diagnose.cli.prompt import HELP, ask
from diagnose.cli.talk import Talk
from diagnose.report import screens
from diagnose.report.glance import Glance, composed, prompt_lines
from diagnose.report.text import clean, folded, size

Pages = Mapping[str, Callable[[], Sequence[str]]]  # key -> the paragraphs behind it
LAST = "Enter: back to the step"
BOLD = ("DO NEXT", "YOU CHOSE", "A REPAIR", "!!")
FURTHER = "c cautions in full. h how in full, tools. l all suspects. w why this step. p questions about the past. t tell a result. "


def choose(talk: Talk, glance: Glance, allowed: Collection[str], pages: Pages) -> str:
    """Show a step and return the key pressed; the keys of `pages` show their text and come back to the step.

    Keys pressed while the step was being worked out count for nothing.
    """
    talk.title = ""
    keys.forget()
    while True:
        width, height = size()
        lines = composed(glance, width, height)
        body = lines[: len(lines) - len(prompt_lines(glance.keys, width))]
        _print(talk, body, len(lines), height)
        own = {"?"} if keys.single() else set()  # on a full screen the help has a screen of its own
        text = ask(talk.out, glance.keys, {*allowed, *pages, *own}, FURTHER + HELP)
        if text != "?" and (text not in pages or text in allowed):
            return text
        told = pages[text]() if text in pages else ["WHAT THE KEYS DO", "", FURTHER, "", HELP]
        keys.forget()
        read(talk, told)


def page(talk: Talk, title: str) -> None:
    """Begin a page of questions: on a terminal an empty one, title and what was taken back on top; else the title where it is a new one."""
    said, talk.said = talk.said, ""
    if keys.single():
        talk.out.clear()
        screens.line(talk.out, title, "bold")
        if said:
            screens.line(talk.out, said, "dim")
        talk.out.print()
    elif title != talk.title:
        screens.heading(talk.out, title)
    talk.title = title


def _print(talk: Talk, body: Sequence[str], lines: int, height: int) -> None:
    """Print the body of a screen; on a terminal blank lines put the keys at its foot."""
    for number, text in enumerate(body):
        talk.out.print(text, style="bold" if number == 0 or text.startswith(BOLD) else None, soft_wrap=True)
    for _ in range(height - lines if keys.single() else 0):
        talk.out.print()


def read(talk: Talk, paragraphs: Sequence[str], question: str = "", last_words: str = LAST, line: bool = False) -> str:
    """Show paragraphs, on a terminal a screen at a time; with a question, its answer (Enter or b) is asked for and returned.

    `last_words` stand at the foot of the last screen where nothing is asked; `line`: every key wants its Enter.
    """
    width, height = size()
    lines = [line for text in paragraphs for line in folded(clean(text), width, under=_under(text))]
    room = height - 1 if keys.single() else len(lines) or 1
    for start in range(0, len(lines) or 1, room):
        shown = lines[start : start + room]
        for text in shown:
            talk.out.print(text, soft_wrap=True)
        last = start + room >= len(lines)
        if keys.single():
            for _ in range(room - len(shown)):
                talk.out.print()
        if question and last:
            return ask(talk.out, question, {"", "b"}, line=line)
        if keys.single() and ask(talk.out, last_words if last else "Enter: on, b back", {"", "b"}, line=line) == "b":
            return "b"
    return ""


def minded(talk: Talk, cautions: Sequence[str]) -> bool:
    """Show in full the cautions of a step that were not shown yet; return whether to go on with the step."""
    new = [text for text in cautions if text not in talk.minded]
    if not new:
        return True
    if read(talk, ["CAUTION, before this step", "", *(f"! {text}" for text in new)], "Enter: this holds, b back") == "b":
        return False
    talk.minded.update(new)
    return True


def _under(text: str) -> str:
    return "  " if text.startswith("! ") else " " * (len(text) - len(text.lstrip()) + 2) if text.startswith(" ") else ""
