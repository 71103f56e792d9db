"""Every link of a model in arrays, made once for each model."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from diagnose.belief.model import Model, level_somehow

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

_made: WeakKeyDictionary[Model, Flat] = WeakKeyDictionary()


def flat_of(model: Model) -> Flat:
    """Return the links of a model in arrays, made once for each model."""
    if model not in _made:
        _made[model] = Flat(model)
    return _made[model]


def keep_flat(model: Model, made: Flat) -> None:
    """Take arrays made before as those of a model."""
    _made[model] = made


@dataclass(frozen=True)
class Fed:
    """What feeds a finding: effects (rising), the chance that each adds just level k, and that it adds no more."""

    effects: Array
    levels: Array
    kept: Array


@dataclass(frozen=True)
class Way:
    """What shows a finding somehow: causes (rising), how often the way is open to each, and the levels it then adds."""

    causes: Array
    opened: Array
    levels: Array


class Flat:
    """The effects of a model, numbered cause by cause and there by step.

    `reach`: for each cause the chance that it reaches just step k. `somehow`: how often it shows somehow at all, the widest way.
    """

    def __init__(self, model: Model) -> None:
        import numpy as np

        strengths: list[float] = []
        owners: list[int] = []
        steps: list[int] = []
        links: dict[str, dict[int, tuple[float, ...]]] = {}
        for number, cause in enumerate(model.causes):
            for effect in sorted(cause.effects, key=lambda e: e.step):
                for link in effect.links:
                    by = links.setdefault(link.finding, {})
                    by[len(strengths)] = _highest(by.get(len(strengths)), link.levels)
                strengths.append(effect.strength)
                owners.append(number)
                steps.append(effect.step)
        self.numbers = {cause.id: number for number, cause in enumerate(model.causes)}
        self.strengths, self.owners, self.steps = np.array(strengths), np.array(owners, dtype=int), np.array(steps, dtype=int)
        self.priors = np.array([float(cause.prior) for cause in model.causes])
        self.reach = _padded([tuple(cause.reach) for cause in model.causes], max(steps, default=0) + 1)
        self.fed = {finding: _fed(by) for finding, by in links.items()}
        self.somehow = np.array([max(c.somehow.open.values(), default=0.0) if c.somehow else 0.0 for c in model.causes])
        self.ways = _ways(model)

    def feeding(self, findings: Iterable[str]) -> Array:
        """Return cause by cause whether it is linked to any of some findings."""
        import numpy as np

        found = np.zeros(len(self.priors), dtype=bool)
        for fed in (self.fed[f] for f in findings if f in self.fed):
            found[self.owners[fed.effects]] = True
        return found


def _highest(a: tuple[float, ...] | None, b: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distribution of the higher level of two links of one effect to one finding."""
    if a is None:
        return b
    found = [0.0] * max(len(a), len(b))
    for j, p in enumerate(a):
        for k, q in enumerate(b):
            found[max(j, k)] += p * q
    return tuple(found)


def _fed(by: Mapping[int, tuple[float, ...]]) -> Fed:
    import numpy as np

    levels = _padded(list(by.values()))
    return Fed(np.array(list(by)), levels, levels.cumsum(axis=1))


def _ways(model: Model) -> dict[str, Way]:
    """Return by finding what shows it somehow."""
    import numpy as np

    found: dict[str, tuple[list[int], list[float], list[tuple[float, ...]]]] = {}
    known: dict[tuple[str, float], tuple[float, ...]] = {}
    for number, cause in enumerate(model.causes):
        if cause.somehow is None:
            continue
        closed = model.written(cause) | cause.never
        for finding, opened in cause.somehow.open.items():
            if finding not in closed and opened > 0:
                causes, opens, levels = found.setdefault(finding, ([], [], []))
                causes.append(number)
                opens.append(opened)
                key = finding, cause.somehow.shows
                if key not in known:
                    known[key] = level_somehow(cause.somehow.shows, model.leaks[finding])
                levels.append(known[key])
    return {f: Way(np.array(causes), np.array(opens), _padded(levels)) for f, (causes, opens, levels) in found.items()}


def _padded(rows: list[tuple[float, ...]], least: int = 1) -> Array:
    import numpy as np

    longest = max(least, *(len(row) for row in rows), 0)
    return np.array([(*row, *(0.0,) * (longest - len(row))) for row in rows], dtype=float).reshape(len(rows), longest)
