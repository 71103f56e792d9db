"""What stands in the files of this folder, as plain records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

STANDINGS = ("firm", "thin", "open")
SAID = ("wholly", "partly", "not")


@dataclass(frozen=True)
class Entry:
    """Result lines as they are put to the program."""

    id: str
    layout: str
    complaint: tuple[str, ...]
    results: tuple[str, ...]


@dataclass(frozen=True)
class Observation:
    """One thing somebody met, in the order of the account."""

    what: str
    value: str
    when: str


@dataclass(frozen=True)
class Unsaid:
    """What the result lines lose of an observation (its number from 1), of the told complaint (`told`) or of the `engine`."""

    of: str
    said: str
    lost: str


@dataclass(frozen=True)
class Account:
    """A published trouble: what was told and met, and how it is entered. Nothing in it tells the answer."""

    entry: Entry
    told: str
    engine: Mapping[str, str]
    observations: tuple[Observation, ...]
    unsaid: tuple[Unsaid, ...]

    def said(self) -> tuple[str, ...]:
        """Return how far the told complaint and each observation are said: `wholly`, `partly` or `not`."""
        lost = {u.of: u.said for u in self.unsaid}
        items = ("told", *(str(n) for n in range(1, len(self.observations) + 1)))
        return tuple(lost.get(item, "wholly") for item in items)


@dataclass(frozen=True)
class Bet:
    """A blind bet: family -> probability that it is to blame (what is left of 1: none of these), and the next step in words or by id."""

    families: Mapping[str, float]
    next: str


@dataclass(frozen=True)
class Answer:
    """What an account turned out to be: families and causes a fair judge takes for right, and the bet made without knowing it."""

    standing: str
    turned_out: str
    families: tuple[str, ...]
    causes: tuple[str, ...]
    bet: Bet


@dataclass(frozen=True)
class Expected:
    """What a mechanic makes of a made-up trouble: the fault behind it, families of the first suspicion, next steps; and what is as good."""

    hidden: tuple[str, ...]
    suspects: tuple[str, ...]
    as_good: tuple[str, ...]
    next: tuple[str, ...]
    next_as_good: tuple[str, ...]


@dataclass(frozen=True)
class Presentation:
    """What is known of a trouble after ten minutes, and the bet on it (None: nobody has bet yet). `aside`: kept for measuring."""

    entry: Entry
    bet: Bet | None
    aside: bool
