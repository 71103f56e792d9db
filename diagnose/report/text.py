"""Plain text out: results to stdout, talk to stderr, nothing that a terminal could take as a command."""

from __future__ import annotations

import sys
import textwrap
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

_KEEP = {"\n", "\t"}


def clean(text: str) -> str:
    """Return text with control and direction-changing characters made visible."""
    return "".join(c if c in _KEEP or unicodedata.category(c) not in ("Cc", "Cf", "Cs") else f"<{ord(c):04x}>" for c in text)


def one_line(text: str) -> str:
    """Return a message as one line that fits a screen: line ends made blanks, what is over 600 characters left out."""
    flat = clean(" ".join(text.split("\n")))
    return flat if len(flat) <= 600 else f"{flat[:300]} ... {flat[-200:]}"


def write(text: str) -> None:
    """Write a result to stdout."""
    print(text)


def say(text: str) -> None:
    """Write talk to stderr."""
    print(clean(text), file=sys.stderr)


def wrapped(lines: Sequence[str], width: int = 80) -> str:
    """Return lines broken to a width in columns, what is carried over standing under its own line's indent."""
    broken: list[str] = []
    for line in lines:
        under = " " * (len(line) - len(line.lstrip()) + 4)
        broken += textwrap.wrap(line, width, subsequent_indent=under, break_long_words=False, break_on_hyphens=False) or [""]
    return "\n".join(broken)


def listing(rows: Sequence[Mapping[str, Any]], what: str) -> str:
    """Return a list of entries, one a line: id, what else tells it apart, label."""
    extra = {
        "symptoms": "regimes",
        "causes": "family",
        "checks": "at",
        "remedies": "at",
        "layouts": "firing_order",
        "limits": "value",
        "sources": "kind",
    }[what]
    width = max((len(str(row["id"])) for row in rows), default=4) + 2
    lines = []
    for row in rows:
        more = row[extra]
        shown = " ".join(str(m) for m in more) if isinstance(more, list) else str(more)
        lines.append(f"{row['id']:<{width}}{row.get('label', row.get('title', ''))}  [{shown}]")
    return "\n".join(lines)
