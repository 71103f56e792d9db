"""The belief network as plain numbers, and the evidence put to it.

Causes are independent. A cause that is present has each of its effects with that effect's strength,
independently. An effect that occurs adds to each finding it is linked to a level drawn from the
link's `levels` (index 0: adds nothing). A finding shows the highest level that any effect or its
own leak adds (noisy-MAX; noisy-OR where there are two levels). Strengths stand beside the leak, not
over it (the form of Diez 1993).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Link:
    """What an effect adds to one finding: `levels[k]` is the probability that it adds level k (sums to 1)."""

    finding: str
    levels: tuple[float, ...]


@dataclass(frozen=True)
class Effect:
    """One way a cause shows itself: how often it occurs, and what it then adds where."""

    strength: float
    links: tuple[Link, ...]


@dataclass(frozen=True)
class CauseNode:
    """A cause with its prior probability and its effects."""

    id: str
    prior: float
    effects: tuple[Effect, ...]


@dataclass(frozen=True, eq=False)
class Model:
    """Causes, and for every finding the distribution of the level its leak adds (sums to 1)."""

    causes: tuple[CauseNode, ...]
    leaks: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True)
class Clause:
    """A positive result: at least one of `options` (finding, least level) holds."""

    options: tuple[tuple[str, int], ...]
    complaint: bool = False


@dataclass(frozen=True)
class Look:
    """What was seen between two repairs: highest level per finding, and the positive clauses.

    `removed`: causes ended just before this look. `quieted`: causes whose links to complaint
    findings are left out of this look. `moved`: cause -> finding -> the finding it feeds instead in this
    look, because the part it sits in stands elsewhere now. A result "level between a and b" is a bound b and, if a > 0,
    a clause (finding, a).
    """

    bounds: Mapping[str, int] = field(default_factory=dict)
    clauses: tuple[Clause, ...] = ()
    removed: frozenset[str] = frozenset()
    quieted: frozenset[str] = frozenset()
    moved: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def fed(self, cause: str, finding: str) -> str:
        """Return the finding that a cause's link to `finding` feeds in this look."""
        return self.moved[cause].get(finding, finding) if cause in self.moved else finding


@dataclass(frozen=True)
class Evidence:
    """Every look, oldest first; effects and complaint leaks last from look to look.

    `odds` multiplies the prior odds of causes. An effect (or complaint leak) that occurred shows in
    each look with probability `show_again`; strengths and leaks are per look, so it occurs with
    strength / show_again, and one look alone gives just the strength. `bad_repair` is the prior of
    a cause just after its removal.
    `blame` is the index of the look whose complaint clauses responsibility is about.
    """

    looks: tuple[Look, ...] = (Look(),)
    odds: Mapping[str, float] = field(default_factory=dict)
    show_again: float = 0.95
    bad_repair: float = 0.01
    blame: int = 0

    @property
    def complaint_findings(self) -> frozenset[str]:
        """Return the findings of every complaint clause of every look."""
        return frozenset(f for look in self.looks for c in look.clauses if c.complaint for f, _ in c.options)


@dataclass(frozen=True)
class Belief:
    """Probabilities given the evidence.

    `present`: the cause is there now. `responsible`: it was there in the blamed look and one of its
    own effects met at least one complaint clause of that look. `likelihood`: probability of the
    evidence. `unexplained`: no cause is responsible.
    """

    likelihood: float
    present: Mapping[str, float]
    responsible: Mapping[str, float]
    unexplained: float


class Contradiction(ArithmeticError):
    """The evidence has probability zero under the model (a leak of 0, or a clause nothing can meet)."""


def occurrence(strength: float, show_again: float, looks: int) -> tuple[float, float]:
    """Return how often something occurs and how often it then shows in one look, for a strength per look.

    The two multiply to the strength. With one look they need not be told apart.
    """
    if looks == 1 or strength == 0:
        return strength, 1 if looks == 1 else show_again
    shows = max(show_again, strength)
    return strength / shows, shows


def prior_with_odds(prior: float, factor: float) -> float:
    """Return the prior after its odds are multiplied by a factor."""
    odds = prior / (1 - prior) * factor
    return odds / (1 + odds)
