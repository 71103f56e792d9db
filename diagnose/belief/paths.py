"""Ways to count looks that tell the same, look by look: what is remembered of them, and which causes need what of it.

To a cause such looks fall into parts (before and after its removal, the looks in which it is quieted), and only how many of each part
were met matters. At a cut after some looks the counts before it and after it are known, and the kind of single looks
that were marked for it. A pattern of parts is placed at the cut where the fewest marks give the count of every part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

MARKS = 2  # for one pattern, at most
STATES = 20_000  # in all, at most: past it bits are as good

Counted = tuple[int, ...]  # looks of each kind
Pattern = tuple[int, ...]  # for each look the number of its part


@dataclass(frozen=True)
class Placed:
    """A pattern at a cut; for each part the whole it is counted from ("before", "after", "all", "") and the marked looks that differ."""

    cut: int
    parts: tuple[tuple[str, frozenset[int]], ...]

    @property
    def marks(self) -> frozenset[int]:
        """Return the looks whose kind must be remembered."""
        return frozenset[int]().union(*(differ for _, differ in self.parts))


def placed(pattern: Pattern) -> Placed | None:
    """Return where a pattern needs the fewest marks; None where more than `MARKS`."""
    if not any(pattern):
        return Placed(len(pattern), (("all", frozenset()),))
    cuts = [cut for cut in range(1, len(pattern) + 1) if cut == len(pattern) or pattern[cut] != pattern[cut - 1]]
    found = [one for cut in cuts if (one := _at(pattern, cut)) is not None and len(one.marks) <= MARKS]
    return min(found, key=lambda one: len(one.marks), default=None)


def _at(pattern: Pattern, cut: int) -> Placed | None:
    looks = range(len(pattern))
    wholes = {"": frozenset[int](), "before": frozenset(looks[:cut]), "after": frozenset(looks[cut:]), "all": frozenset(looks)}
    parts = []
    for part in range(max(pattern) + 1):
        mine = frozenset(look for look in looks if pattern[look] == part)
        seen = [(name, mine ^ whole) for name, whole in wholes.items() if all(look < cut for look in mine ^ whole)]
        if not seen:
            return None
        parts.append(min(seen, key=lambda one: len(one[1])))
    return Placed(cut, tuple(parts))


class State(NamedTuple):
    """What is known at a cut: looks of each kind before and after it, and the kinds of the marked looks."""

    before: Counted
    after: Counted
    marked: tuple[tuple[int, int], ...]

    def of(self, place: Placed) -> tuple[Counted, ...]:
        """Return the counts of every part of a pattern placed at this cut."""
        kinds = dict(self.marked)
        return tuple(self._part(name, [kinds[look] for look in differ]) for name, differ in place.parts)

    def _part(self, whole: str, differ: Sequence[int]) -> Counted:
        """Return a whole less the marked looks; where the part is nothing but marked looks, those."""
        counts = [b * (whole in ("before", "all")) + a * (whole in ("after", "all")) for b, a in zip(self.before, self.after, strict=True)]
        for kind in differ:
            counts[kind] += -1 if whole in ("before", "all") else 1
        return tuple(counts)


class Paths:
    """Every state at every cut, for so many looks, kinds and patterns."""

    def __init__(self, looks: int, kinds: int, patterns: Sequence[Placed]) -> None:
        self.looks, self.kinds = looks, kinds
        self.until: dict[int, int] = {}
        for pattern in patterns:
            for look in pattern.marks:
                self.until[look] = max(self.until.get(look, 0), pattern.cut)
        none = (0,) * kinds
        self.states: list[list[State]] = [[State(none, whole, ()) for whole in compositions(looks, kinds)]]
        self.steps: list[list[tuple[list[int], list[int]]]] = []
        self._asked: dict[Placed, tuple[list[tuple[Counted, ...]], list[int]]] = {}
        for cut in range(looks):
            self._step(cut)

    def _step(self, cut: int) -> None:
        """Add the states of the next cut, and for each kind of look which state leads to which."""
        known: dict[State, int] = {}
        by_kind: list[tuple[list[int], list[int]]] = [([], []) for _ in range(self.kinds)]
        for number, state in enumerate(self.states[cut]):
            for kind in (k for k in range(self.kinds) if state.after[k]):
                marked = (*state.marked, (cut, kind)) if cut in self.until else state.marked
                kept = tuple((look, k) for look, k in marked if self.until[look] > cut)
                then = State(_more(state.before, kind, 1), _more(state.after, kind, -1), kept)
                by_kind[kind][0].append(number)
                by_kind[kind][1].append(known.setdefault(then, len(known)))
        self.states.append(list(known))
        self.steps.append(by_kind)

    def questions(self, place: Placed) -> tuple[list[tuple[Counted, ...]], list[int]]:
        """Return the different counts a pattern is asked for, and which of them each state of its cut asks."""
        if place not in self._asked:
            known: dict[tuple[Counted, ...], int] = {}
            asked = [known.setdefault(state.of(place), len(known)) for state in self.states[place.cut]]
            self._asked[place] = list(known), asked
        return self._asked[place]


@lru_cache(maxsize=8)
def paths_of(looks: int, kinds: int, patterns: tuple[Placed, ...]) -> Paths:
    """Return the paths for so many looks, kinds and patterns; a case asks for the same ones again and again."""
    return Paths(looks, kinds, patterns)


def compositions(total: int, parts: int) -> Iterator[Counted]:
    """Yield every way to write a number as a sum of so many, in order."""
    if parts == 1:
        yield (total,)
        return
    for first in range(total + 1):
        for rest in compositions(total - first, parts - 1):
            yield (first, *rest)


def _more(counts: Counted, kind: int, by: int) -> Counted:
    return tuple(c + by if k == kind else c for k, c in enumerate(counts))
