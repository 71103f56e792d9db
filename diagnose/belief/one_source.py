"""One independent source - a cause or a leak - as its effects: what it can meet, and how a table changes by it.

A table has one row per set of clauses, one column per question. A source that meets few clauses is best joined as
the weights of the sets it meets (`present`); one that meets many is applied effect by effect and link by link, which
costs 2^clauses a link where the sets alone would be as many as that. Weights are floats where every question
agrees, else one number per question.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

Mass = dict[int, Any]  # clause mask -> weight (float, or one per row)


@dataclass(frozen=True)
class Draw:
    """One effect: where it occurs (`often`), every one of its links meets one of that link's masks, independently."""

    often: float
    links: tuple[Mass, ...]

    @property
    def mass(self) -> Mass:
        """Return the weights of the sets it meets."""
        found: Mass = {0: self.often}
        for link in self.links:
            found = join(found, link)
        if self.often != 1.0:
            found[0] = found.get(0, 0.0) + (1.0 - self.often)
        return found


@dataclass(frozen=True)
class Source:
    """One cause (generation) or leak: weight `absent`, or `prior` with its draws; leaks have no cause and are never absent."""

    cause: str
    first: int
    last: int
    absent: Any
    prior: Any
    draws: tuple[Draw, ...]

    @cached_property
    def present(self) -> Mass:
        """Return the weights of the sets it meets where it is present."""
        found: Mass = {0: self.prior}
        for draw in self.draws:
            found = join(found, draw.mass)
        return found

    @cached_property
    def reach(self) -> int:
        """Return every clause it can meet, as one mask."""
        reach = 0
        for draw in self.draws:
            for link in draw.links:
                for mask in link:
                    reach |= mask
        return reach

    @property
    def varies(self) -> bool:
        """Return whether questions differ on it."""
        weights = (w for draw in self.draws for link in draw.links for w in link.values())
        return getattr(self.prior, "size", 1) > 1 or any(getattr(w, "size", 1) > 1 for w in weights)

    def innocent(self, blamed: int) -> Source:
        """Return this source without the masks that meet a blamed clause; a leak meets it all the same."""
        if not self.cause or not self.reach & blamed:
            return self
        draws = tuple(Draw(d.often, tuple({m: w for m, w in link.items() if not m & blamed} for link in d.links)) for d in self.draws)
        return Source(self.cause, self.first, self.last, self.absent, self.prior, draws)

    def local(self, squeezed: Callable[[int], int]) -> Source:
        """Return this source over some clauses alone: `squeezed` numbers a mask anew among them."""
        draws = tuple(Draw(d.often, tuple({squeezed(m): w for m, w in link.items()} for link in d.links)) for d in self.draws)
        return Source(self.cause, self.first, self.last, self.absent, self.prior, draws)

    def whole(self) -> Mass:
        """Return the weights of absent and present together."""
        total = dict(self.present)
        total[0] = total.get(0, 0.0) + self.absent
        return total

    def forward(self, table: Array) -> Array:
        """Return the table after this source, applied effect by effect."""
        found = table * self.prior
        for draw in self.draws:
            hit = found
            for link in draw.links:
                hit = joined(hit, link)
            found = _mixed(draw.often, hit, found)
        after: Array = found + table * self.absent
        return after

    def backward(self, after: Array, blamed: int) -> tuple[Array, Array | None]:
        """Return what sets before this source still need where it is present: in all, and with a blamed clause met by it."""
        clean, guilty = after * self.prior, None
        for draw in self.draws:
            hit, caught = clean, guilty
            for link in draw.links:
                hit, caught = _needed(hit, caught, link, blamed)
            guilty = _mixed_or_none(draw.often, caught, guilty)
            clean = _mixed(draw.often, hit, clean)
        return (clean, None) if guilty is None else (clean + guilty, guilty)


def join(a: Mass, b: Mass) -> Mass:
    """Return the weights of the union of two independent masks."""
    if len(b) == 1 and 0 in b:
        w = b[0]
        return {m: v * w for m, v in a.items()}
    total: Mass = {}
    for m, v in a.items():
        for n, w in b.items():
            total[m | n] = total[m | n] + v * w if (m | n) in total else v * w
    return total


def joined(table: Array, mass: Mass) -> Array:
    """Return the table after one independent draw of a mask."""
    result = _stayed(table, mass)
    for mask, weight in mass.items():
        if mask & (mask - 1):
            result += _lifted(table, mask) * weight
        elif mask:
            old, new = (t.reshape(-1, 2, mask, t.shape[1]) for t in (table, result))
            new[:, 1] += (old[:, 0] + old[:, 1]) * weight
    return result


def needed(table: Array, mass: Mass) -> Array:
    """Return what the sets before one independent draw of a mask still need: the transpose of `joined`."""
    import numpy as np

    result = _stayed(table, mass)
    for mask, weight in mass.items():
        if mask & (mask - 1):
            result += table[np.arange(len(table)) | mask] * weight
        elif mask:
            old, new = (t.reshape(-1, 2, mask, t.shape[1]) for t in (table, result))
            new += old[:, 1:] * weight
    return result


def _stayed(table: Array, mass: Mass) -> Array:
    """Return a new table for the draws that meet nothing, as wide as any weight of the mass."""
    import numpy as np

    result: Array = table * mass.get(0, 0.0)
    # No draw at all is left where a sure link meets a blamed clause and is asked without it.
    columns = max((getattr(w, "size", 1) for w in mass.values()), default=1)
    return np.repeat(result, columns, axis=1) if columns > result.shape[1] else result


def _needed(clean: Array, guilty: Array | None, mass: Mass, blamed: int) -> tuple[Array, Array | None]:
    caught = {m: w for m, w in mass.items() if m & blamed}
    if not caught:
        return needed(clean, mass), None if guilty is None else needed(guilty, mass)
    met = needed(clean, caught)
    if guilty is not None:
        met = met + needed(guilty, mass)
    return needed(clean, {m: w for m, w in mass.items() if not m & blamed}), met


def _mixed(often: float, hit: Array, spared: Array) -> Array:
    return hit if often == 1.0 else hit * often + spared * (1.0 - often)


def _mixed_or_none(often: float, hit: Array | None, spared: Array | None) -> Array | None:
    if hit is None or often == 1.0:
        return hit
    return hit * often if spared is None else _mixed(often, hit, spared)


def _lifted(table: Array, mask: int) -> Array:
    """Return the table after every set has been joined with `mask`."""
    lifted = table.copy()
    for bit in _bits(mask):
        view = lifted.reshape(-1, 2, bit, table.shape[1])
        view[:, 1] += view[:, 0]
        view[:, 0] = 0.0
    return lifted


def _bits(mask: int) -> Iterable[int]:
    bit = 1
    while bit <= mask:
        if mask & bit:
            yield bit
        bit <<= 1
