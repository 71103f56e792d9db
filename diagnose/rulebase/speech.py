"""How a result reads: the records of the sections `where`, `when` and `sentences`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.rulebase.entry import Entry

ANY = "any"  # what stands for "in one regime or another"
SLOTS = ("no", "position", "cylinder", "the", "side", "owner")  # what the words of a place may leave open


@dataclass(frozen=True)
class PlaceForm(Entry):
    """A way to say a place: kind of place -> words with slots; `...` in them is where the sentence stands, else behind them."""

    words: Mapping[str, str]


@dataclass(frozen=True)
class RegimeWords(Entry):
    """How a regime is said at the end of a sentence."""

    said: str


@dataclass(frozen=True)
class Sentence(Entry):
    """What each grade or answer reads as; `of` names the form that says the place (empty: none is said).

    `when`: regime -> the words that stand for it here (empty: it is not said), where not the usual ones.
    """

    of: str
    when: Mapping[str, str]
    texts: Mapping[str, str]
