"""What differs between two readings: two cases, or one case under two rule bases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose import loaded
from diagnose.belief.model import Contradiction
from diagnose.case.case import Case
from diagnose.trouble.network import Network

IMPOSSIBLE = "impossible"  # the results cannot all be true under that rule base
MOVED = 0.005  # a share that differs by less is not told


@dataclass(frozen=True)
class CaseReading:
    """One case under one rule base: its results by look, repairs and exchanges of parts, state and shares of the causes."""

    case: Case
    network: Network
    results: Mapping[str, str]
    repairs: tuple[str, ...]
    state: str
    shares: Mapping[str, float]
    unmodelled: float | None

    @property
    def first(self) -> str:
        """Return the first cause; empty where there is none."""
        return next(iter(self.shares), "")


@dataclass(frozen=True)
class Comparison:
    """What two readings do not share. A grade or share stands as (in the first, in the second)."""

    only_first: Mapping[str, str]
    only_second: Mapping[str, str]
    grades: Mapping[str, tuple[str, str]]
    repairs_first: tuple[str, ...]
    repairs_second: tuple[str, ...]
    shares: Mapping[str, tuple[float, float]]

    @property
    def same_entries(self) -> bool:
        """Return whether both hold the same results and repairs."""
        return not (self.only_first or self.only_second or self.grades or self.repairs_first or self.repairs_second)


def reading(case: Case, network: Network) -> CaseReading:
    """Return a case as it reads under a network; the shares fall, equal ones stand by id."""
    results = {}
    for number, look in enumerate(case.trouble.looks, 1):
        before = case.trouble.looks[:number]
        repaired, exchanged = sum(bool(x.repairs) for x in before), sum(x.exchange is not None for x in before)
        after = (f" after repair {repaired}" if repaired else "") + (f" after exchange {exchanged}" if exchanged else "")
        results.update({f"{r.subject}{after}": r.grade for r in look.results})
    repairs = tuple(str(r) for look in case.trouble.looks for r in (look.exchange, *look.repairs) if r is not None)
    try:
        assessment = loaded.assessed(network, case.trouble)
    except Contradiction:
        return CaseReading(case, network, results, repairs, IMPOSSIBLE, {}, None)
    rows = [(r.id, r.share) for r in assessment.finding.causes]
    rows.sort(key=lambda row: (-round(row[1], 12), row[0]))
    return CaseReading(case, network, results, repairs, assessment.finding.state, dict(rows), assessment.finding.unmodelled)


def compared(a: CaseReading, b: CaseReading) -> Comparison:
    """Return what differs."""
    both = a.results.keys() & b.results.keys()
    shares = {c: (a.shares.get(c, 0.0), b.shares.get(c, 0.0)) for c in {*a.shares, *b.shares}}
    moved = {c: pair for c, pair in shares.items() if abs(pair[0] - pair[1]) >= MOVED}
    return Comparison(
        {s: g for s, g in a.results.items() if s not in both},
        {s: g for s, g in b.results.items() if s not in both},
        {s: (a.results[s], b.results[s]) for s in a.results if s in both and a.results[s] != b.results[s]},
        _only(a.repairs, b.repairs),
        _only(b.repairs, a.repairs),
        dict(sorted(moved.items(), key=lambda item: (-abs(item[1][0] - item[1][1]), item[0]))),
    )


def _only(mine: tuple[str, ...], others: tuple[str, ...]) -> tuple[str, ...]:
    """Return what one has and the other has not, as often as it has it more."""
    left = list(others)
    found = []
    for item in mine:
        if item in left:
            left.remove(item)
        else:
            found.append(item)
    return tuple(found)


def finding_changes(a: CaseReading, b: CaseReading) -> list[str]:
    """Return in what the finding itself differs: its state, its first cause; [] where a reader would do the same."""
    found = []
    if a.state != b.state:
        found.append(f"state {a.state} against {b.state}")
    if a.first != b.first:
        found.append(f"first cause {a.first or 'none'} against {b.first or 'none'}")
    return found
