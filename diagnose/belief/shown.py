"""What an effect meets and keeps over the looks it lives through, for many effects and questions at once.

Where an effect occurs, its links draw their levels once and the effect then shows in each look by itself. So the
links heard in several looks are summed over their levels outside, and within each choice the looks multiply:

    mass = (1 - often) d + often sum over levels P(levels) OR-join over looks of [(1 - shows) d + shows (links of that look)]

Links that set no bit are kept apart (`silent`): the looks in which levels of theirs are heard again are summed over outside too,
by whether the effect shows there, and then all of them are one factor, however many they are.

A table has a row per set of bits and a column per (effect, question). Only sums and products of non-negative numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import chain, combinations, product
from math import prod
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.caps import Caps
from diagnose.belief.links import Heard, Links, Parts, parted
from diagnose.belief.silent import Asked, Silent
from diagnose.belief.told import NONE, squeezed

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

Lift = Callable[["Array", int], "Array"]


def lifted(table: Array, mask: int) -> Array:
    """Return a copy of the table with every set joined with `mask`."""
    result = table.copy()
    for view in _by_bit(result, mask):
        view[:, 1] += view[:, 0]
        view[:, 0] = 0.0
    return result


def _by_bit(table: Array, mask: int) -> Iterator[Array]:
    """Yield views of a table with the sets without and with each bit of a mask along the second axis."""
    bit = 1
    while bit <= mask:
        if mask & bit:
            yield table.reshape(-1, 2, bit, table.shape[1])
        bit <<= 1


@dataclass(frozen=True)
class _Found:
    """Links of one kind on the columns at hand."""

    links: Links
    columns: Array
    levels: Array

    @property
    def heard(self) -> tuple[Heard, ...]:
        """Return the looks the links are heard in."""
        return self.links.heard


class Own(NamedTuple):
    """Links heard in one look: the columns that have them, and how likely they set each mask of bits there."""

    columns: Array
    weights: Mapping[int, Array]


class Chance(NamedTuple):
    """One choice of looks in which effects surely show and of others in which they do not.

    `chance` is that of all this, what links that set no bit then leave included; `kept` what they leave where it shows in another look.
    """

    shown: frozenset[int]
    hidden: frozenset[int]
    chance: Array
    kept: Mapping[int, Array]


class Shown:
    """Effects of causes that live through the same looks; `caps[finding][question]` is the highest level a question allows now.

    `silent` and `depth`: what else they are linked to without a bit, down to a depth (`Silent`).
    """

    def __init__(
        self,
        links: Sequence[Links],
        often: Array,
        shows: Array,
        caps: Caps,
        beside: tuple[Silent, list[int]] | None = None,
        depth: float = 0.0,
    ) -> None:
        self.every, self.often, self.shows, self.caps, self.depth = links, often, shows, caps, depth
        self._beside = beside

    @cached_property
    def links(self) -> Sequence[Links]:
        """Return the links that set bits."""
        return self._parts.loud

    @cached_property
    def _parts(self) -> Parts:
        return parted(self.every)

    @cached_property
    def _silent(self) -> tuple[Silent, list[int]]:
        """Return the links that set none, and the looks in which some of them are heard again."""
        return self._beside or (Silent(self._parts.silent, len(self.often), self.caps), self._parts.shared)

    def reach_of(self, effects: Array) -> Array:
        """Return, for every effect, every bit it can set."""
        import numpy as np

        reach = np.zeros(len(effects), dtype=np.int64)
        for links in self.links:
            if links.reach:
                reach[links.find(effects)[0]] |= links.reach
        return reach

    def tables(self, effects: Array, questions: Array, bits: Mapping[int, int]) -> Array:
        """Return what each effect meets, not occurring included, under each question; over `bits` alone, a column per effect."""

        table = self.given(effects, questions, bits) * self.often[effects]
        table[0] += 1.0 - self.often[effects]
        return table

    def given(
        self,
        effects: Array,
        questions: Array,
        bits: Mapping[int, int],
        start: Array | None = None,
        lift: Lift = lifted,
        asked: Asked | None = None,
    ) -> Array:
        """Return the same where each effect occurs; or `start` (a column each) after it, sets joined by `lift`."""
        import numpy as np

        start = nothing_met(len(bits), len(effects)) if start is None else start
        asked = asked or self._silent[0].asked(effects, questions)
        found = [_Found(links, *links.find(effects)) for links in self.links]
        found = [f for f in found if len(f.columns)]
        lasting = [f for f in found if f.links.lasting]
        signature = np.zeros(len(effects), dtype=np.int64)
        for number, one in enumerate(lasting):
            signature[one.columns] |= 1 << number
        kinds = np.unique(signature)
        if len(kinds) == 1:
            return self._alike(found, effects, questions, asked, bits, start, lift)
        table = np.empty(start.shape)
        for kind in kinds:
            chosen = np.flatnonzero(signature == kind)
            mine = _within(found, chosen), effects[chosen], questions[chosen], asked.within(chosen)
            table[:, chosen] = self._alike(*mine, bits, start[:, chosen], lift)
        return table

    def _alike(
        self, found: Sequence[_Found], effects: Array, questions: Array, asked: Asked, bits: Mapping[int, int], start: Array, lift: Lift
    ) -> Array:
        """Return the tables of effects that are heard in several looks through the same kinds of link."""
        import numpy as np

        lasting = [f for f in found if f.links.lasting]
        own: dict[int, list[Own]] = {}
        for one in found:
            for heard in one.heard if not one.links.lasting else ():
                own.setdefault(heard.look, []).append(Own(one.columns, self._weights(one, heard, questions, bits)))
        times = {heard.look: heard.times for one in found for heard in one.heard}
        total = np.zeros(start.shape)
        for chance in self._chances(effects, asked, times):
            for levels in product(*(_classes(f, self.caps) for f in lasting)):
                table = start * chance.chance
                for one, alike in zip(lasting, levels, strict=True):
                    table = table * one.levels[:, alike].sum(axis=1)
                for look in sorted(times.keys() - chance.hidden):
                    met = [(h, alike[0]) for f, alike in zip(lasting, levels, strict=True) for h in f.heard if h.look == look]
                    hits = partial(self._hit, met=met, own=own.get(look, ()), questions=questions, bits=bits, lift=lift)
                    counts = times[look]
                    table = _after(table, hits, chance, look, self.shows[effects], None if counts is None else counts[questions])
                total = total + table
        return total

    def _chances(self, effects: Array, asked: Asked, loud: Collection[int]) -> Iterator[Chance]:
        """Yield the choices of looks in which effects surely show, with what the links that set no bit leave."""
        silent, shared = self._silent
        shows = self.shows[effects]
        left = partial(silent.left_of, effects, asked, depth=self.depth)
        kept = {look: left({look}) for look in silent.looks.difference(shared)}
        aside = prod((shows * kept[look] + (1.0 - shows) for look in kept if look not in loud), start=1.0)
        for shown in chain.from_iterable(combinations(shared, count) for count in range(len(shared) + 1)):
            chance = aside * left(shown) * shows ** len(shown) * (1.0 - shows) ** (len(shared) - len(shown))
            if chance.any():
                yield Chance(frozenset(shown), frozenset(shared).difference(shown), chance, kept)

    def _hit(
        self, table: Array, met: Sequence[tuple[Heard, int]], own: Sequence[Own], questions: Array, bits: Mapping[int, int], lift: Lift
    ) -> Array | None:
        """Return the table after a look in which the effects show, or None where a level breaks a bound."""
        mask = 0
        for heard, level in met:
            if level > heard.bound:
                return None
            mask |= heard.masks[level]
        hit = lift(table, squeezed(mask, bits))
        for heard, level in met:
            if heard.capped:
                hit *= level <= self.caps[heard.capped][questions]
        for columns, weights in own:
            hit = _met(hit, columns, weights, lift)
        return hit

    def met(self, table: Array, links: Links, effects: Array, questions: Array, bits: Mapping[int, int], lift: Lift) -> Array:
        """Return the tables of effects after links that are heard in one look, where they show there."""
        found = _Found(links, *links.find(effects))
        weights = self._weights(found, links.heard[0], questions, bits)
        return _met(table, found.columns, weights, lift) if len(found.columns) else table

    def left(self, asked: Sequence[Links], effects: Array, questions: Array) -> Array | None:
        """Return what questions leave of effects by links that nothing else tells of, where they show; None where all is left."""
        import numpy as np

        factor = None
        for links in asked:
            caps = self.caps[links.heard[0].capped]
            mine = np.flatnonzero(caps[questions] < NONE)
            having, levels = links.find(effects[mine])
            if len(having):
                factor = np.ones(len(effects)) if factor is None else factor
                columns = mine[having]
                factor[columns] *= (levels * (np.arange(levels.shape[1]) <= caps[questions[columns]][:, None])).sum(axis=1)
        return factor

    def _weights(self, one: _Found, heard: Heard, questions: Array, bits: Mapping[int, int]) -> dict[int, Array]:
        """Return how likely the links of one kind set each mask of bits in their one look and break no bound."""
        found: dict[int, Any] = {}
        caps = self.caps[heard.capped][questions[one.columns]] if heard.capped else None
        for level in range(min(one.levels.shape[1], heard.bound + 1)):
            if not one.levels[:, level].any():
                continue
            weight = one.levels[:, level] if caps is None else one.levels[:, level] * (level <= caps)
            mask = squeezed(heard.masks[level], bits)
            found[mask] = found[mask] + weight if mask in found else weight
        return found


def _after(table: Array, hits: Callable[[Array], Array | None], chance: Chance, look: int, shows: Array, times: Array | None) -> Array:
    """Return the table after a look, or after as many looks alike as `times` says."""
    import numpy as np

    if look in chance.shown:
        hit = hits(table)
        return table * 0.0 if hit is None else hit

    def once(before: Array) -> Array:
        hit = hits(before)
        return before * (1.0 - shows) if hit is None else hit * (shows * chance.kept.get(look, 1.0)) + before * (1.0 - shows)

    if times is None:
        return once(table)
    for number in range(times.max(initial=0)):
        table = np.where(times > number, once(table), table)
    return table


def _met(table: Array, columns: Array, weights: Mapping[int, Array], lift: Lift) -> Array:
    """Return a table after one independent draw of a mask in some of its columns."""
    if len(columns) == table.shape[1]:
        return joined(table, weights, lift)
    table = table.copy()
    table[:, columns] = joined(table[:, columns], weights, lift)
    return table


def _within(found: Sequence[_Found], chosen: Array) -> list[_Found]:
    """Return the links on some of the columns alone."""
    import numpy as np

    less = []
    for one in found:
        place = np.minimum(np.searchsorted(chosen, one.columns), len(chosen) - 1)
        kept = np.flatnonzero(chosen[place] == one.columns)
        if len(kept):
            less.append(_Found(one.links, place[kept], one.levels[kept]))
    return less


def _classes(one: _Found, caps: Mapping[str, Array]) -> Iterator[list[int]]:
    """Yield the levels of a link that do the same in every look, together."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for level in range(one.levels.shape[1]):
        if one.levels[:, level].any():
            does = tuple((level <= h.bound, h.masks[level] if level <= h.bound else 0, level if h.capped else 0) for h in one.heard)
            alike.setdefault(does, []).append(level)
    yield from alike.values()


def joined(table: Array, weights: Mapping[int, Array], lift: Lift) -> Array:
    """Return the table after one independent draw of a mask, with a weight per column."""
    result: Array = table * weights.get(0, 0.0)
    for mask, weight in weights.items():
        if mask:
            result += lift(table, mask) * weight
    return result


def nothing_met(bits: int, columns: int) -> Array:
    """Return the table of "nothing met yet"."""
    import numpy as np

    table = np.zeros((1 << bits, columns))
    table[0] = 1.0
    return table


def needing(table: Array, mask: int) -> Array:
    """Return what each set still needs before `mask` is joined to it: the transpose of `lifted`."""
    result = table.copy()
    for view in _by_bit(result, mask):
        view[:, 0] = view[:, 1]
    return result
