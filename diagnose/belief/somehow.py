"""What causes show in ways nobody wrote: one number per cause opens the ways, the widest first.

With the ways told of sorted by how often each is open, o1 >= o2 ..., and B what each then shows:

    mass = (1 - o1) d + (o1 - o2) B1 + (o2 - o3) B1 B2 + ...        (B1 B2: OR-join; d: "meets nothing")

Over several looks the ways that are open show in each look together; the bracket of each depth is then worked out by
itself (`Shown`), since levels drawn once couple the looks.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from diagnose.belief.caps import Caps
from diagnose.belief.links import Links, Parts, parted
from diagnose.belief.shown import Lift, Shown, lifted, nothing_met
from diagnose.belief.silent import Silent

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Ways:
    """Links by which causes (their number stands for an effect's) show somehow: `opened[look heard, cause]`, how often each is open."""

    links: Links
    opened: Array

    def just_at(self, depth: float) -> Links | None:
        """Return what of them is opened at just that depth; heard in one look."""
        chosen = self.opened[0] == depth
        if not chosen.any():
            return None
        return replace(self.links, effects=self.links.effects[chosen], levels=self.links.levels[chosen])

    def down_to(self, depth: float) -> Links | None:
        """Return what of them is open to that depth; where looks differ there is one cause alone."""

        open_now = self.opened >= depth
        if open_now.all() or not open_now.any():
            return self.links if open_now.any() else None
        if (open_now == open_now[:1]).all():
            return replace(self.links, effects=self.links.effects[open_now[0]], levels=self.links.levels[open_now[0]])
        return replace(self.links, heard=tuple(h for h, now in zip(self.links.heard, open_now[:, 0], strict=True) if now))


class Somehow:
    """Showing somehow, for causes that live through the same looks; `shows`: how often what is open shows in one look."""

    def __init__(self, ways: Sequence[Ways], shows: Array, caps: Caps) -> None:
        import numpy as np

        self.ways = ways
        self.shows = shows
        self.caps = caps
        self.depths = sorted({float(o) for w in ways for o in np.unique(w.opened) if o > 0}, reverse=True)
        self.touched = np.zeros(len(shows), dtype=bool)
        self.bits = np.zeros(len(shows), dtype=np.int64)
        for way in ways:
            self.touched[way.links.effects] = True
            self.bits[way.links.effects] |= way.links.reach

    def tables(self, causes: Array, questions: Array, bits: Mapping[int, int], start: Array | None = None, lift: Lift = lifted) -> Array:
        """Return what each cause shows somehow, under each question; over `bits` alone, a column per cause.

        Or `start` (a column each) after it, sets joined by `lift`.
        """
        heard = [heard for way in self.ways for heard in way.links.heard]
        once = len({h.look for h in heard}) == 1 and heard[0].times is None
        start = nothing_met(len(bits), len(causes)) if start is None else start
        return (self._in_one_look if once else self._in_several)(causes, questions, bits, start, lift)

    def _in_one_look(self, causes: Array, questions: Array, bits: Mapping[int, int], start: Array, lift: Lift) -> Array:
        table, total = start, start * (1.0 - self.depths[0])
        shown = Shown((), self.shows, self.shows, self.caps)
        for (depth, less), opened in zip(self._depths, self._opened, strict=True):
            for links in opened:
                if not links.asked_only:
                    table = shown.met(table, links, causes, questions, bits, lift)
            factor = shown.left([links for links in opened if links.asked_only], causes, questions)
            table = table if factor is None else table * factor
            total += table * (depth - less)
        return total

    @cached_property
    def _opened(self) -> list[list[Links]]:
        """Return what is opened at just each depth."""
        return [[some for way in self.ways if (some := way.just_at(depth)) is not None] for depth in self.depths]

    @cached_property
    def _parts(self) -> Parts:
        return parted([way.links for way in self.ways])

    def _whose(self, chosen: Sequence[Links]) -> list[Ways]:
        """Return the ways of some links."""
        known = {id(links) for links in chosen}
        return [way for way in self.ways if id(way.links) in known]

    @cached_property
    def _silent(self) -> tuple[Silent, list[int]]:
        """Return the ways that set no bit, and the looks in which some of them are heard again."""
        ways = self._whose(self._parts.silent)
        return Silent([way.links for way in ways], len(self.shows), self.caps, [way.opened[0] for way in ways]), self._parts.shared

    def _in_several(self, causes: Array, questions: Array, bits: Mapping[int, int], start: Array, lift: Lift) -> Array:
        import numpy as np

        shows, asked = self.shows[causes], self._silent[0].asked(causes, questions)
        total = start * (1.0 - np.minimum(self.depths[0] / shows, 1.0))
        for (depth, less), shown in zip(self._depths, self._open, strict=True):
            share = np.minimum(depth / shows, 1.0) - np.minimum(less / shows, 1.0)
            total += shown.given(causes, questions, bits, start, lift, asked) * share
        return total

    @cached_property
    def _open(self) -> list[Shown]:
        """Return what is open down to each depth."""
        ways = self._whose(self._parts.loud)
        loud = [[some for way in ways if (some := way.down_to(depth)) is not None] for depth in self.depths]
        return [
            Shown(links, self.shows, self.shows, self.caps, self._silent, depth) for links, depth in zip(loud, self.depths, strict=True)
        ]

    @property
    def _depths(self) -> Iterator[tuple[float, float]]:
        """Yield each depth with the next."""
        yield from zip(self.depths, [*self.depths[1:], 0.0], strict=True)

    def asked(self, causes: Array, questions: int) -> Array:
        """Return cause x question: whether the question caps a finding it shows somehow."""
        import numpy as np

        found = np.zeros((len(causes), questions), dtype=bool)
        for way in self.ways:
            for heard in way.links.heard:
                for changed in heard.changes(self.caps):
                    found[np.ix_(way.links.find(causes)[0], np.flatnonzero(changed))] = True
        return found
