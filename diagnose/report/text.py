"""Plain text out: results to stdout, talk to stderr, nothing that a terminal could take as a command."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any

_KEEP = {"\n", "\t"}


def clean(text: str) -> str:
    """Return text with control and direction-changing characters made visible."""
    return "".join(c if c in _KEEP or unicodedata.category(c) not in ("Cc", "Cf", "Cs") else f"<{ord(c):04x}>" for c in text)


def write(text: str) -> None:
    """Write a result to stdout."""
    print(text)  # noqa: T201


def say(text: str) -> None:
    """Write talk to stderr."""
    print(clean(text), file=sys.stderr)  # noqa: T201


def listing(rows: Sequence[Mapping[str, Any]], what: str) -> str:
    """Return a list of entries, one a line: id, what else tells it apart, label."""
    extra = {"symptoms": "regimes", "causes": "family", "checks": "at", "remedies": "at", "layouts": "firing_order",
             "limits": "value", "sources": "kind"}[what]  # fmt: skip
    width = max((len(str(row["id"])) for row in rows), default=4) + 2
    lines = []
    for row in rows:
        more = row[extra]
        shown = " ".join(str(m) for m in more) if isinstance(more, list) else str(more)
        lines.append(f"{row['id']:<{width}}{row.get('label', row.get('title', ''))}  [{shown}]")
    return "\n".join(lines)
