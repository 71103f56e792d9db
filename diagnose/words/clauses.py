"""Clauses: the tokens between two stops, and what of them says where, when, how much and whether not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import pairwise

from diagnose.places import SIDES
from diagnose.rulebase.speech import WORD_KINDS, Word
from diagnose.words.lexicon import stem
from diagnose.words.tokens import Token

QUIET = frozenset((*WORD_KINDS, "stop", "sign", "number", "place")) - {"word", "thing", "regime", "gone", "act"}  # they say no finding
SPEED_FROM = 900  # a bare number from here on is an engine speed, below it a drop: estimate
SEVERAL = ("electrode", "thread", "points")  # one plug or magneto has several of them
LIKE = ("as", "than", "like", "with")  # "as the others" compares and is no place
OTHERWISE = "otherwise"  # "otherwise fine": of the rest, whatever that is
NEITHER = "neither"
EACH = ("each", "either", NEITHER)  # of two magnetos, one by one; "both" can also mean the switch
ATTRIBUTES = ("wet", "hot", "cold")  # what a part can be as well as the whole engine
WHENEVER = ("when", "if", "while", "in", "once", "after")
LATER = ("once", "after", "afterwards", "later", "since")
OVER = ("idle", "runup", "cruise_lean", "cold", "start", "shutdown")  # after these is another time; after takeoff is the climb
HIGH, ABOVE_HIGH = 15000, 8000  # feet at which, and feet above which the air is thin enough to count as high: estimate
ABOVE, BELOW = 1.15, 0.85  # "above 2000" means a speed somewhat above it: estimate


@dataclass(frozen=True)
class Spot:
    """Where a clause says it is; empty: not said.

    `each`: every magneto by itself; `pairs`: cylinder and position of each plug, where not every position of every cylinder is meant.
    """

    sides: tuple[str, ...] = ()
    cylinders: tuple[int, ...] = ()
    positions: tuple[str, ...] = ()
    every: bool = False
    some: bool = False
    other: bool = False
    plural: bool = False
    magneto: bool = False
    but: tuple[int, ...] = ()
    each: bool = False
    pairs: tuple[tuple[int, str], ...] = ()

    def __bool__(self) -> bool:
        """Return whether any place is said."""
        return bool(self.sides or self.cylinders or self.positions or self.other)


@dataclass(frozen=True)
class Clause:
    """One clause; `ends` is the stop that follows it, `head` the tokens of its headings, `own_from` the same with no colon."""

    tokens: tuple[Token, ...]
    ends: str = ""
    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()
    own_from: int = 0
    head: int = 0

    @property
    def names(self) -> frozenset[str]:
        """Return the names of its words, fillers left out."""
        return names_in(self.tokens)

    def of(self, kind: str) -> tuple[Token, ...]:
        """Return its tokens of one kind."""
        return tuple(t for t in self.tokens if t.kind == kind)

    @property
    def doubted(self) -> bool:
        """Return whether it was said with a "maybe", or of another time; "80 h earlier" is a date."""
        found = self.tokens
        return any(t.kind == "maybe" and not (i and found[i - 1].kind == "number") for i, t in enumerate(found))

    @property
    def moves_on(self) -> bool:
        """Return whether it is of another time than what was said before it: "once it is running no complaints"."""
        return bool(self.tokens) and self.tokens[self.head].text.lower() in LATER

    @property
    def content(self) -> tuple[Token, ...]:
        """Return the tokens that say something by themselves."""
        return tuple(t for t in self.tokens if t.kind not in QUIET and t.kind != "regime")


def names_in(found: Sequence[Token]) -> frozenset[str]:
    """Return the names of some tokens, fillers left out."""
    said = [t for i, t in enumerate(found) if not (t.kind == "fine" and _usual(found, i)) and not _only_where(found, i)]
    inside = {stem(w) for t in said if t.name.startswith("@") and "after" not in t.text.lower() for w in t.text.lower().split()}
    inside = inside & {"start"} - {t.regime for t in said}  # a "cold start" is a start, "after start" is none
    return frozenset(inside) | frozenset(t.name for t in said if t.kind not in ("filler", "stop", "joint", "sign", "number", "place"))


def _only_where(found: Sequence[Token], at: int) -> bool:
    """Return whether a magneto is named only as the place of another part: "P-lead loose on the right mag"."""
    if found[at].name != "magneto" or not any(t.kind == "thing" and t.name not in ("magneto", "engine") for t in found[:at]):
        return False
    before = found[max(0, at - 3) : at]
    return any(t.kind == "side" for t in before) and any(t.text.lower() in ("on", "at", "of", "in", "from", "to") for t in before)


def _usual(found: Sequence[Token], at: int) -> bool:
    """Return whether a "normal" tells the usual number ("normally 2400") and no result."""
    return at + 1 < len(found) and found[at + 1].kind == "number"


def joined(parts: Sequence[Clause], titled: bool = False) -> Clause:
    """Return clauses as one: the last with its headings before it; `titled`: a colon parts them, be it behind another heading."""
    last = parts[-1]
    spot = last.spot
    for heading in reversed(parts[:-1]):
        others = spot.other and not spot.cylinders and heading.spot.cylinders  # "3 ..., others ...": all but it
        spot = _filled(spot, replace(heading.spot, cylinders=(), but=heading.spot.cylinders) if others else heading.spot)
    above = next((p.regimes for p in reversed(parts[:-1]) if p.regimes and p.ends in (":", "and")), ())
    regimes = above or last.regimes if last.regimes == ("any",) else last.regimes or above
    found = tuple(t for p in parts for t in p.tokens)
    titled = titled or (len(parts) > 1 and parts[-2].ends == ":")
    head = len(found) - len(last.tokens)
    return Clause(found, last.ends, spot, regimes, 0 if titled else head, head)


def _filled(spot: Spot, above: Spot) -> Spot:
    return Spot(*(getattr(spot, f.name) or getattr(above, f.name) for f in fields(Spot)))


def clauses(found: Iterable[Token], words: Mapping[str, Word]) -> list[Clause]:
    """Return the clauses of a line, in order."""
    out: list[Clause] = []
    now: list[Token] = []
    for token in found:
        if token.kind not in ("stop", "joint"):
            now.append(token)
            continue
        if now:
            out += _parts(now, token.name, words)
        elif out and token.kind == "stop" and token.name in ".;":
            out[-1] = _clause(list(out[-1].tokens), token.name, words)
        now = [replace(token, kind="word", name=OTHERWISE)] if token.text.lower() == OTHERWISE else []
    if now:
        out += _parts(now, ".", words)
    return out


def _parts(found: list[Token], ends: str, words: Mapping[str, Word]) -> list[Clause]:
    """Return the clauses of what stands between two stops: one, or one for each magneto ("drop left 50 right 180")."""
    cuts = _cuts(found)
    pieces = [found[a:b] for a, b in zip([0, *cuts], [*cuts, len(found)], strict=True)]
    return [_clause(piece, ends if i == len(pieces) - 1 else ",", words) for i, piece in enumerate(pieces)]


def _cuts(found: list[Token]) -> list[int]:
    """Return where a new magneto's share begins: its name stands before what is said of it, or, at the end, behind it."""
    if any(t.kind in ("more", "above", "below") or t.text in ("/", "&", "+") for t in found):
        return []
    sides = [i for i, t in enumerate(found) if t.kind == "side" or (t.kind == "all" and _of_magnetos(found, i))]
    if len(sides) < 2 or len({found[i].name for i in sides}) < 2:
        return []
    told = [i for i, t in enumerate(found) if (t.kind in ("word", "fine", "bad") and t.name not in ("magneto",)) or t.kind == "number"]
    between = [any(a < t < b for t in told) for a, b in pairwise(sides)]
    if not all(between):
        return []
    if any(t > sides[-1] for t in told):
        return [_with_its_words(found, i) for i in sides[1:]]
    if any(t < sides[0] for t in told):
        return [_past_its_words(found, i) for i in sides[:-1]]
    return [max(t for t in told if t < b) for b in sides[1:]]  # "R mag 175 drop | smooth both mags"


def _of_magnetos(found: list[Token], at: int) -> bool:
    return any(t.name == "magneto" for t in found[at + 1 : at + 3])


def _with_its_words(found: list[Token], at: int) -> int:
    while at and found[at - 1].kind in ("filler", "not"):
        at -= 1
    return at


def _past_its_words(found: list[Token], at: int) -> int:
    at += 1
    while at < len(found) and found[at].kind in ("thing", "filler"):
        at += 1
    return at


def _pairs(found: Sequence[Token]) -> tuple[tuple[int, str], ...]:
    """Return cylinder and position of each plug of a list in which they differ ("1T 2T 3B"), else nothing."""
    named = [t for t in found if t.kind in ("place", "position")]
    if len({t.name for t in named if t.kind == "position"}) < 2 or not any(t.kind == "place" for t in named):
        return ()
    runs: list[list[Token]] = []
    for token in named:
        if not runs or runs[-1][-1].kind != token.kind:
            runs.append([])
        runs[-1].append(token)
    if len(runs) == 2:  # "3 and 4, top and bottom": each of each
        return ()
    two = [runs[i : i + 2] for i in range(0, len(runs) - 1, 2)]
    return tuple((int(p.number or 0), q.name) for a, b in two for x in a for y in b for p, q in [(x, y) if x.kind == "place" else (y, x)])


def _clause(found: list[Token], ends: str, words: Mapping[str, Word]) -> Clause:
    against = next((i for i, t in enumerate(found) if t.kind in ("more", "above") and i and found[i - 1].kind == "number"), len(found))
    sides = dict.fromkeys(t.name for t in found[:against] if t.kind == "side")  # "100 more than left" is no place
    spot = Spot(
        sides=tuple(s for s in SIDES if s in sides),
        cylinders=tuple(dict.fromkeys(int(t.number or 0) for t in found if t.kind == "place")),
        positions=tuple(dict.fromkeys(t.name for t in found if t.kind == "position")),
        every=any(t.kind == "all" or t.text.lower() == NEITHER for t in found),
        each=any(t.text.lower() in EACH for t in found),
        pairs=_pairs(found),
        some=any(t.kind in ("some", "count") for t in found),
        other=any(t.kind == "other" and not any(b.text.lower() in LIKE for b in found[max(0, i - 2) : i]) for i, t in enumerate(found)),
        magneto=any(t.name == "magneto" for t in found),
        plural=any(t.kind in ("thing", "cylinder", "position") and t.name not in SEVERAL and t.text.lower().endswith("s") for t in found),
    )
    said = _said_regimes(found)
    return Clause(tuple(found), ends, spot, tuple(dict.fromkeys([*said, *_by_speed(found, words)])))


def _said_regimes(found: Sequence[Token]) -> list[str]:
    """Return the conditions said; "after a long taxi" is over, and no condition of what is told."""
    said = [t for t in found if t.kind == "regime"]
    past = [t for i, t in enumerate(found) if t.kind == "regime" and any(_last_word(b) == "after" for b in found[max(0, i - 2) : i])]
    now = [t.regime for t in said if t not in past]
    verbs = [t.regime for t in said if t.text.lower() in ("starts", "started")]  # "roughness starts on takeoff"
    now = [r for r in now if r not in verbs] or now
    begun = [t.regime for i, t in enumerate(found) if t.kind == "regime" and _begins(found, i)]
    now = [r for r in now if r not in begun and not (r in ATTRIBUTES and _of_a_part(found, r))]
    return now if set(now) - {"start"} else now + [t.regime for t in past if t.regime not in OVER]


def _of_a_part(found: Sequence[Token], regime: str) -> bool:
    """Return whether a bare "wet" or "hot" is said of a part and is no condition: "plugs wet with fuel", not "rough when wet"."""
    said = [i for i, t in enumerate(found) if t.regime == regime]
    parts = [i for i, t in enumerate(found) if t.kind == "thing" and t.name not in ("engine", "magneto", "starter", "switch")]
    bare = all(len(found[i].text.split()) == 1 and (i == 0 or found[i - 1].text.lower() not in WHENEVER) for i in said)
    return bool(parts) and bare


def _begins(found: Sequence[Token], at: int) -> bool:
    """Return whether a "started" only says that something began: "started shaking", "starts to miss", "starts and runs fine"."""
    if found[at].text.lower() in ("starts", "started") and any(t.name == "ran" for t in found[at + 1 :]):
        return True
    if found[at].text.lower() not in ("start", "starts", "started", "starting"):
        return False
    behind = found[at + 1 : at + 3]
    return any(t.kind == "word" and t.text.lower().endswith(("ing", "ness")) for t in behind[:1]) or (
        len(behind) == 2 and behind[0].text.lower() == "to" and behind[1].kind == "word"
    )


def _last_word(token: Token) -> str:
    return token.text.lower().split()[-1]


def _by_speed(found: list[Token], words: Mapping[str, Word]) -> Iterable[str]:
    """Yield the regimes of heights, and of speeds said with at, above or below: the first whose speed is not below it."""
    ranges = sorted((w.rpm_to.value, w.id) for w in words.values() if w.kind == "regime" and w.rpm_to.value > 1)
    for i, token in enumerate(found):
        if _is_height(found, i):
            yield "altitude"
        if not is_speed(found, i):
            continue
        before = [t for t in found[max(0, i - 2) : i] if t.kind in ("above", "below")]
        factor = {"above": ABOVE, "below": BELOW}[before[-1].kind] if before else 1.0
        speed = (token.number or 0) * factor
        yield next((ident for most, ident in ranges if speed <= most), ranges[-1][1] if ranges else "")


def _is_height(found: list[Token], at: int) -> bool:
    """Return whether a number is a height from which thin air counts: "above 8000 ft", not "below 8000 ft"."""
    token = found[at]
    before = {t.kind for t in found[max(0, at - 2) : at]}
    least = ABOVE_HIGH if "above" in before else HIGH
    return token.kind == "number" and token.unit == "ft" and (token.number or 0) >= least and "below" not in before


def is_speed(found: list[Token], at: int) -> bool:
    """Return whether a number is the speed something is seen at, not an amount: "at 1700", "above 2000 rpm"."""
    token = found[at]
    if token.kind != "number" or token.unit not in ("", "rpm") or (token.number or 0) < SPEED_FROM or (token.number or 0) > 4000:
        return False
    before = found[max(0, at - 2) : at]
    return any(t.kind in ("above", "below") or t.text.lower() == "at" for t in before)
