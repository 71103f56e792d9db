"""Every link of a model in arrays: what bounds do to all effects at once.

Most causes meet no clause: a normal result, or a question "normal here?", only makes each of their effects less
likely. Given that an effect occurs, the chance that it adds nothing above the bounds is a product over its
links, e; the effect then weighs 1 - strength (1 - e) in its cause. That holds for any number of looks, as long as
only the newest one tells anything of the effect: often x shows is the strength per look.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

if TYPE_CHECKING:
    import numpy as np

    from diagnose.belief.model import CauseNode, Model

    Array = np.ndarray[Any, Any]

NONE = 99  # no bound: above every level
_made: WeakKeyDictionary[Model, Flat] = WeakKeyDictionary()


def flat_of(model: Model) -> Flat:
    """Return the links of a model in arrays, made once for each model."""
    if model not in _made:
        _made[model] = Flat(model.causes)
    return _made[model]


class Flat:
    """The effects of a model, numbered through all causes in order, and for each finding the effects that feed it.

    `fed[finding]` is (effects, kept): `kept[i, k]` is the chance that effect i adds no more than level k.
    """

    def __init__(self, causes: Sequence[CauseNode]) -> None:
        import numpy as np

        strengths: list[float] = []
        owners: list[int] = []
        self.first: list[int] = []
        links: dict[str, dict[int, tuple[float, ...]]] = {}
        for number, cause in enumerate(causes):
            self.first.append(len(strengths))
            for effect in cause.effects:
                for link in effect.links:
                    by = links.setdefault(link.finding, {})
                    by[len(strengths)] = _times(by.get(len(strengths)), _summed(link.levels))
                strengths.append(effect.strength)
                owners.append(number)
        self.numbers = {cause.id: number for number, cause in enumerate(causes)}
        self.strengths, self.owners = np.array(strengths), np.array(owners, dtype=int)
        self.priors = np.array([cause.prior for cause in causes])
        self.fed = {f: (np.array(list(by)), _padded(list(by.values()))) for f, by in links.items()}

    def effects_of(self, findings: Iterable[str]) -> set[int]:
        """Return the effects that feed any of some findings."""
        return {int(e) for f in findings if f in self.fed for e in self.fed[f][0]}


def _summed(levels: tuple[float, ...]) -> tuple[float, ...]:
    total, found = 0.0, []
    for level in levels:
        total += level
        found.append(total)
    return tuple(found)


def _times(a: tuple[float, ...] | None, b: tuple[float, ...]) -> tuple[float, ...]:
    """Return what two links of one effect to one finding keep together."""
    return b if a is None else tuple(x * y for x, y in zip(a, b, strict=True))


def _padded(rows: list[tuple[float, ...]]) -> Array:
    import numpy as np

    longest = max(len(row) for row in rows)
    return np.array([(*row, *(1.0,) * (longest - len(row))) for row in rows])


class Kept:
    """What bounds leave of the effects they touch: `table` has a row per touched effect, a column per question.

    `row` gives the row of an effect (-1: untouched); `varies` tells the rows that differ between questions.
    """

    def __init__(self, flat: Flat, bounds: Mapping[str, int], caps: Mapping[str, Array], columns: int) -> None:
        import numpy as np

        self.flat = flat
        told = [f for f in dict.fromkeys((*bounds, *caps)) if f in flat.fed]
        fed = [flat.fed[f][0] for f in told]
        self.effects = np.unique(np.concatenate(fed)) if fed else np.zeros(0, dtype=int)
        self.row = np.full(len(flat.strengths), -1)
        self.row[self.effects] = np.arange(len(self.effects))
        self.table = np.ones((len(self.effects), columns))
        self.varies = np.zeros(len(self.effects), dtype=bool)
        for finding in told:
            effects, kept = flat.fed[finding]
            self._bound(self.row[effects], kept, bounds.get(finding, NONE), caps.get(finding))

    def _bound(self, rows: Array, kept: Array, bound: int, caps: Array | None) -> None:
        import numpy as np

        most = kept.shape[1] - 1
        if caps is None:
            self.table[rows] *= kept[:, min(bound, most)][:, None]
            return
        self.varies[rows] = True
        if bound == NONE:
            columns = np.flatnonzero(caps < NONE)
            self.table[np.ix_(rows, columns)] *= kept[:, np.minimum(caps[columns], most)]
        else:
            self.table[rows] *= kept[:, np.minimum(np.minimum(caps, bound), most)]

    def of(self, effect: int) -> Any:
        """Return what is left of one effect, given that it occurs: a float, or one number per question."""
        row = int(self.row[effect])
        if row < 0:
            return 1.0
        return self.table[row] if self.varies[row] else float(self.table[row, 0])

    def causes(self, apart: set[int]) -> tuple[Array, Array, Array]:
        """Return causes (numbers, rising), the factor of each over all its touched effects but `apart`, and which vary."""
        import numpy as np

        plain = ~np.isin(self.effects, list(apart))
        effects = self.effects[plain]
        if not len(effects):
            return effects, np.ones((0, self.table.shape[1])), plain[:0]
        owners = self.flat.owners[effects]
        starts = np.flatnonzero(np.r_[True, owners[1:] != owners[:-1]])
        weights = self.table[plain]  # 1 - strength (1 - kept), in place: the table can be tens of megabytes
        weights -= 1.0
        weights *= self.flat.strengths[effects][:, None]
        weights += 1.0
        return owners[starts], np.multiply.reduceat(weights, starts, axis=0), np.logical_or.reduceat(self.varies[plain], starts)
