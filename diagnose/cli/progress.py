"""How far a long piece of work is and how long it still takes: on a terminal, after a moment, on stderr; silent where piped."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from rich.progress import Progress

WAIT = 1.0  # seconds before anything is shown: what is done by then needs no bar

T = TypeVar("T")


class Work:
    """One piece of work with a known number of parts; `done` is called with how many are finished, `close` at the end."""

    def __init__(self, what: str) -> None:
        self.what = what
        self.begun = time.monotonic()
        self.shown: Progress | None = None
        self.quiet = not sys.stderr.isatty()

    def done(self, count: int, total: int) -> None:
        """Show that `count` of `total` parts are done."""
        passed = time.monotonic() - self.begun
        if self.quiet or passed < WAIT or not 0 < count <= total:
            return
        if self.shown is None:
            self.shown = _bar()
            self.shown.add_task(self.what, left="")
            self.shown.start()
        self.shown.update(self.shown.task_ids[0], total=total, completed=count, left=left(passed * (total - count) / count))

    def close(self) -> None:
        """Take the bar off the screen."""
        if self.shown is not None:
            self.shown.stop()


def followed(what: str, items: Iterable[T], total: int) -> Iterator[T]:
    """Yield the items, each of which takes its time, and show how far they are."""
    work = Work(what)
    try:
        for number, item in enumerate(items, 1):
            work.done(number, total)
            yield item
    finally:
        work.close()


def left(seconds: float) -> str:
    """Return a time left as people say it."""
    if seconds < 1:
        return "nearly done"
    return f"about {seconds:.0f} s left" if seconds < 90 else f"about {seconds / 60:.0f} min left"


def _bar() -> Progress:
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    from diagnose.report import screens

    columns = (TextColumn("{task.description}"), BarColumn(30), MofNCompleteColumn(), TextColumn("{task.fields[left]}"))
    return Progress(*columns, console=screens.console(stderr=True), transient=True)
