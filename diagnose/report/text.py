"""Plain text out: results to stdout, talk to stderr, nothing that a terminal could take as a command."""

from __future__ import annotations

import json
import os
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

SIZE = (80, 24)  # columns and lines: what is always enough
WIDTH = SIZE[0]
WIDEST = 120  # longer lines are hard to read
_KEEP = {"\n", "\t"}


def _hidden(letter: str) -> bool:
    return letter not in _KEEP and unicodedata.category(letter) in ("Cc", "Cf", "Cs")


def clean(text: str) -> str:
    """Return text with control and direction-changing characters made visible."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(f"<{ord(c):04x}>" if _hidden(c) else c for c in text)


def one_line(text: str) -> str:
    """Return a message as one line that fits a screen: line ends made blanks, what is over 600 characters left out."""
    flat = clean(" ".join(text.split("\n")))
    return flat if len(flat) <= 600 else f"{flat[:300]} ... {flat[-200:]}"


def write(text: str) -> None:
    """Write a result to stdout, what a terminal could take as a command made visible."""
    print(clean(text))


def write_json(document: object) -> None:
    """Write one JSON document to stdout, what a terminal could take as a command as JSON escapes."""
    text = json.dumps(document, ensure_ascii=False, indent=1)
    print(text if text.isascii() and "\x7f" not in text else "".join(_escaped(c) if _hidden(c) else c for c in text))


def _escaped(letter: str) -> str:
    units = letter.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[at : at + 4]}" for at in range(0, len(units), 4))


def say(text: str) -> None:
    """Write talk to stderr."""
    print(clean(text), file=sys.stderr)


def size() -> tuple[int, int]:
    """Return columns and lines: COLUMNS and LINES where set, else those of the terminal, else 80 and 24."""
    if sys.stdout.isatty() or os.environ.get("COLUMNS") or os.environ.get("LINES"):
        found = shutil.get_terminal_size(SIZE)
        return min(found.columns, WIDEST), found.lines
    return SIZE


def cut(text: str, room: int) -> str:
    """Return a text on one line of `room` columns, cut at a word and marked so where it is longer."""
    if len(text) <= room:
        return text
    short = text[: max(0, room - 2)]
    at = short.rfind(" ")
    return (short[:at] if at > room * 0.6 else short).rstrip(" ,;:-(") + ".."


def wrapped(lines: Sequence[str], width: int = 0) -> str:
    """Return lines broken to a width (0: that of `size`), what is carried over standing under its own line's indent."""
    broken: list[str] = []
    width = width or size()[0]
    for line in lines:
        under = " " * (len(line) - len(line.lstrip()) + 4)
        broken += textwrap.wrap(line, width, subsequent_indent=under, break_long_words=False, break_on_hyphens=False) or [""]
    return "\n".join(broken)


def folded(text: str, width: int = WIDTH, first: str = "", under: str = "") -> list[str]:
    """Return a text broken to a width, its first line led by `first`, the others by `under`; words are kept whole where they fit."""
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=under, break_on_hyphens=False) or [first.rstrip()]


def columns(rows: Sequence[Sequence[str]], width: int = WIDTH, indent: int = 2, most: int = WIDTH) -> list[str]:
    """Return rows of cells as lines with two blanks between columns; the last column is folded to what the others leave.

    A column is as wide as its widest cell, at most `most`; the last one is never folded to less than 8.
    """
    sizes = [min(most, max(map(len, cells))) for cells in zip(*(row[:-1] for row in rows), strict=True)]
    lines: list[str] = []
    for row in rows:
        head = " " * indent + "".join(f"{cell.ljust(size)}  " for cell, size in zip(row, sizes, strict=False))
        for number, part in enumerate(folded(row[-1], max(8, width - len(head)))):
            lines.append((head if number == 0 else " " * len(head)) + part)
    return [line.rstrip() for line in lines]


EXTRA = {  # what tells entries of a list apart, beside id and label
    "symptoms": ("regimes",),
    "causes": ("family",),
    "checks": ("at",),
    "remedies": ("at",),
    "history": ("at",),
    "effects": ("used_by",),
    "cautions": ("turns",),
    "layouts": ("firing_order",),
    "limits": ("value", "unit"),
    "sources": ("kind",),
}


def listed(rows: Sequence[Mapping[str, Any]], what: str) -> list[tuple[str, str, str]]:
    """Return a list of entries as id, what else tells it apart, label."""
    found = []
    for row in rows:
        every = [m for key in EXTRA[what] for m in (row[key] if isinstance(row[key], list) else (row[key],))]
        shown = " ".join(f"{m:g}" if isinstance(m, float) else str(m) for m in every if m != "")
        found.append((str(row["id"]), shown, str(row.get("label", row.get("title", row.get("text", ""))))))
    return found


def listing(rows: Sequence[Mapping[str, Any]], what: str) -> str:
    """Return a list of entries, one a line: id, label, what else tells it apart."""
    lines = [(ident, f"{label}  [{extra}]" if extra else label) for ident, extra, label in listed(rows, what)]
    return "\n".join(columns(lines, width=sys.maxsize, indent=0))
