"""Which words of a clause may be taken together: rules of language, the same for every symptom.

A phrase of the rule base is a few words in any order; here stands when words that are all there are still not said of each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import takewhile

from diagnose.rulebase.records import History, Symptom
from diagnose.words.clauses import QUIET, Clause, names_in
from diagnose.words.finding import Finding
from diagnose.words.lexicon import Lexicon
from diagnose.words.match import Entry, Match, telling
from diagnose.words.tokens import Token

STARTS = "start"  # the regime of what is noticed while starting
INSTRUMENTS = frozenset(("egt", "cht", "manifold_pressure", "fuel_flow", "tach", "compression", "timing"))  # what they do is read off them
STATES = frozenset(("off",))  # right behind a part they are said of that part
BEFORE = ("yesterday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
LIGHT = (  # what changes nothing of what is found
    *("first", "second", "last", "once", "twice", "further", "near", "whole", "like", "within", "between", "go", "make", "making"),
    *("returns", "occasional", "crew", "squawk"),
)
OF_ITS_OWN = ("word", "regime", "thing", "bad", "fine")  # what a "not" in a heading can be said of
NUMBERED = ("no", "nr", "number")  # "no 2" alone names no cylinder: towers and circuits have numbers as well
EXCEPT = ("unless", "until", "till", "except")
SUBORDINATE = frozenset(("till", "until", "unless", "when", "if", "once", "after", "before", "because", "since"))
BETWEEN = 1  # words of another thing that a "not" reaches over: "not making full power"
MOST_BETWEEN = 1  # words of something else that may stand between the words of one phrase: estimate


def apart(clause: Clause, match: Match, lexicon: Lexicon, entries: Mapping[str, Entry]) -> bool:
    """Return whether the words of a phrase are said of different things in a clause, so that they do not say the phrase."""
    entry = entries[match.phrase.id]
    course = isinstance(entry, Symptom) and entry.kind == "course"
    return (
        _torn(clause, match, lexicon, course)
        or _of_another_part(clause, match)
        or _part_only_implied(clause, match, lexicon)
        or _only_hours(clause, match, lexicon)
        or (_only_when(clause, match) if isinstance(entry, History) else _of_an_instrument(clause, match, lexicon))
    )


def _torn(clause: Clause, match: Match, lexicon: Lexicon, course: bool) -> bool:
    """Return whether what a phrase tells is partly in a heading and partly in what follows: "no change, still rough on left".

    A heading that only names what is spoken of ("mag check, left fails") and a condition go with what follows; the course of a
    complaint hangs on its condition ("worse hot, better cold").
    """
    head, own = names_in(clause.tokens[: clause.own_from]), names_in(clause.tokens[clause.own_from :])
    said = {n for n in match.own if telling(n, lexicon) and (course or lexicon.kind(n) != "regime" or n == STARTS)}
    before = (said & head) - own
    if not before or (before <= _topic(match, lexicon) and not _elsewhere(clause)):
        return False
    return bool((said & own) - head) or (not said & own and any(telling(n, lexicon) and lexicon.kind(n) == "word" for n in own))


def _elsewhere(clause: Clause) -> bool:
    """Return whether heading and clause are of different places: "fronts fouled, rears ok"."""
    parts = (clause.tokens[: clause.own_from], clause.tokens[clause.own_from :])
    named = [({t.name for t in part if t.kind == kind} for part in parts) for kind in ("side", "position")]
    return any(bool(head and own) and not head & own for head, own in named)


def _topic(match: Match, lexicon: Lexicon) -> frozenset[str]:
    """Return the words that only name what a phrase is about."""
    phrases = (p for n in match.own for p in lexicon.phrases.get(n, ()) if p.id == match.phrase.id and not p.grade)
    return frozenset(word for phrase in phrases for word in phrase.words)


def _of_another_part(clause: Clause, match: Match) -> bool:
    """Return whether an "off" right behind a part that the phrase does not name was taken for another: "quit with carb heat off"."""
    found = clause.tokens
    states = [i for i, t in enumerate(found) if t.name in STATES & match.own]
    return bool(states) and all(i and found[i - 1].kind == "thing" and found[i - 1].name not in match.phrase.words for i in states)


def _part_only_implied(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether a phrase is of a part that was not said, in a clause that names another: "block cracked at tower 2" is no cylinder."""
    named = {t.name for t in clause.of("thing")} - {"engine", "magneto", "switch"}
    said = {t.name for t in clause.tokens if t.text.lower() not in NUMBERED}
    implied = {w for w in match.phrase.words if lexicon.kind(w) in ("thing", "cylinder") and w not in match.own & said}
    return bool(named and implied) and not named & match.phrase.words


def _only_hours(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether a clause says no more of a phrase than hours that went by: "3 hrs later same thing"."""
    return match.own <= lexicon.conditions and not clause.head


def _of_an_instrument(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether all a phrase tells stands behind an instrument that it does not name: "EGT goes cold" says no "cylinder cold"."""
    found = clause.tokens
    gauges = [i for i, t in enumerate(found) if t.name in INSTRUMENTS]
    if not gauges or match.phrase.words & INSTRUMENTS:
        return False
    mine = [i for i, t in enumerate(found) if t.name in match.own and telling(t.name, lexicon)]
    return bool(mine) and all(any(g < i and not _parted(found[g:i]) for g in gauges) for i in mine)


def _parted(between: tuple[Token, ...]) -> bool:
    return any(t.kind == "thing" and t.name not in INSTRUMENTS for t in between)


def _only_when(clause: Clause, match: Match) -> bool:
    """Return whether an answer on history is no more than when something was fine: "fine on dry days"."""
    mine = [i for i, t in enumerate(clause.tokens) if t.name in match.own]
    fine = [i for i, t in enumerate(clause.tokens) if t.kind == "fine" and t.name not in match.own]
    return any(at < mine[0] and all(t.kind == "filler" for t in clause.tokens[at + 1 : mine[0]]) for at in fine if mine)


def _scattered(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether so much else stands between the words of a phrase that they may be said of different things."""
    found = clause.tokens[clause.head :]
    mine = [i for i, t in enumerate(found) if t.name in match.own and telling(t.name, lexicon)]
    if len(mine) < 2:
        return False
    between = found[mine[0] + 1 : mine[-1]]
    return sum(t.kind in ("word", "thing") and t.name not in match.phrase.words for t in between) > MOST_BETWEEN


def not_reaches(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether the "not" of a phrase is said of its other words: "no snap till the prop is pulled" does not say "not pulled"."""
    if "not" not in match.own:
        return True
    mine = [i for i, t in enumerate(clause.tokens) if t.name in match.own and t.kind not in ("not", "thing", "filler")]
    nots = [i for i, t in enumerate(clause.tokens) if t.kind == "not"]
    return not mine or any(governs(clause, at, i, match.phrase.words) for at in nots for i in mine)


def governs(clause: Clause, at: int, word: int, phrase: frozenset[str]) -> bool:
    """Return whether the "not" at one place is said of the word of a phrase at another."""
    low, high = sorted((at, word))
    if any(t.text.lower() in SUBORDINATE for t in clause.tokens[low:high]):
        return False
    if sum(t.kind == "word" and t.name not in phrase for t in clause.tokens[at + 1 : word]) > BETWEEN:
        return False  # "no log entry for the refit"
    if at < clause.own_from <= word and any(t.kind in OF_ITS_OWN for t in clause.tokens[at + 1 : clause.own_from]):
        return False  # "won't idle, quits", "no left mag, engine dies": it has its own words
    if at < word or not (word < clause.own_from <= at):
        return True
    return not any(t.kind == "word" for t in clause.tokens[at + 1 :])  # a "not" with words behind it is said of those


def earlier(clause: Clause) -> bool:
    """Return whether a clause is of another day: "ran up fine yesterday", "ok last flight"."""
    texts = [t.text.lower() for t in clause.tokens]
    return any(text in BEFORE or (text in ("last", "previous") and i + 1 < len(texts)) for i, text in enumerate(texts))


def half_read(clause: Clause, used: frozenset[str]) -> bool:
    """Return whether a clause has words that nothing was read from, apart from those that only say how much or how often."""
    return any(t.kind == "word" and t.name not in used and not _light(t) for t in clause.tokens[clause.head :])


def _light(token: Token) -> bool:
    return token.text.lower().endswith("ly") or token.text.lower() in LIGHT


def in_doubt(
    clause: Clause, match: Match, used: frozenset[str], last: Sequence[Finding], lexicon: Lexicon, entries: Mapping[str, Entry]
) -> bool:
    """Return whether the words of a phrase may be of something else, so that it is asked about; `used`: all names that were read."""
    loose = _scattered(clause, match, lexicon) or _of_another(clause, match, lexicon) or _of_unknown(clause, match, used)
    told = isinstance(entries[match.phrase.id], History) and not match.own & lexicon.conditions  # hours are counted
    loose = loose or (told and _little_read(clause, match, used))
    return loose or _against_a_side(clause, match) or _it_stops(clause, match, last, entries) or _is_gone(clause, match, entries)


def _against_a_side(clause: Clause, match: Match) -> bool:
    """Return whether two magnetos are compared: "right drops more than left" says nothing of the left one."""
    found = [t for t in clause.tokens if t.kind != "filler"]
    return any(t.kind in ("more", "above") and found[i + 1].kind == "side" for i, t in enumerate(found[:-1]))


def _little_read(clause: Clause, match: Match, used: frozenset[str]) -> bool:
    """Return whether one word was read of a clause that says more ("gear 2 teeth off"); behind a colon it is the value asked for."""
    own = [t for t in clause.tokens if t.kind == "word" and t.name in match.own]
    titled = clause.head and not clause.own_from
    return len({t.name for t in own}) < 2 and not titled and half_read(clause, used)


def _is_gone(clause: Clause, match: Match, entries: Mapping[str, Entry]) -> bool:
    """Return whether what is called wrong is said to be gone: "replaced the lead, miss is gone"."""
    entry = entries[match.phrase.id]
    gone = [t for t in clause.of("gone") if t.name not in match.own]
    return bool(gone) and isinstance(entry, Symptom) and entry.kind != "course" and match.phrase.grade != entry.names[0]


def _of_unknown(clause: Clause, match: Match, used: frozenset[str]) -> bool:
    """Return whether the only word of a phrase has another subject, not read: "transponder intermittent" is no trouble of the engine."""
    if len(match.phrase.words) > 1 or clause.spot or "engine" in clause.names:
        return False
    own = clause.tokens[clause.head :]
    before = list(takewhile(lambda t: t.name not in match.own, own))
    return len(before) < len(own) and any(t.kind == "word" and t.name not in used and not _light(t) for t in before)


def _of_another(clause: Clause, match: Match, lexicon: Lexicon) -> bool:
    """Return whether the only word of a phrase without a part is said beside one: "throttle opened quick" is hardly "came suddenly"."""
    tells = [n for n in match.own if telling(n, lexicon)]
    if len(tells) != 1 or any(lexicon.kind(n) == "thing" for n in match.phrase.words):
        return False
    parts: set[str] = set()
    said = False
    for token in clause.tokens[clause.head :]:
        if token.text.lower() in SUBORDINATE:  # "quits when the throttle is pulled": the throttle is of another verb
            if said:
                break
            parts = set()
        said |= token.name == tells[0]
        parts |= {token.name} if token.kind == "thing" else set()
    return bool(said and parts - {"engine", "magneto", "switch"})


def numbered(clause: Clause, cylinders: int) -> bool:
    """Return whether a number of a clause may be a cylinder's and was not read as one: then what it says is hardly of another place."""
    found = clause.tokens
    bare = [
        i for i, t in enumerate(found) if t.kind == "number" and t.text.isdigit() and not t.unit and not (i and found[i - 1].kind == "all")
    ]
    return any(1 <= (found[i].number or 0) <= cylinders for i in bare)


def _it_stops(clause: Clause, match: Match, last: Sequence[Finding], entries: Mapping[str, Entry]) -> bool:
    """Return whether "it stops", after something was called wrong, may be said of that and not of the engine."""
    if match.own != {"quit"} or "engine" in clause.names or not any(t.text.lower() == "it" for t in clause.tokens):
        return False
    return any(isinstance(e := entries[f.id], Symptom) and f.grade != e.names[0] and f.id != match.phrase.id for f in last)


def denied(clause: Clause, match: Match, before: bool) -> bool:
    """Return whether a "not" that the phrase does not hold itself stands before it, or at the clause's end.

    `before`: the clause before was denied, which an "or" takes up.
    """
    if "not" in match.phrase.words:
        return False
    nots = [i for i, t in enumerate(clause.tokens) if t.kind == "not"]
    if not nots:
        return before and any(t.text.lower() in ("or", "nor") for t in clause.tokens)
    mine = [i for i, t in enumerate(clause.tokens) if t.name in match.own]
    mine = [i for i in mine if clause.tokens[i].kind not in ("thing", "side")] or mine  # "no left mag, engine dies": the part is not denied
    content = [i for i, t in enumerate(clause.tokens) if not quiet(t)]
    behind = [i for i in mine if nots[0] < i]
    if _but_for(clause, mine):
        return False
    return not mine or any(governs(clause, nots[0], i, match.phrase.words) for i in behind) or nots[-1] > max(content, default=-1)


def _but_for(clause: Clause, mine: Sequence[int]) -> bool:
    """Return whether an exception stands among the words of a phrase: "won't fire unless you let go" says that it then fires."""
    excepted = [i for i, t in enumerate(clause.tokens) if t.text.lower() in EXCEPT]
    return any(mine[0] < i < mine[-1] for i in excepted) if mine else False


def other_way(match: Match, last: Sequence[Finding], entries: Mapping[str, Entry]) -> bool:
    """Return whether it starts well, said right after it started badly under a condition: then not under that one."""
    entry = entries[match.phrase.id]
    if isinstance(entry, History) or entry.default != STARTS or match.phrase.grade != entry.names[0]:
        return False
    before = [(f, entries[f.id]) for f in last if f.regimes]
    return any(isinstance(e, Symptom) and e.default == STARTS and f.grade != e.names[0] for f, e in before)


def quiet(token: Token) -> bool:
    """Return whether a word need not be understood by itself."""
    return token.kind in QUIET
