"""Which phrases of the rule base a clause says, and how surely."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.rulebase.records import History, Symptom
from diagnose.rulebase.speech import TOLD
from diagnose.words.clauses import Clause, Spot
from diagnose.words.lexicon import Lexicon, Phrase
from diagnose.words.match import Entry, Match, telling
from diagnose.words.scope import apart, not_reaches
from diagnose.words.tokens import Token

# How much a matched word tells, and what a fitting place or condition adds: by what reads well, estimate.
THING, PLAIN, FITS, LEVEL = 0.6, 1.0, 0.4, 0.05
CARRIED, DERIVED, NAMED = 0.5, 0.1, 0.3  # a word said before counts half; a phrase wins over "fine" beside a name, and that over the name
LEAST_COVERED = 0.5  # a phrase more than half of whose words were said is worth asking about: estimate
LEANS = 2  # words of a phrase of which one may be a condition said before: "starts fine cold, hard hot"
APART, MOST_APART = 0.005, 0.04
CHOICES = 3
DECIMALS = 6  # decimals of a score: sums of the same weights in another order differ behind them
AFTER = frozenset(("after", "by", "since", "before"))
OTHER_SIDE = TOLD[0]
CONDITION = re.compile(r"([<>])(\d+)([a-z]+)")


@dataclass(frozen=True)
class Setting:
    """What a clause is read against: the words said before it, place and condition that hold, what a check under way looks at.

    `implied`: parts that need not be named for what it looks at.
    """

    carried: frozenset[str]
    spot: Spot
    said_spot: bool
    regimes: tuple[str, ...]
    looked_at: frozenset[str] = frozenset()
    implied: frozenset[str] = frozenset()


def conditions_met(lexicon: Lexicon, found: Iterable[Token]) -> frozenset[str]:
    """Return the conditions on numbers (`<500h`) that the numbers of some tokens meet."""
    numbers = [t for t in found if t.kind == "number" and t.number is not None]
    return frozenset(c for c in lexicon.conditions if any(_meets(c, t) for t in numbers))


def _meets(condition: str, token: Token) -> bool:
    sign, bound, unit = CONDITION.fullmatch(condition).groups()  # type: ignore[union-attr]
    if token.unit != unit or token.number is None:
        return False
    return token.number < float(bound) if sign == "<" else token.number > float(bound)


def matches(clause: Clause, setting: Setting, lexicon: Lexicon, entries: Mapping[str, Entry]) -> list[list[Match]]:
    """Return what a clause says: each item the phrases that say one thing of it equally well, the surest first."""
    own = clause.names | conditions_met(lexicon, clause.tokens)
    every = own | setting.carried
    known = setting.implied | {n for n in setting.carried if n in lexicon.numbered and not clause.content}
    near = own | {n for n in known if clause.of("number")}  # "3 is 42" after or at a compression check names no part
    seen = {phrase for name in near for phrase in lexicon.phrases.get(name, ()) if phrase.words <= _heard(phrase, every, setting)}
    seen = {p for p in seen if len(p.words) <= LEANS or not any(lexicon.kind(w) == "regime" for w in p.words - near - setting.implied)}
    found = [_match(phrase, near, clause, setting, lexicon, entries) for phrase in seen]
    loose = [t for t in clause.content if t.kind == "word"]
    found = [m for m in found if _tells(m, lexicon) and not (loose and _only_part(m, lexicon)) and not_reaches(clause, m, lexicon)]
    one_side = len(clause.spot.sides or setting.spot.sides) == 1
    found = [m for m in found if not m.phrase.told or (m.phrase.told == OTHER_SIDE) == one_side]
    found = [m for m in found if not _long_ago(m, clause, lexicon, entries)]
    done = _done(clause)
    found = [m for m in found if not (done & m.own and _at_rest(m, entries) and not _of_course(m, entries))]
    found = [m for m in found if not apart(clause, m, lexicon, entries)]
    if setting.spot.but:  # "the others" are cylinders or plugs
        found = [m for m in found if {"circuit", "cylinder"} & set(getattr(entries[m.phrase.id], "at", ()))]
    if clause.regimes:  # "fine above 2000" is of the running engine
        found = [m for m in found if not _at_rest(m, entries) or not {lexicon.kind(n) for n in m.own} <= {"fine", "bad", "regime"}]
    found.sort(key=lambda m: (-m.score, *_order(m.phrase)))
    return _chosen(found, lexicon, entries)


def _heard(phrase: Phrase, every: frozenset[str], setting: Setting) -> frozenset[str]:
    return every | setting.implied if phrase.id in setting.looked_at else every


def _match(phrase: Phrase, own: frozenset[str], clause: Clause, setting: Setting, lexicon: Lexicon, entries: Mapping[str, Entry]) -> Match:
    weights = {word: THING if lexicon.kind(word) == "thing" else PLAIN for word in phrase.words}
    score = sum(weight * (1 if word in own else CARRIED) for word, weight in weights.items())
    fit = _fit(entries[phrase.id], phrase, setting) - (DERIVED if phrase.derived else 0 if phrase.grade else NAMED)
    return Match(phrase, phrase.words & own, round(score + fit - _apart(phrase, clause), DECIMALS))


def _apart(phrase: Phrase, clause: Clause) -> float:
    """Return what speaks against a phrase whose words stand far from each other: little, it only settles what is equal else."""
    at = {t.name: i for i, t in reversed(list(enumerate(clause.tokens))) if t.name in phrase.words}
    return min(APART * (max(at.values()) - min(at.values())), MOST_APART) if at else 0.0


def _order(phrase: Phrase) -> tuple[str, ...]:
    """Return what settles which of two equally sure phrases comes first: never the order of a set."""
    return (phrase.id, phrase.grade, phrase.regime, *sorted(phrase.words))


def _fit(entry: Entry, phrase: Phrase, setting: Setting) -> float:
    """Return what place and condition speak for a phrase: a finding on one magneto is not one of the engine."""
    if isinstance(entry, History):
        return 0.0
    fit = FITS if entry.id in setting.looked_at else 0.0
    placed = {"side", "circuit"} & set(entry.at)
    if setting.spot.sides and setting.said_spot:
        fit += FITS if placed else -FITS
    elif "engine" not in entry.at and "side" in entry.at and entry.regimes != ("static",) and not setting.spot.magneto:
        fit -= FITS
    if setting.spot.cylinders and setting.said_spot:
        fit += FITS if {"circuit", "cylinder"} & set(entry.at) else -FITS
    if setting.spot.positions and setting.said_spot:
        fit += FITS if "circuit" in entry.at else -FITS
    if setting.regimes and entry.regimes != ("static",) and not set(setting.regimes) & {*entry.regimes, "any"}:
        fit -= FITS
    return fit


def _tells(match: Match, lexicon: Lexicon) -> bool:
    """Return whether the clause itself said something of it, not only the part or the place."""
    return any(telling(name, lexicon) for name in match.own) or not any(telling(n, lexicon) for n in match.phrase.words)


def _at_rest(match: Match, entries: Mapping[str, Entry]) -> bool:
    entry = entries[match.phrase.id]
    return isinstance(entry, Symptom) and entry.regimes == ("static",)


def _of_course(match: Match, entries: Mapping[str, Entry]) -> bool:
    entry = entries[match.phrase.id]
    return isinstance(entry, Symptom) and entry.kind == "course"


def _long_ago(match: Match, clause: Clause, lexicon: Lexicon, entries: Mapping[str, Entry]) -> bool:
    """Return whether hours were said that are too many for what a phrase says without hours: "620 h since inspection" is not lately."""
    phrase = match.phrase
    if not isinstance(entries[phrase.id], History) or phrase.words & lexicon.conditions:
        return False
    mine = {w for name in phrase.words for p in lexicon.phrases[name] if p.id == phrase.id and p.grade == phrase.grade for w in p.words}
    bounds = {c for c in mine & lexicon.conditions if c[0] == "<" and c[-1] == "h"}
    said = [t for t in clause.of("number") if t.unit in ("h", "month", "y")]
    return bool(bounds and said) and not any(_meets(c, t) for c in bounds for t in said)


def _only_part(match: Match, lexicon: Lexicon) -> bool:
    """Return whether a match is no more than a part called fine or bad: beside an unread word that may be of another thing."""
    return bool(match.phrase.grade) and {lexicon.kind(word) for word in match.phrase.words} <= {"thing", "fine", "bad"}


def _level(one: Match, other: Match) -> bool:
    """Return whether the same words say two phrases equally well."""
    return one.own == other.own and abs(one.score - other.score) < LEVEL


def _now_and_before(one: Match, other: Match, entries: Mapping[str, Entry]) -> bool:
    """Return whether a thing seen is part of what is told as having happened: "kicked back hard" says both."""
    before = isinstance(entries[other.phrase.id], History) and not isinstance(entries[one.phrase.id], History)
    return before and one.phrase.words < other.phrase.words


def _chosen(found: list[Match], lexicon: Lexicon, entries: Mapping[str, Entry]) -> list[list[Match]]:
    chosen: list[list[Match]] = []
    used: set[str] = set()
    for match in found:
        level = next((g for g in chosen if _level(g[0], match)), None)
        if level is not None:
            if match.phrase.id not in {m.phrase.id for m in level}:
                level.append(match)
            continue
        new = {name for name in match.own if telling(name, lexicon)} - used
        words = {name for name in match.own if lexicon.kind(name) == "word"}
        part = bool(words) and any(_now_and_before(match, g[0], entries) for g in chosen)
        if words and chosen and not part and not words - used:
            continue  # "kicked back hard on start" does not say "hard to start"
        if not new and not part and not (not chosen and match.own):
            continue
        if not part and any(match.phrase.words < g[0].phrase.words for g in chosen):
            continue
        same = next((g for g in chosen for m in g if match.phrase.id == m.phrase.id and m.phrase.grade), None)
        if same is not None:
            if not any(_level(match, other) and other.phrase.id != match.phrase.id for other in found):
                same[0] = replace(same[0], also=same[0].also | match.own)  # "worn short": the same said once more, and nothing else
                used |= match.own
            continue
        chosen.append([match])
        used |= match.own
    return chosen


def _done(clause: Clause) -> frozenset[str]:
    """Return the words for what somebody did ("after swapping leads", "swapped the leads"): they say nothing of how it was found."""
    texts = [t.text.lower().split()[-1] for t in clause.tokens]
    after = {t.name for i, t in enumerate(clause.tokens) if texts[i].endswith("ing") and set(texts[max(0, i - 2) : i]) & AFTER}
    things = [i for i, t in enumerate(clause.tokens) if t.kind == "thing"]
    return frozenset(after) | {t.name for i, t in enumerate(clause.tokens) if t.kind == "act" and things and i < min(things)}


def nearly(clause: Clause, setting: Setting, lexicon: Lexicon, entries: Mapping[str, Entry]) -> list[Phrase]:
    """Return up to three phrases that a clause says at least half of, by different ids, the nearest first."""
    guesses = {t.name for t in clause.tokens if t.guessed}
    own, every = clause.names - guesses, (clause.names - guesses) | setting.carried
    telling_own = {
        name for name in own if telling(name, lexicon) and lexicon.kind(name) not in ("not", "fine", "bad", "regime", "unseen", "act")
    }
    scored: list[tuple[float, Phrase]] = []
    for phrase in {p for name in telling_own for p in lexicon.phrases.get(name, ()) if p.grade and p.grade != "unknown" and not p.bad}:
        weights = {w: THING if lexicon.kind(w) == "thing" else PLAIN for w in phrase.words}
        said = sum(v for w, v in weights.items() if w in every)
        if round(said / sum(weights.values()), DECIMALS) > LEAST_COVERED and not {"fine", "not"} & (phrase.words - every):
            scored.append((round(2 * said - sum(weights.values()) + _fit(entries[phrase.id], phrase, setting), DECIMALS), phrase))
    scored.sort(key=lambda row: (-row[0], *_order(row[1])))
    things = {t.name for t in clause.of("thing")}
    first = [p for score, p in scored if score == scored[0][0]]
    if len({p.id for p in first}) > CHOICES and not any(things & p.words for p in first):
        return []  # "worn" alone can be of anything
    best: dict[str, Phrase] = {}
    for score, phrase in scored:
        if score >= scored[0][0] - PLAIN:
            best.setdefault(phrase.id, phrase)
    return list(best.values())[:CHOICES]


def gave(head: Clause, clause: Clause, groups: Sequence[Sequence[Match]]) -> bool:
    """Return whether a heading had part in what was found, or says no more than a part and a place."""
    own = {t.name for t in head.content if t.kind == "word"} - clause.names
    return not own or any(own & m.own for g in groups for m in g if m.phrase.grade)
