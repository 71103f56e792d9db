"""Clauses: the tokens between two stops, and what of them says where, when, how much and whether not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields

from diagnose.places import SIDES
from diagnose.rulebase.speech import WORD_KINDS, Word
from diagnose.words.tokens import Token

QUIET = frozenset((*WORD_KINDS, "stop", "sign", "number", "place")) - {"word", "thing", "regime"}  # they say no finding
SPEED_FROM = 900  # a bare number from here on is an engine speed, below it a drop: estimate
ABOVE, BELOW = 1.15, 0.85  # "above 2000" means a speed somewhat above it: estimate


@dataclass(frozen=True)
class Spot:
    """Where a clause says it is; empty: not said."""

    sides: tuple[str, ...] = ()
    cylinders: tuple[int, ...] = ()
    positions: tuple[str, ...] = ()
    every: bool = False
    some: bool = False
    other: bool = False
    plural: bool = False
    magneto: bool = False
    but: tuple[int, ...] = ()

    def __bool__(self) -> bool:
        """Return whether any place is said."""
        return bool(self.sides or self.cylinders or self.positions or self.other)


@dataclass(frozen=True)
class Clause:
    """One clause; `ends` is the stop that follows it."""

    tokens: tuple[Token, ...]
    ends: str = ""
    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """Return the names of its words, fillers left out."""
        said = [t for i, t in enumerate(self.tokens) if not (t.kind == "fine" and self._usual(i))]
        inside = {w for t in said if t.name.startswith("@") for w in t.text.lower().split() if w != t.regime and w == "start"}
        return frozenset(inside) | frozenset(t.name for t in said if t.kind not in ("filler", "stop", "joint", "sign", "number", "place"))

    def _usual(self, at: int) -> bool:
        """Return whether a "normal" tells the usual number ("normally 2400") and no result."""
        return at + 1 < len(self.tokens) and self.tokens[at + 1].kind == "number"

    def of(self, kind: str) -> tuple[Token, ...]:
        """Return its tokens of one kind."""
        return tuple(t for t in self.tokens if t.kind == kind)

    @property
    def content(self) -> tuple[Token, ...]:
        """Return the tokens that say something by themselves."""
        return tuple(t for t in self.tokens if t.kind not in QUIET and t.kind != "regime")


def joined(parts: Sequence[Clause]) -> Clause:
    """Return clauses as one: the last with its headings before it."""
    last = parts[-1]
    spot = last.spot
    for heading in reversed(parts[:-1]):
        spot = _filled(spot, heading.spot)
    above = next((p.regimes for p in reversed(parts[:-1]) if p.regimes and p.ends in (":", "and")), ())
    regimes = above or last.regimes if last.regimes == ("any",) else last.regimes or above
    return Clause(tuple(t for p in parts for t in p.tokens), last.ends, spot, regimes)


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
            out.append(_clause(now, token.name, words))
            now = []
        elif out and token.kind == "stop" and token.name in ".;":
            out[-1] = _clause(list(out[-1].tokens), token.name, words)
    if now:
        out.append(_clause(now, ".", words))
    return out


def _clause(found: list[Token], ends: str, words: Mapping[str, Word]) -> Clause:
    against = next((i for i, t in enumerate(found) if t.kind in ("more", "above") and i and found[i - 1].kind == "number"), len(found))
    sides = dict.fromkeys(t.name for t in found[:against] if t.kind == "side")  # "100 more than left" is no place
    spot = Spot(
        sides=tuple(s for s in SIDES if s in sides),
        cylinders=tuple(dict.fromkeys(int(t.number or 0) for t in found if t.kind == "place")),
        positions=tuple(dict.fromkeys(t.name for t in found if t.kind == "position")),
        every=any(t.kind == "all" for t in found),
        some=any(t.kind in ("some", "count") for t in found),
        other=any(t.kind == "other" for t in found),
        magneto=any(t.name == "magneto" for t in found),
        plural=any(t.kind in ("thing", "cylinder", "position") and t.text.lower().endswith("s") for t in found),
    )
    said = [t.regime for t in found if t.kind == "regime"]
    past = [
        t.regime for i, t in enumerate(found) if t.kind == "regime" and any(b.text.lower() == "after" for b in found[max(0, i - 2) : i])
    ]
    said = [r for r in said if r not in past] or said  # "at full power after an idle descent": it is over
    return Clause(tuple(found), ends, spot, tuple(dict.fromkeys([*said, *_by_speed(found, words)])))


def _by_speed(found: list[Token], words: Mapping[str, Word]) -> Iterable[str]:
    """Yield the regimes of speeds said with at, above or below: the first whose speed is not below it."""
    ranges = sorted((w.rpm_to.value, w.id) for w in words.values() if w.kind == "regime" and w.rpm_to.value > 1)
    for i, token in enumerate(found):
        if not is_speed(found, i):
            continue
        before = [t for t in found[max(0, i - 2) : i] if t.kind in ("above", "below")]
        factor = {"above": ABOVE, "below": BELOW}[before[-1].kind] if before else 1.0
        speed = (token.number or 0) * factor
        yield next((ident for most, ident in ranges if speed <= most), ranges[-1][1] if ranges else "")


def is_speed(found: list[Token], at: int) -> bool:
    """Return whether a number is the speed something is seen at, not an amount: "at 1700", "above 2000 rpm"."""
    token = found[at]
    if token.kind != "number" or token.unit not in ("", "rpm") or (token.number or 0) < SPEED_FROM or (token.number or 0) > 4000:
        return False
    before = found[max(0, at - 2) : at]
    return any(t.kind in ("above", "below") or t.text.lower() == "at" for t in before)
