"""What looks tell of links: which levels set which bits and break which bounds, look by look."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.told import NONE

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Heard(NamedTuple):
    """What one level of a link does in one look: its bits by level, the highest level allowed, and the finding if a question caps it."""

    look: int
    masks: Sequence[int]
    bound: int
    capped: str
    times: Array | None = None  # by question: so many looks alike, told as one

    def changes(self, caps: Mapping[str, Array]) -> Iterator[Array]:
        """Yield by question whether it changes what is heard."""
        if self.capped:
            yield caps[self.capped] < min(self.bound, NONE)
        if self.times is not None:
            yield self.times != self.times[0]


@dataclass(frozen=True)
class Links:
    """Links that act alike in one life: their effects (rising), the chance of each level, and the looks they are heard in."""

    effects: Array
    levels: Array
    heard: tuple[Heard, ...]
    anew: bool = False  # levels are drawn anew in each look

    @property
    def lasting(self) -> bool:
        """Return whether levels drawn once are heard in several looks."""
        return not self.anew and (len(self.heard) > 1 or self.heard[0].times is not None)

    @cached_property
    def asked_only(self) -> bool:
        """Return whether they are heard in one look, and there by nothing but questions."""
        return len(self.heard) == 1 and not any(self.heard[0].masks) and self.heard[0].bound >= NONE and self.heard[0].times is None

    @cached_property
    def silent(self) -> bool:
        """Return whether they set no bit, and each look they are heard in is one look."""
        return not self.anew and all(heard.times is None and not any(heard.masks) for heard in self.heard)

    @cached_property
    def reach(self) -> int:
        """Return every bit they can set."""
        reach = 0
        for level in range(self.levels.shape[1]):
            if self.levels[:, level].any():
                for heard in self.heard:
                    reach |= heard.masks[level] if level <= heard.bound else 0
        return reach

    @cached_property
    def _first(self) -> Array:
        import numpy as np

        return np.zeros(1, dtype=int)

    def find(self, effects: Array) -> tuple[Array, Array]:
        """Return which of some effects have such a link, and the chances of its levels there."""
        import numpy as np

        if len(effects) == 1:  # wide sources come one by one
            at = int(self.effects.searchsorted(effects[0]))
            having = self._first[: int(at < len(self.effects) and self.effects[at] == effects[0])]
            return having, self.levels[at : at + len(having)]
        place = np.minimum(np.searchsorted(self.effects, effects), len(self.effects) - 1)
        having = np.flatnonzero(self.effects[place] == effects)
        return having, self.levels[place[having]]


class Parts(NamedTuple):
    """Links that set bits, links that set none, and the looks in which levels of the latter are heard again."""

    loud: list[Links]
    silent: list[Links]
    shared: list[int]


def parted(links: Sequence[Links]) -> Parts:
    """Return links by whether they set bits; where a sum over levels is shorter than one over looks, all heard again count as loud."""
    import numpy as np

    again = [one for one in links if one.silent and one.lasting]
    shared = sorted({heard.look for one in again for heard in one.heard})
    most = int(np.bincount(np.concatenate([one.effects for one in again])).max(initial=0)) if again else 0
    if len(shared) > most:
        again, shared = [], []
    loud = [one for one in links if not one.silent or (one.lasting and not shared)]
    return Parts(loud, [one for one in links if one.silent and (shared or not one.lasting)], shared)
