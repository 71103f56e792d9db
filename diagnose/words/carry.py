"""What goes on from one clause to the next."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.words.clauses import Clause, Spot
from diagnose.words.finding import Finding


@dataclass
class Carry:
    """Place, condition, parts named, words that wait for their sense, what was found last."""

    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()
    things: frozenset[str] = frozenset()
    topic: frozenset[str] = frozenset()
    waiting: list[Clause] = field(default_factory=list)
    last: list[Finding] = field(default_factory=list)
    negated: bool = False
