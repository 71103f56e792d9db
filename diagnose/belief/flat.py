"""Every link of a model in arrays, made once for each model.

Showing somehow is one more effect of its cause (its first), with a link to every finding left open to it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple
from weakref import WeakKeyDictionary

from diagnose.belief.model import CauseNode, Model, level_somehow

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

_made: WeakKeyDictionary[Model, Flat] = WeakKeyDictionary()


def flat_of(model: Model) -> Flat:
    """Return the links of a model in arrays, made once for each model."""
    if model not in _made:
        _made[model] = Flat(model)
    return _made[model]


class Kind(NamedTuple):
    """Links that act alike: the finding they feed, the hidden ones in the same draw, and whether they show somehow."""

    finding: str
    also: tuple[tuple[str, int], ...] = ()
    somehow: bool = False


@dataclass(frozen=True)
class Fed:
    """The links of one kind: their effects (rising), the chance that each adds just level k, and that it adds no more."""

    effects: Array
    levels: Array
    kept: Array


class Flat:
    """The effects of a model, numbered cause by cause and there by step.

    `first`: the first effect of each cause, with an end. `reach`: for each cause the chance that it reaches just step k.
    `kinds`: finding, also hidden, -> the kinds of link that feed it. `somehow`: the causes that can show somehow, each with
    that effect.
    """

    def __init__(self, model: Model) -> None:
        import numpy as np

        strengths: list[float] = []
        owners: list[int] = []
        steps: list[int] = []
        self.first: list[int] = []
        self.somehow: dict[int, int] = {}
        links: dict[Kind, dict[int, tuple[float, ...]]] = {}
        for number, cause in enumerate(model.causes):
            self.first.append(len(strengths))
            for strength, step, mine in _effects(model, cause):
                if any(kind.somehow for kind, _ in mine):
                    self.somehow[number] = len(strengths)
                for kind, levels in mine:
                    by = links.setdefault(kind, {})
                    by[len(strengths)] = _highest(by.get(len(strengths)), levels)
                strengths.append(strength)
                owners.append(number)
                steps.append(step)
        self.first.append(len(strengths))
        self.numbers = {cause.id: number for number, cause in enumerate(model.causes)}
        self.strengths, self.owners, self.steps = np.array(strengths), np.array(owners, dtype=int), np.array(steps, dtype=int)
        self.priors = np.array([float(cause.prior) for cause in model.causes])
        self.reach = _padded([tuple(cause.reach) for cause in model.causes], max(steps, default=0) + 1)
        self.fed = {kind: _fed(by) for kind, by in links.items()}
        self.kinds: dict[str, list[Kind]] = {}
        for kind in self.fed:
            for finding in (kind.finding, *(hidden for hidden, _ in kind.also)):
                self.kinds.setdefault(finding, []).append(kind)

    def all_kinds(self, findings: Iterable[str]) -> list[Kind]:
        """Return every kind of link that feeds any of some findings, once."""
        return list(dict.fromkeys(kind for f in findings for kind in self.kinds.get(f, ())))


def _effects(model: Model, cause: CauseNode) -> Iterator[tuple[float, int, list[tuple[Kind, tuple[float, ...]]]]]:
    """Yield strength, step and links of every effect of a cause: somehow first, then by step."""
    if cause.somehow is not None and cause.somehow.chance > 0:
        closed = model.written(cause) | cause.never
        shows: Mapping[str, float] = cause.somehow.shows
        yield cause.somehow.chance, 0, [(Kind(f, (), True), level_somehow(q, model.leaks[f])) for f, q in shows.items() if f not in closed]
    for effect in sorted(cause.effects, key=lambda e: e.step):
        yield effect.strength, effect.step, [(Kind(x.finding, x.also), x.levels) for x in effect.links]


def _highest(a: tuple[float, ...] | None, b: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distribution of the higher level of two links of one effect that act alike."""
    if a is None:
        return b
    found = [0.0] * len(b)
    for j, p in enumerate(a):
        for k, q in enumerate(b):
            found[max(j, k)] += p * q
    return tuple(found)


def _fed(by: Mapping[int, tuple[float, ...]]) -> Fed:
    import numpy as np

    levels = _padded(list(by.values()))
    return Fed(np.array(list(by)), levels, levels.cumsum(axis=1))


def _padded(rows: list[tuple[float, ...]], least: int = 1) -> Array:
    import numpy as np

    longest = max(least, *(len(row) for row in rows), 0)
    return np.array([(*row, *(0.0,) * (longest - len(row))) for row in rows], dtype=float).reshape(len(rows), longest)
