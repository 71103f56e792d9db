"""What an audit finds, as values: a severity, an id, what it is about, words, what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

PROBLEM, NOTICE = "problem", "notice"

# Most serious first: what can hurt somebody, then what misleads, then what is missing, then what is only thin.
ORDER = (
    "caution-contradicts",
    "caution-missing",
    "access-contradicts",
    "not-told-apart",
    "history-mean",
    "prior-scale",
    "remedy-missing",
    "remedy-place",
    "check-gives-nothing",
    "symptom-never-shown",
    "symptom-no-check",
    "any-pair",
    "link-without-source",
    "number-without-source",
    "remedy-unused",
    "caution-unused",
    "few-links",
    "few-regimes",
    "jasc-missing",
    "case-unreadable",
    "result-no-check",
    "never-first",
    "never-pays",
    "no-cases",
    "no-reach",
    "no-principle",
)


@dataclass(frozen=True)
class Found:
    """One finding: `severity` is `problem` or `notice`; `about` is the entry (or entries) it speaks of."""

    severity: str
    id: str
    about: str
    words: str
    fix: str

    def as_json(self) -> dict[str, str]:
        """Return the fields as a JSON object."""
        return asdict(self)


def in_order(found: Iterable[Found]) -> list[Found]:
    """Return findings most serious first: problems before notices, then by kind, then by entry."""
    return sorted(found, key=lambda f: (f.severity != PROBLEM, ORDER.index(f.id), f.about))


def exit_code(found: Sequence[Found]) -> int:
    """Return 1 where there is a problem, else 0: notices alone never fail a run."""
    return int(any(f.severity == PROBLEM for f in found))
