"""The entries of a case as the columns of a chart: those that moved belief alone, runs of small ones together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.review.replay import Standing, Step

MOST = 13
OUTSIDE = ""  # stands for "nothing of this rule base" among the causes


@dataclass(frozen=True)
class Column:
    """One or several entries standing together: their numbers, what they say in a few words, belief after them."""

    first: int
    last: int
    words: str
    after: Standing
    repair: bool = False

    @property
    def numbers(self) -> str:
        """Return the entry numbers, `14` or `9-13`."""
        return str(self.first) if self.first == self.last else f"{self.first}-{self.last}"


def share(standing: Standing, cause: str) -> float:
    """Return the share of a cause, or of nothing in this rule base."""
    return (standing.unmodelled or 0.0) if cause == OUTSIDE else standing.share(cause)


def mattered(steps: Sequence[Step], most: int = 6, least: float = 0.05) -> list[str]:
    """Return the causes that ever had the largest shares, those of the last entry first."""
    highest: dict[str, float] = {}
    complained = [s.after for s in steps if s.after.unmodelled is not None] or [s.after for s in steps]
    for standing in complained:
        for ranked in standing.causes[:most]:
            highest[ranked.id] = max(highest.get(ranked.id, 0.0), standing.share(ranked.id))
        highest[OUTSIDE] = max(highest.get(OUTSIDE, 0.0), standing.unmodelled or 0.0)
    order = sorted(highest, key=lambda c: (-highest[c], c))
    chosen = [c for c in order[:most] if highest[c] >= least] or order[:1]
    last = steps[-1].after if steps else Standing()
    return sorted(chosen, key=lambda c: (-share(last, c), c))


def columns(steps: Sequence[Step], causes: Sequence[str]) -> list[Column]:
    """Return at most `MOST` columns (more only where more repairs stand between); what moves little is drawn together."""
    moved = [s for s in steps if s.moved]
    small = 0.02
    while True:
        found = _joined(moved, causes, small)
        if len(found) <= MOST or small > 1.0:
            return found
        small *= 1.4


def _joined(moved: Sequence[Step], causes: Sequence[str], small: float) -> list[Column]:
    found: list[Column] = []
    run: list[Step] = []
    for step in moved:
        if step.event.kind != "repair" and _change(step, causes) < small:
            run.append(step)
            continue
        found += _run(run, causes)
        run = []
        found.append(Column(step.event.seq, step.event.seq, entry_words(step), step.after, step.event.kind == "repair"))
    return found + _run(run, causes)


def _change(step: Step, causes: Sequence[str]) -> float:
    return max(abs(share(step.after, c) - share(step.before, c)) for c in causes)


def _run(run: Sequence[Step], causes: Sequence[str]) -> list[Column]:
    """Return one column for entries that moved little, named for the one that moved most."""
    if len(run) < 2:
        return [Column(s.event.seq, s.event.seq, entry_words(s), s.after) for s in run]
    most = max(run, key=lambda s: _change(s, causes))
    return [Column(run[0].event.seq, run[-1].event.seq, f"{entry_words(most)} +{len(run) - 1}", run[-1].after)]


def entry_words(step: Step) -> str:
    """Return an entry in a few words: `egt low 3-bottom yes`, `DONE clean plug 3-bottom`."""
    data = step.event.data
    if step.event.kind == "repair":
        return f"DONE {_spaced(str(data.get('remedy', '')))}"
    if step.event.kind == "exchange":
        return f"exchanged {_spaced(str(data.get('exchange', '')))}"
    if step.event.kind == "correct":
        new = str(data.get("result") or "withdrawn")
        return f"corrects {data.get('corrects')}: {_spaced(new)}"
    return _spaced(str(data.get("result", "")))


def _spaced(text: str) -> str:
    """Return a result or remedy without its regime: what it is, where, how."""
    subject, _, grade = text.partition("=")
    name, _, place = subject.partition("@")
    return " ".join(f"{name.partition('.')[0]} {place} {grade}".replace("_", " ").split())
