"""What is made of a rule base for reading, made once: its lexicon, its own sentences, the sentences of its results."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from diagnose.rulebase.records import RuleBase
from diagnose.words.lexicon import ABOUT, Lexicon, make_lexicon, phrase_words
from diagnose.words.own import own_results, own_sentences


@dataclass(frozen=True, eq=False)
class _Key:
    """A rule base as a key of the cache: by its text."""

    base: RuleBase

    def __hash__(self) -> int:
        return hash(self.base.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.base.sha256 == self.base.sha256


def lexicon_of(base: RuleBase) -> tuple[Lexicon, dict[str, tuple[str, str]]]:
    """Return the lexicon of a rule base, and its own labels and questions."""
    return _lexicon(_Key(base))


def results_of(base: RuleBase, layout: str) -> dict[str, str]:
    """Return every sentence that a result of an engine reads as -> the result."""
    return _results(_Key(base), layout)


def parts_of(ids: Iterable[str], base: RuleBase, lexicon: Lexicon) -> frozenset[str]:
    """Return the parts that some symptoms are named by: at a check that looks at them they need not be said."""
    told = [text for ident in ids if ident in base.says for text in base.says[ident].phrases.get(ABOUT, ())]
    return frozenset(word for text in told for word in phrase_words(text, lexicon) if lexicon.kind(word) == "thing")


@lru_cache(maxsize=4)
def _lexicon(key: _Key) -> tuple[Lexicon, dict[str, tuple[str, str]]]:
    return make_lexicon(key.base), own_sentences(key.base)


@lru_cache(maxsize=4)
def _results(key: _Key, layout: str) -> dict[str, str]:
    return own_results(key.base, key.base.layouts[layout])
