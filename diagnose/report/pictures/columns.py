"""The steps of a case as the columns of a chart: a check whole, each repair alone, runs of steps that moved little together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.report.said import result_after
from diagnose.review.replay import Moment, Ranking
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network

MOST = 11
OUTSIDE = ""  # stands for "nothing of this rule base" among the causes


@dataclass(frozen=True)
class Batch:
    """Entries made in one go: the numbers of the first and last, what they are in a few words, whether they are a repair."""

    first: int
    last: int
    words: str
    repair: bool = False


@dataclass(frozen=True)
class Column:
    """One step, or several that moved little: their entry numbers, what they say in a few words, belief after them."""

    first: int
    last: int
    words: str
    after: Ranking
    repair: bool = False

    @property
    def numbers(self) -> str:
        """Return the entry numbers, `14` or `9-13`."""
        return str(self.first) if self.first == self.last else f"{self.first}-{self.last}"


def share(ranking: Ranking, cause: str) -> float:
    """Return the share of a cause, or of nothing in this rule base."""
    return (ranking.unmodelled or 0.0) if cause == OUTSIDE else ranking.share(cause)


def mattered(steps: Sequence[Moment], most: int = 6, least: float = 0.05) -> list[str]:
    """Return the causes that ever had the largest shares, those of the last entry first."""
    highest: dict[str, float] = {}
    complained = [s.after for s in steps if s.after.unmodelled is not None] or [s.after for s in steps]
    for ranking in complained:
        for ranked in ranking.causes[:most]:
            highest[ranked.id] = max(highest.get(ranked.id, 0.0), ranking.share(ranked.id))
        highest[OUTSIDE] = max(highest.get(OUTSIDE, 0.0), ranking.unmodelled or 0.0)
    order = sorted(highest, key=lambda c: (-highest[c], c))
    chosen = [c for c in order[:most] if highest[c] >= least] or order[:1]
    last = steps[-1].after if steps else Ranking()
    return sorted(chosen, key=lambda c: (-share(last, c), c))


def columns(steps: Sequence[Moment], runs: Sequence[Batch], causes: Sequence[str], network: Network | None = None) -> list[Column]:
    """Return at most `MOST` columns (more only where more repairs stand between); steps that moved little are drawn together."""
    moved = [s for s in steps if s.moved]
    whole = [column for run in _every(moved, runs, network) if (column := _whole(moved, run)) is not None]
    small = 0.0
    while True:
        found = _joined(whole, causes, small)
        if len(found) <= MOST or small > 1.0:
            return found
        small = max(0.01, small * 1.4)


def _every(moved: Sequence[Moment], runs: Sequence[Batch], network: Network | None) -> list[Batch]:
    """Return the runs, and one for each entry that moved belief and stands in none of them, in order."""
    covered = {n for run in runs for n in range(run.first, run.last + 1)}
    rest = [Batch(s.event.seq, s.event.seq, entry_words(s, network), s.event.kind == "repair") for s in moved if s.event.seq not in covered]
    return sorted((*runs, *rest), key=lambda run: run.first)


def _whole(moved: Sequence[Moment], run: Batch) -> Column | None:
    inside = [s for s in moved if run.first <= s.event.seq <= run.last]
    return Column(run.first, run.last, run.words, inside[-1].after, run.repair) if inside else None


def _joined(whole: Sequence[Column], causes: Sequence[str], small: float) -> list[Column]:
    """Return the columns, neighbours that moved every cause by less than `small` drawn together under the one that moved most."""
    found: list[Column] = []
    run: list[tuple[Column, float]] = []
    before = Ranking()
    for column in whole:
        change = max((abs(share(column.after, c) - share(before, c)) for c in causes), default=0.0)
        before = column.after
        if column.repair or change >= small:
            found += [*_run(run), column]
            run = []
        else:
            run.append((column, change))
    return found + _run(run)


def _run(run: Sequence[tuple[Column, float]]) -> list[Column]:
    if len(run) < 2:
        return [column for column, _ in run]
    most = max(run, key=lambda item: item[1])[0]
    return [Column(run[0][0].first, run[-1][0].last, f"{most.words} +{len(run) - 1}", run[-1][0].after)]


def entry_words(step: Moment, network: Network | None = None) -> str:
    """Return an entry in a few words: `DONE clean plug 3-bottom`, `corrects 12: No. 3 bottom plug: gap too wide`."""
    data = step.event.data
    if step.event.kind == "repair":
        return f"DONE {spaced(str(data.get('remedy', '')))}"
    if step.event.kind == "exchange":
        return f"exchanged {spaced(str(data.get('exchange', '')))}"
    if step.event.kind == "correct":
        new = str(data.get("result") or "withdrawn")
        return f"corrects {data.get('corrects')}: {_said(new, network, step.trouble.looks)}"
    return _said(str(data.get("result", "")), network, step.trouble.looks)


def _said(result: str, network: Network | None, looks: Sequence[LookResults]) -> str:
    """Return a result as it is said; by its id where the network is not at hand or does not know it."""
    if network is None:
        return spaced(result)
    try:
        return result_after(network, result, looks, ())
    except KeyError:
        return spaced(result)


def spaced(text: str) -> str:
    """Return a result, check or remedy without its regime: what it is, where, how."""
    subject, _, grade = text.partition("=")
    name, _, place = subject.partition("@")
    return " ".join(f"{name.partition('.')[0]} {'' if place == 'engine' else place} {grade}".replace("_", " ").split())
