"""The belief network as plain numbers, and the evidence put to it: what every engine must answer alike.

**Faults.** Causes are independent. A cause that is there draws once how far it reaches (`reach`). Each of its effects
whose `step` is within that reach then occurs with that effect's `strength`, independently of the others. An effect
that occurs draws one level for each of its links (index 0: adds nothing) and adds it to the link's finding.

**Findings** show the highest level that any effect, their own leak or the pairs below add (noisy-MAX; noisy-OR where
there are two levels). Strengths stand beside the leak, not over it (the form of Diez 1993).

**Both.** A finding may also come from several things together: `Model.pairs` names for it sets of hidden findings. A
set *holds* in a look when each of its members shows there, through whichever causes; it then adds level 1. Hidden
findings (a side without spark) have no leak and no result; effects feed them by links, mostly sure ones. So the engine
stops by one fault of its own, by one shared fault that silences both sides, or by one on each side.

**Somehow.** A fault may show in a way nobody wrote. A cause that is there draws once how far from what is written it goes,
and that lasts as an effect does. Each result it has no written link to is then met by a draw of its own; see `Somehow`.

**Looks.** What occurred lasts from look to look and shows in each with `show_again`; levels are drawn once. A removal
ends a cause and everything it drew; a fresh one may come in its place (`bad_repair`) and draws anew.

**Responsible.** A generation of a cause is responsible for a blamed clause (`Evidence.blamed`) if it lived through that
look and, there, met one of the clause's options by an effect of its own, or somehow, or met a member of a pair of that
clause that holds. A member alone is no guilt: it needs the others, and whose they are does not matter. A cause is
responsible if any of its generations is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

Pair = tuple[str, ...]


class Link(NamedTuple):
    """What an effect adds to one finding: `levels[k]` is the probability that it adds level k (sums to 1).

    A link may be sure (a level of probability 1).
    """

    finding: str
    levels: tuple[float, ...]


@dataclass(frozen=True)
class Effect:
    """One way a cause shows itself: how often it occurs (per look), and what it then adds where.

    `step`: it can occur only if the cause reaches at least so far; 0 always can.
    """

    strength: float
    links: tuple[Link, ...]
    step: int = 0


@dataclass(frozen=True)
class Somehow:
    """Showing in a way nobody wrote, shared by the causes of one place.

    `open`: for each squawk in scope (of the engine, the side or the cylinder), how often, per look, the way to it is open.
    It is one draw for all: a number from 0 to 1 for each generation; what is rarely open is open only when all that
    is open more often is. A cause leaves out what it is linked to (`Model.written`) and its own `never`. `shows`: how
    often a squawk then shows, independently of the others. So one squawk shows with open times shows, and two
    together pay for the draw once: with the smaller open times shows squared.

    Over several looks the ways that are open last and show in each look together, like an effect as strong as the widest.
    Draws are per result:

    - a finding told of alone (a bound, a clause of one option, or both): one level by the shares of the finding's leak,
      drawn once, which keeps or breaks the bounds and meets the clauses of one option in each look where it shows,
      just as a link's does;
    - a clause of several options: one draw for the whole clause, whatever the number of options (none where the look's
      own bounds forbid them all). Linked to one of them, the cause meets it by that link only. Else it is met as one of
      its options would be, the one most often open (of equals the one with more of its leak at the level told or worse).
      The same options in another look are the same draw.
    """

    open: Mapping[str, float]
    shows: float = 0.5


@dataclass(frozen=True)
class CauseNode:
    """A cause with its prior probability and its effects.

    `reach[k]` is the probability that it reaches exactly step k (sums to 1): drawn once for each generation.
    `never`: findings it is known not to show, though they are in the scope of `somehow`.
    """

    id: str
    prior: float
    effects: tuple[Effect, ...]
    reach: tuple[float, ...] = (1,)
    somehow: Somehow | None = None
    never: frozenset[str] = frozenset()

    @cached_property
    def feeds(self) -> frozenset[str]:
        """Return every finding it is linked to, hidden ones included."""
        return frozenset(link.finding for effect in self.effects for link in effect.links)


@dataclass(frozen=True, eq=False)
class Model:
    """Causes, for every finding but the hidden ones the distribution of the level its leak adds (sums to 1), and the pairs."""

    causes: tuple[CauseNode, ...]
    leaks: Mapping[str, tuple[float, ...]]
    pairs: Mapping[str, tuple[Pair, ...]] = field(default_factory=dict)

    def written(self, cause: CauseNode) -> frozenset[str]:
        """Return the findings it is known how a cause shows: linked to it, or through a member of one of their pairs."""
        through = (f for f, pairs in self.pairs.items() if any(m in cause.feeds for pair in pairs for m in pair))
        return cause.feeds.union(through)

    def pairs_of(self, clause: Clause) -> tuple[Pair, ...]:
        """Return the pairs that meet a clause: its own where it names them, else those of its options at level 1."""
        if clause.pairs is not None:
            return clause.pairs
        return tuple(dict.fromkeys(pair for finding, least in clause.options if least == 1 for pair in self.pairs.get(finding, ())))


@dataclass(frozen=True)
class Clause:
    """A positive result: at least one of `options` (finding, least level, at least 1) holds, or one of its pairs.

    `pairs`: what stands here for the pairs of the options ("in some regime": one pair over all of them); None: their own.
    """

    options: tuple[tuple[str, int], ...]
    complaint: bool = False
    pairs: tuple[Pair, ...] | None = None


@dataclass(frozen=True)
class Look:
    """What was seen between two repairs: highest level per finding, and the positive clauses.

    A bound of 0 (a normal result) also demands that none of the finding's pairs holds.
    `removed`: causes ended just before this look. `quieted`: causes whose links to complaint findings (hidden members
    of their pairs among them) are left out of this look, and likewise what they show there somehow.
    `moved`: cause -> finding -> the finding it feeds instead in this look, hidden ones and those it
    shows somehow among them, because the part it sits in stands elsewhere now.
    A result "level between a and b" is a bound b and, if a > 0, a clause (finding, a).
    """

    bounds: Mapping[str, int] = field(default_factory=dict)
    clauses: tuple[Clause, ...] = ()
    removed: frozenset[str] = frozenset()
    quieted: frozenset[str] = frozenset()
    moved: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @cached_property
    def contradicts_itself(self) -> bool:
        """Return whether the bounds forbid every option of a clause: it is then met in no way, by no pair and not somehow."""
        return any(all(self.bounds.get(finding, least) < least for finding, least in clause.options) for clause in self.clauses)

    def fed(self, cause: str, finding: str) -> str:
        """Return the finding that a cause's link to `finding` feeds in this look."""
        return self.moved[cause].get(finding, finding) if cause in self.moved else finding


@dataclass(frozen=True)
class Evidence:
    """Every look, oldest first; effects, what shows somehow, and complaint leaks last from look to look.

    `odds` multiplies the prior odds of causes (their first generation). Whatever lasts and occurred shows in each look with
    probability `show_again`; strengths, chances and leaks are per look, so it occurs with strength / show_again, and
    one look alone gives just the strength. `bad_repair` is the prior of a cause just after its removal.
    `blamed`: (look, clause) by number, those that responsibility is about; usually `newest_complaints`.
    """

    looks: tuple[Look, ...] = (Look(),)
    odds: Mapping[str, float] = field(default_factory=dict)
    show_again: float = 0.95
    bad_repair: float = 0.01
    blamed: frozenset[tuple[int, int]] = frozenset()

    def complaint_findings(self, model: Model) -> frozenset[str]:
        """Return the findings of every complaint clause of every look, and the hidden members of their pairs."""
        clauses = [c for look in self.looks for c in look.clauses if c.complaint]
        hidden = (member for c in clauses for pair in model.pairs_of(c) for member in pair)
        return frozenset(f for c in clauses for f, _ in c.options).union(hidden)


@dataclass(frozen=True)
class Belief:
    """Probabilities given the evidence.

    `present`: the cause is there now (its newest generation). `responsible`: some generation of it is responsible for at
    least one blamed clause. `likelihood`: probability of the evidence. `unexplained`: no cause is responsible.
    """

    likelihood: float
    present: Mapping[str, float]
    responsible: Mapping[str, float]
    unexplained: float


class Contradiction(ArithmeticError):
    """The evidence has probability zero under the model (a leak of 0, or a clause nothing can meet)."""


def newest_complaints(looks: Sequence[Look]) -> frozenset[tuple[int, int]]:
    """Return (look, clause) of every complaint in its newest look, two clauses on the same findings being one complaint.

    One that has since been seen normal in all it named is left out while another still stands: what it was is mended.
    """
    newest: dict[frozenset[str], int] = {}
    for t, look in enumerate(looks):
        newest |= {_named(clause): t for clause in look.clauses if clause.complaint}
    places = [(t, k) for named, t in newest.items() for k, c in enumerate(looks[t].clauses) if c.complaint and _named(c) == named]
    standing = [(t, k) for t, k in places if not _gone(looks[t].clauses[k], looks[t + 1 :])]
    return frozenset(standing or places)


def _named(clause: Clause) -> frozenset[str]:
    return frozenset(finding for finding, _ in clause.options)


def _gone(clause: Clause, later: Sequence[Look]) -> bool:
    return all(any(look.bounds.get(finding, least) < least for look in later) for finding, least in clause.options)


def occurrence(strength: float, show_again: float, looks: int) -> tuple[float, float]:
    """Return how often something occurs and how often it then shows in one look, for a strength per look.

    The two multiply to the strength. With one look they need not be told apart.
    """
    if looks == 1 or strength == 0:
        return strength, 1 if looks == 1 else show_again
    shows = max(show_again, strength)
    return strength / shows, shows


def prior_with_odds(prior: float, factor: float) -> float:
    """Return the prior after its odds are multiplied by a factor; a factor past all numbers gives 1, never NaN."""
    weight = prior * factor
    return 1.0 if weight == float("inf") else weight / (weight + (1 - prior))


def level_somehow(shows: float, leak: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distribution of the level a cause that shows somehow adds to a finding: the leak's shares."""
    whole = sum(leak[1:])
    return (1 - shows, *(shows * p / whole for p in leak[1:]))
