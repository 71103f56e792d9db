"""A phrase of the rule base said by a clause."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.rulebase.records import History, Symptom
from diagnose.words.lexicon import Lexicon, Phrase

Entry = Symptom | History


@dataclass(frozen=True)
class Match:
    """A phrase said by a clause, with the names it took from the clause itself; `also` said the same thing once more."""

    phrase: Phrase
    own: frozenset[str]
    score: float
    also: frozenset[str] = frozenset()


def telling(name: str, lexicon: Lexicon) -> bool:
    """Return whether a word says more than which part or place is meant."""
    kind = lexicon.kind(name)
    return kind not in ("thing", "side", "position", "cylinder", "filler", "all", "some", "count")
