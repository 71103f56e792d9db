"""Problems in data, as values: where, what, and how to mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One problem at one place of one file; lines and columns count from 1 (0: the file as a whole)."""

    file: str
    line: int
    column: int
    code: str
    message: str
    fix: str

    def __str__(self) -> str:
        """Return `file:line:column: error: message; fix [code]`, one line."""
        mend = f"; {self.fix}" if self.fix else ""
        return f"{self.file}:{self.line}:{self.column}: error: {self.message}{mend} [{self.code}]"

    def as_json(self) -> dict[str, object]:
        """Return the fields as a JSON object."""
        return asdict(self)


class BadInput(Exception):
    """Something a person or program gave cannot be used; the text is one line that says how to mend it."""


class BrokenRuleBase(BadInput):
    """The rule base has problems; the text holds them all, a line each."""


def nearest(word: str, known: Iterable[str]) -> list[str]:
    """Return up to three known words closest to `word`, best first."""
    return difflib.get_close_matches(word, list(known), n=3, cutoff=0.5)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return a hint naming the nearest known words, or the first few where none is near."""
    names = sorted(known)
    close = nearest(word, names)
    if close:
        return "did you mean " + " or ".join(close) + "?"
    if not names:
        return "none is known here"
    shown = ", ".join(names[:8])
    return f"known: {shown}" + (", ..." if len(names) > 8 else "")
