"""Said at once where something takes a while: on a terminal only, and what is typed meanwhile answers no question."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from diagnose.cli import keys

if TYPE_CHECKING:
    from rich.console import Console

WORDS = "working..."


@contextmanager
def working(out: Console) -> Iterator[None]:
    """Show that work is going on for as long as this lasts; where there is no terminal nothing is said."""
    if not keys.single():
        yield
        return
    out.print(WORDS, end="\r", highlight=False)
    out.file.flush()
    try:
        with keys.unheard():
            yield
    finally:
        out.print(" " * len(WORDS), end="\r")
        out.file.flush()
