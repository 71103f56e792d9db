"""What goes on one screen: lines folded, never cut; screen after screen where they are too many; what gives way to a message."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.report.glance import prompt_lines
from diagnose.report.text import clean, cut, folded

ON = "Enter: on, b back"  # asked below every screen but the last
LEAST_HEAD = 12  # letters a row keeps before what tells it from its like


def lines_of(paragraphs: Sequence[str], width: int) -> list[str]:
    """Return paragraphs folded to a width, what is carried over standing under its own line."""
    return [part for text in paragraphs for part in folded(clean(text), width, under=_under(text))]


def _under(text: str) -> str:
    return "  " if text.startswith("! ") else "   " if text.startswith("!!") else " " * (len(text) - len(text.lstrip()) + 2)


def screens_of(lines: Sequence[str], question: str, width: int, height: int) -> list[list[str]]:
    """Return lines screen by screen: the last leaves room for the question, the others for that of `ON`."""
    rest, found = list(lines), []
    while len(rest) > max(1, height - len(prompt_lines(question, width))):
        count = max(1, min(height - len(prompt_lines(ON, width)), len(rest) - 1))
        while count > 1 and (_underlines(rest[count]) or _underlines(rest[count - 1])):
            count -= 1  # a heading goes with what stands below it
        found.append(rest[:count])
        rest = rest[count:]
    return [*found, rest]


def _underlines(line: str) -> bool:
    return len(line) > 1 and set(line) in ({"="}, {"-"})


def making_room(lines: Sequence[str], message: Sequence[str], room: int) -> list[str]:
    """Return lines with a message below them, in as many: blank lines give way, then the last lines; the first and a caution never.

    Empty where there is no such room: the message wants a screen of its own.
    """
    kept, over = list(enumerate(lines)), len(lines) + len(message) - room
    held = _cautions(lines) | {0}
    order = [n for n, text in kept if not text] + [n for n, text in kept if text and n not in held]
    blanks = sum(not text for text in lines)
    gone = set([*reversed(order[:blanks]), *reversed(order[blanks:])][: max(0, over)])
    if len(gone) < over:
        return []
    return [*(text for n, text in kept if n not in gone), *message]


def _cautions(lines: Sequence[str]) -> set[int]:
    """Return the lines of cautions, what is carried over among them."""
    found: set[int] = set()
    for n, text in enumerate(lines):
        if text.startswith("!") or (n - 1 in found and text.startswith("  ")):
            found.add(n)
    return found


def cut_apart(texts: Sequence[str], room: int) -> list[str]:
    """Return texts on one line each; of those that would read alike once cut, what tells them apart stays."""
    short = [cut(text, room) for text in texts]
    return [line if short.count(line) == 1 else _ended(n, texts, room) for n, line in enumerate(short)]


def _ended(number: int, texts: Sequence[str], room: int) -> str:
    """Return a text with its middle left out: its beginning, and what follows from the word in which it differs from its like."""
    text = texts[number]
    if len(text) <= room:
        return text
    alike = max((_common(text, other) for n, other in enumerate(texts) if n != number and other != text), default=0)
    end = cut(text[text.rfind(" ", 0, alike + 1) + 1 :], room - LEAST_HEAD - 4)
    return f"{cut(text, room - len(end) - 2).removesuffix('..').rstrip()} .. {end}"


def _common(one: str, other: str) -> int:
    """Return how many letters two texts begin with together."""
    return next((n for n, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
