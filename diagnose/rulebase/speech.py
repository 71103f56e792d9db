"""How a result reads and how people say it: the records of `where`, `when`, `sentences`, `says` and `words`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.rulebase.entry import Entry, Number

ANY = "any"  # what stands for "in one regime or another"
TOLD = ("other_side", "no_side")  # what a key of `says` may hold instead of a regime: said of the other magneto, of neither alone
SLOTS = ("no", "position", "cylinder", "the", "side", "owner")  # what the words of a place may leave open

# What a word of people's speech is taken for (`words` section).
WORD_KINDS = (
    "word",
    "thing",
    "side",
    "position",
    "cylinder",
    "count",
    "all",
    "some",
    "other",
    "regime",
    "not",
    "fine",
    "bad",
    "unseen",
    "maybe",
    "unit",
    "above",
    "below",
    "more",
    "gone",
    "act",
    "joint",
    "faint",
    "filler",
)


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


@dataclass(frozen=True)
class Says(Entry):
    """How people say a symptom or an answer: grade -> phrases; `about` names it without saying how it is.

    `yes.hot`: the phrase says the regime too. `yes.other_side`: said of one magneto it holds of the other ("noise gone on the
    right"). `yes.no_side`: it holds only where no single magneto is told.
    """

    phrases: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Word(Entry):
    """A word of people's speech, and its other spellings; `rpm_to` (1: none) is the speed up to which rpm means this regime."""

    kind: str
    says: tuple[str, ...]
    rpm_to: Number
