"""What the rule base knows of people's speech, made ready for reading: spellings, phrases, and what each phrase says."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.rulebase.records import RuleBase
from diagnose.rulebase.speech import TOLD, WORD_KINDS, Word

ABOUT = "about"
FINE, UNSEEN = "fine", "unchecked"
WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*|\d+(?:[.,]\d+)*|\S", re.UNICODE)
# Only names of these kinds may be guessed from a misspelling: a wrong side, number or "no" is worse than a question.
GUESSED = frozenset(("word", "thing", "regime", "fine", "bad", "maybe", "gone", "act"))
EXACT = frozenset(WORD_KINDS) - GUESSED
SHORTEST_GUESSED = 5
SLOT = re.compile(r"\{\w+\}")
_ENDINGS = (("ies", "y"), ("ing", ""), ("ed", ""), ("es", ""), ("s", ""))


@dataclass(frozen=True)
class Phrase:
    """Words that say a symptom or an answer; an empty grade: they only name it.

    `bad`: every grade but the normal one. `derived`: its name with "fine" or "bad" beside it. `told`: of which magneto (`TOLD`).
    """

    id: str
    grade: str
    regime: str
    words: frozenset[str]
    bad: bool = False
    derived: bool = False
    told: str = ""


@dataclass(frozen=True)
class Lexicon:
    """Spellings (word tuples) to the names of words, kinds by name, and phrases by each of their words."""

    spellings: Mapping[tuple[str, ...], tuple[str, ...]]
    words: Mapping[str, Word]
    longest: int
    phrases: Mapping[str, tuple[Phrase, ...]]
    guessable: tuple[str, ...]
    kept: frozenset[str]
    conditions: frozenset[str]
    initials: Mapping[str, str]
    numbered: frozenset[str] = frozenset()

    def kind(self, name: str) -> str:
        """Return what a word is taken for."""
        word = self.words.get(name.removeprefix("@"))
        return word.kind if word is not None else "word"


def stem(word: str) -> str:
    """Return a word without its ending: drops, dropped and dropping are one; short words stay as they are."""
    for ending, instead in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not (ending == "s" and word.endswith("ss")):
            word = word[: len(word) - len(ending)] + instead
            break
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "lsz":
        word = word[:-1]
    return word[:-1] if len(word) > 4 and word.endswith("e") else word


def split_words(text: str) -> list[str]:
    """Return the words, numbers and signs of a text, lower case; a hyphen between words parts them."""
    return WORD.findall(text.lower().replace("\u2019", "'"))


def make_lexicon(base: RuleBase) -> Lexicon:
    """Return the lexicon of a rule base."""
    spellings: dict[tuple[str, ...], list[str]] = {}
    for word in base.words.values():
        own = () if word.kind in ("regime", "cylinder") and word.id in ("any",) else (word.id.replace("_", " "),)
        for told in (*own, *word.says):
            key = tuple(split_words(told))
            name = f"@{word.id}" if len(key) > 1 and word.kind == "regime" else word.id
            for variant in (
                {key}
                if word.kind in (*EXACT, "fine") or (word.kind == "regime" and len(key) > 1)
                else {key, tuple(stem(part) for part in key)}
            ):
                known = spellings.setdefault(variant, [])
                if name not in known:
                    known.append(name)
    chosen = {key: tuple(names) for key, names in spellings.items()}
    longest = max((len(key) for key in chosen), default=1)
    bare = Lexicon(chosen, base.words, longest, {}, (), frozenset(), frozenset(), _initials(base, chosen))
    phrases = [p for p in dict.fromkeys(_phrases(base, bare)) if says_something(p, bare)]
    plain = {text for says in base.says.values() for told in says.phrases.values() for phrase in told for text in split_words(phrase)}
    guessable = sorted({k[0] for k in chosen if len(k) == 1 and _guessable(k[0], chosen[k], base)} | {t for t in plain if _long(t, chosen)})
    kept = frozenset(k[0] for k in chosen if len(k) == 1 and not _guessable(k[0], chosen[k], base))
    conditions = frozenset(word for phrase in phrases for word in phrase.words if word[0] in "<>")
    return replace(
        bare,
        phrases=_by_word(phrases),
        guessable=tuple(guessable),
        kept=kept,
        conditions=conditions,
        numbered=_numbered(phrases, base, bare),
    )


def _numbered(phrases: Iterable[Phrase], base: RuleBase, bare: Lexicon) -> frozenset[str]:
    """Return the parts that every cylinder has, so that a number behind their name is a cylinder ("CHT 3")."""
    of_cylinders = [p for p in phrases if not p.grade and p.id in base.symptoms and set(base.symptoms[p.id].at) <= {"circuit", "cylinder"}]
    return frozenset(word for phrase in of_cylinders for word in phrase.words if bare.kind(word) == "thing")


def _initials(base: RuleBase, spellings: Mapping[tuple[str, ...], tuple[str, ...]]) -> dict[str, str]:
    """Return the letters that stand for a position behind a cylinder's number (3B): those that can be nothing else."""
    found: dict[str, set[str]] = {}
    for word in base.words.values():
        if word.kind == "position":
            for told in (word.id, *word.says):
                found.setdefault(told[0].lower(), set()).add(word.id)
    return {letter: next(iter(names)) for letter, names in found.items() if len(names) == 1 and (letter,) not in spellings}


def says_something(phrase: Phrase, lexicon: Lexicon) -> bool:
    """Return whether a phrase says more than a part: "plug", "fine" and "out" alone say no grade of anything."""
    kinds = {lexicon.kind(word) for word in phrase.words}
    if not phrase.grade:
        return bool(kinds)
    return bool(kinds - {"thing", *EXACT, "fine", "bad"}) or ("thing" in kinds and bool(kinds & {"not", "fine", "bad", "unseen", "faint"}))


def _long(text: str, spellings: Mapping[tuple[str, ...], tuple[str, ...]]) -> bool:
    return len(text) >= SHORTEST_GUESSED and text.isalpha() and (text,) not in spellings


def _guessable(text: str, names: Iterable[str], base: RuleBase) -> bool:
    kinds = {base.words[name.removeprefix("@")].kind for name in names}
    return len(text) >= SHORTEST_GUESSED and text.isalpha() and not kinds & EXACT


def _phrases(base: RuleBase, bare: Lexicon) -> Iterator[Phrase]:
    for says in base.says.values():
        symptom = base.symptoms.get(says.id)
        normal = symptom.names[0] if symptom else ""
        for key, told in says.phrases.items():
            grade, _, regime = key.partition(".")
            for text in told:
                words = phrase_words(text, bare)
                if grade != ABOUT:
                    told_of = regime if regime in TOLD else ""
                    yield Phrase(says.id, grade, "" if told_of else regime, words, told=told_of)
                    continue
                yield Phrase(says.id, "", "", words)
                yield Phrase(says.id, "unknown", "", words | {UNSEEN}, derived=True)
                if symptom is not None:
                    yield Phrase(says.id, normal, "", words | {FINE}, derived=True)
                    bad = (word.id for word in base.words.values() if word.kind == "bad")
                    yield from (Phrase(says.id, symptom.names[1], "", words | {name}, bad=True, derived=True) for name in bad)
    yield from _own_words(base, bare)


def _own_words(base: RuleBase, bare: Lexicon) -> Iterator[Phrase]:
    """Yield the labels and the sentences: what a screen says of a symptom reads back as it."""
    for symptom in base.symptoms.values():
        words = phrase_words(symptom.label, bare)
        if len(words) > 1:
            yield Phrase(symptom.id, symptom.names[1], "", words)
    for sentence in base.sentences.values():
        form = base.where[sentence.of].words if sentence.of else {}
        part = {name for told in form.values() for name in phrase_words(SLOT.sub("", told), bare) if bare.kind(name) in ("thing", "word")}
        for grade, text in sentence.texts.items():
            words = phrase_words(text, bare) | part
            if len(words) > 1:
                yield Phrase(sentence.id, grade, "", words)


def phrase_words(text: str, lexicon: Lexicon) -> frozenset[str]:
    """Return the names of a phrase's words; fillers do not count."""
    named = (name for name, _ in names_of(re.findall(r"[<>]\d+[a-z]+|[\w']+", text.lower()), lexicon))
    return frozenset(name for name in named if lexicon.kind(name) != "filler")


def names_of(parts: list[str], lexicon: Lexicon) -> Iterator[tuple[str, int]]:
    """Yield the name of each word, or of several words that make one, with how many were taken; the longest spelling wins."""
    at = 0
    while at < len(parts):
        size, names = spelled(parts, at, lexicon)
        first = sorted(names, key=lambda name: lexicon.kind(name) in ("cylinder", "position"))  # "no", "lower" in a phrase mean the word
        yield name_of(parts, at, size, first[0] if first else "", lexicon), size
        at += size


def name_of(parts: Sequence[str], at: int, size: int, name: str, lexicon: Lexicon) -> str:
    """Return the name of a spelling; a single word for a condition keeps its own: a climb is not a takeoff."""
    return stem(parts[at]) if not name or (size == 1 and lexicon.kind(name) == "regime") else name


def spelled(parts: list[str], at: int, lexicon: Lexicon) -> tuple[int, tuple[str, ...]]:
    """Return how many words from `at` make a known spelling, and what it can be; (1, ()) where none does."""
    if "_" in parts[at] and parts[at] in lexicon.words:  # phrases of the rule base may use the name itself
        return 1, (parts[at],)
    for size in range(min(lexicon.longest, len(parts) - at), 0, -1):
        key = tuple(parts[at : at + size])
        for variant in (key, tuple(stem(part) for part in key)):
            if variant in lexicon.spellings:
                return size, lexicon.spellings[variant]
    return 1, ()


def _by_word(phrases: Iterable[Phrase]) -> dict[str, tuple[Phrase, ...]]:
    found: dict[str, list[Phrase]] = {}
    for phrase in phrases:
        for word in phrase.words:
            found.setdefault(word, []).append(phrase)
    return {word: tuple(those) for word, those in found.items()}
