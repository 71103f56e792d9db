"""The fast exact engine: tables over sets of clauses, swept forward and backward, many questions at once.

Only sums and products of non-negative numbers, so no digits are lost to cancellation. A table has
2^clauses rows and one column per question; sweeping one source through it is the union step of
`reference`. numpy pays from the first ranking on: a hundred questions cost about as much as three.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.belief.model import Belief, Contradiction, Evidence, Model
from diagnose.belief.sources import Builder, Mass, Row, Source

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

MAX_CLAUSES = 14
_MAX_CELLS = 12_000_000  # table cells kept at once: about 100 MB


@dataclass(frozen=True)
class Answers:
    """For each row (question): `likelihood[r]`, and `responsible[cause][r]`, both joint with the evidence."""

    likelihood: Array
    responsible: dict[str, Array]
    present: dict[str, Array]


def believe(model: Model, evidence: Evidence) -> Belief:
    """Return the exact belief.

    Raises `Contradiction` where the evidence cannot occur, `OverflowError` past `MAX_CLAUSES` clauses.
    """
    every = frozenset(cause.id for cause in model.causes)
    answers = ask(model, evidence, [Row(), Row(muted=every)], posteriors=True)
    z = float(answers.likelihood[0])
    return Belief(
        z,
        {cause: float(w[0]) / z for cause, w in answers.present.items()},
        {cause: float(w[0]) / z for cause, w in answers.responsible.items()},
        float(answers.likelihood[1]) / z,
    )


def ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool = True) -> Answers:
    """Return the joint weights of every row; without `posteriors` only the likelihoods."""
    import numpy as np

    clauses = sum(len(look.clauses) for look in evidence.looks)
    if clauses > MAX_CLAUSES:
        raise OverflowError(f"{clauses} positive results at once; {MAX_CLAUSES} is the most")
    step = max(1, _MAX_CELLS // ((1 << clauses) * 130 if posteriors else 1 << clauses))
    parts = [_ask(model, evidence, rows[i : i + step], posteriors) for i in range(0, len(rows), step)]
    if len(parts) == 1:
        return parts[0]
    return Answers(
        np.concatenate([p.likelihood for p in parts]),
        {k: np.concatenate([p.responsible[k] for p in parts]) for k in parts[0].responsible},
        {k: np.concatenate([p.present[k] for p in parts]) for k in parts[0].present},
    )


def _ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool) -> Answers:
    builder = Builder(model, evidence, rows)
    sources = builder.sources()
    sweep = _Sweep(builder.width, len(rows))
    coupled = [s for s in sources if s.masks]
    scale = sweep.scalar([s.whole()[0] for s in sources if not s.masks])
    if not posteriors:
        return Answers(scale * sweep.total([s.whole() for s in coupled]), {}, {})
    before, after = sweep.both([s.whole() for s in coupled])
    z = scale * before[-1][-1]
    if not z[0] > 0.0:
        raise Contradiction("the results cannot occur together in this model")
    answers = Answers(z, {}, {})
    for source in sources:
        if source.cause and not source.masks:
            _add_free(answers, source, z, builder, evidence)
    for index, source in enumerate(coupled):
        if source.cause:
            weights = sweep.pair_weights(before[index], after[index + 1], source.present, scale)
            _add_coupled(answers, source, weights, builder, evidence)
    return answers


def _add_free(answers: Answers, source: Source, z: Array, builder: Builder, evidence: Evidence) -> None:
    if source.last == builder.now:
        answers.present[source.cause] = z * (source.present[0] / (source.present[0] + source.absent))
    if source.first <= evidence.blame <= source.last:
        answers.responsible[source.cause] = z * 0.0


def _add_coupled(answers: Answers, source: Source, weights: dict[int, Array], builder: Builder, evidence: Evidence) -> None:
    if source.last == builder.now:
        answers.present[source.cause] = sum(weights.values(), start=answers.likelihood * 0.0)
    if source.first <= evidence.blame <= source.last:
        guilty = [w for mask, w in weights.items() if mask & builder.blamed]
        answers.responsible[source.cause] = sum(guilty, start=answers.likelihood * 0.0)


class _Sweep:
    """Table steps over masks of `width` clauses (axis 0) for `rows` questions (axis 1)."""

    def __init__(self, width: int, rows: int) -> None:
        import numpy as np

        self.np = np
        self.size = 1 << width
        self.rows = rows
        self.index = np.arange(self.size)

    def scalar(self, factors: list[Any]) -> Array:
        total = self.np.ones(self.rows)
        for factor in factors:
            total *= factor
        return total

    def forward(self, table: Array, mass: Mass) -> Array:
        result = table * mass[0] if 0 in mass else self.np.zeros_like(table)
        for mask, weight in mass.items():
            if mask:
                result += self._lifted(table, mask) * weight
        return result

    def _lifted(self, table: Array, mask: int) -> Array:
        """Return the table after every set has been joined with `mask`."""
        lifted = table.copy()
        bit = 1
        while bit <= mask:
            if mask & bit:
                view = lifted.reshape(-1, 2, bit, self.rows)
                view[:, 1] += view[:, 0]
                view[:, 0] = 0.0
            bit <<= 1
        return lifted

    def backward(self, table: Array, mass: Mass) -> Array:
        result = table * mass[0] if 0 in mass else self.np.zeros_like(table)
        for mask, weight in mass.items():
            if mask:
                result += table[self.index | mask] * weight
        return result

    def start(self) -> Array:
        table = self.np.zeros((self.size, self.rows))
        table[0] = 1.0
        return table

    def total(self, masses: list[Mass]) -> Array:
        table = self.start()
        for mass in masses:
            table = self.forward(table, mass)
        return table[-1]

    def both(self, masses: list[Mass]) -> tuple[list[Array], list[Array]]:
        """Return the tables before each source, and after each (after[i]: sources i, i+1, ... to come)."""
        before = [self.start()]
        for mass in masses:
            before.append(self.forward(before[-1], mass))
        last = self.np.zeros((self.size, self.rows))
        last[-1] = 1.0
        after = [last]
        for mass in reversed(masses):
            after.append(self.backward(after[-1], mass))
        return before, after[::-1]

    def pair_weights(self, before: Array, after: Array, present: Mass, scale: Array) -> dict[int, Array]:
        """Return mask -> weight of the whole evidence with this source present and meeting `mask`."""
        found = {}
        for mask, weight in present.items():
            met = after[self.index | mask] if mask else after
            found[mask] = self.np.einsum("sr,sr->r", before, met) * weight * scale
        return found
