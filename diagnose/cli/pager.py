"""Long results: on a terminal a screen at a time, by the pager the person uses anyway; where piped as they are."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from diagnose.report.text import clean, size, write


def on_screen() -> bool:
    """Return whether a person reads this on a terminal; what is piped stays one entry a line."""
    return sys.stdout.isatty()


def show_lines(lines: Sequence[str]) -> None:
    """Write lines to stdout; those that do not fit on the screen of a terminal go through its pager (PAGER, less, more)."""
    text = clean("\n".join(lines))
    if len(text.splitlines()) < size()[1] or not (sys.stdin.isatty() and sys.stdout.isatty()):
        write(text)
        return
    import pydoc

    sys.stdout.flush()
    pydoc.pager(f"{text}\n")
