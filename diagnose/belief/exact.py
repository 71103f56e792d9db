"""The fast exact engine: tables over sets of clauses, swept forward and backward, many questions at once.

Only sums and products of non-negative numbers, so no digits are lost to cancellation. A table has
2^clauses rows and one column per question. Sources that can meet the same clauses are joined first, on
a small table of just those clauses; the groups are then swept through the whole table (`tables`).
numpy pays from the first ranking on: a hundred questions cost about as much as three.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.belief.model import Belief, Contradiction, Evidence, Model
from diagnose.belief.sources import Builder, Mass, Row, Source
from diagnose.belief.tables import backward_join, dual, forward_join

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

MAX_CLAUSES = 10
_MAX_CELLS = 12_000_000  # table cells kept at once: about 100 MB


@dataclass(frozen=True)
class Answers:
    """For each row (question), joint with the evidence: its likelihood, what each cause has in it, and nobody's part."""

    likelihood: Array
    nobody: Array
    responsible: dict[str, Array]
    present: dict[str, Array]


def believe(model: Model, evidence: Evidence) -> Belief:
    """Return the exact belief.

    Raises `Contradiction` where the evidence cannot occur, `OverflowError` past `MAX_CLAUSES` clauses.
    """
    answers = ask(model, evidence, [Row()])
    z = float(answers.likelihood[0])
    return Belief(
        z,
        {cause: float(w[0]) / z for cause, w in answers.present.items()},
        {cause: float(w[0]) / z for cause, w in answers.responsible.items()},
        float(answers.nobody[0]) / z,
    )


def ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool = True) -> Answers:
    """Return the joint weights of every row; without `posteriors` only the likelihoods (and nobody's part is left 0)."""
    import numpy as np

    clauses = sum(len(look.clauses) for look in evidence.looks)
    if clauses > MAX_CLAUSES:
        raise OverflowError(f"{clauses} positive results at once; {MAX_CLAUSES} is the most")
    step = max(1, _MAX_CELLS // (1 << clauses) * (100 if posteriors else 4))
    parts = [_ask(model, evidence, rows[i : i + step], posteriors) for i in range(0, len(rows), step)]
    if len(parts) == 1:
        return parts[0]
    return Answers(
        np.concatenate([p.likelihood for p in parts]),
        np.concatenate([p.nobody for p in parts]),
        {k: np.concatenate([p.responsible[k] for p in parts]) for k in parts[0].responsible},
        {k: np.concatenate([p.present[k] for p in parts]) for k in parts[0].present},
    )


def _ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool) -> Answers:
    builder = Builder(model, evidence, rows)
    sources, coupled = builder.sources(), builder.coupled()
    beside, untouched = builder.free(coupled)
    scale, groups, tables, before = _forward_sweep(sources, builder.width, beside)
    z = scale * before[-1][-1]
    if not posteriors:
        return Answers(z, z * 0.0, {}, {})
    if not z[0] > 0.0:
        raise Contradiction("the results cannot occur together in this model")
    free, _, _, alone = _forward_sweep([s.innocent(builder.blamed) for s in sources], builder.width, beside)
    answers = Answers(z, free * alone[-1][-1], dict.fromkeys(untouched, z * 0.0), {c: z * p for c, p in untouched.items()})
    for source in sources:
        if source.cause and not source.masks:
            _add_free(answers, source, builder, evidence)
    after = _unit(builder.width)[::-1]
    for index in reversed(range(len(groups))):
        group = groups[index]
        outside = dual(before[index], after, group.bits, builder.width)
        for source, weights in group.members(outside, scale):
            _add_coupled(answers, source, weights, builder, evidence)
        after = backward_join(after, tables[index], group.bits, builder.width)
    return answers


def _forward_sweep(sources: list[Source], width: int, scale: Array) -> tuple[Array, list[_Group], list[Array], list[Array]]:
    """Return the factor of all that meets nothing, the groups of the others, their tables, and the table before each."""
    for source in sources:
        if not source.masks:
            scale = scale * source.whole()[0]
    groups = _grouped(sources)
    tables = [group.table() for group in groups]
    before = [_unit(width)]
    for group, table in zip(groups, tables, strict=True):
        before.append(forward_join(before[-1], table, group.bits, width))
    return scale, groups, tables, before


def _add_free(answers: Answers, source: Source, builder: Builder, evidence: Evidence) -> None:
    z = answers.likelihood
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


def _unit(width: int) -> Array:
    """Return the table of "nothing met yet", one column."""
    import numpy as np

    table = np.zeros((1 << width, 1))
    table[0] = 1.0
    return table


def _grouped(sources: list[Source]) -> list[_Group]:
    """Return the sources that meet clauses, by the set of clauses they can meet, the same for every question first."""
    found: dict[int, list[Source]] = {}
    for source in sources:
        reach = 0
        for mask in source.masks:
            reach |= mask
        if reach:
            found.setdefault(reach, []).append(source)
    groups = [_Group(reach, members) for reach, members in found.items()]
    groups.sort(key=lambda g: (g.varies, len(g.bits)))
    return groups


class _Group:
    """Sources that can meet the same clauses, on a table of those clauses alone."""

    def __init__(self, reach: int, sources: list[Source]) -> None:
        self.bits = tuple(b for b in range(reach.bit_length()) if reach >> b & 1)
        self.sources = sources
        self.varies = any(getattr(w, "size", 1) > 1 for s in sources for w in s.whole().values())
        self.size = 1 << len(self.bits)

    def _local(self, mass: Mass) -> Mass:
        return {self._squeeze(mask): weight for mask, weight in mass.items()}

    def _squeeze(self, mask: int) -> int:
        return sum(1 << i for i, b in enumerate(self.bits) if mask >> b & 1)

    def _prefixes(self) -> list[Array]:
        tables = [_unit(len(self.bits))]
        for source in self.sources:
            tables.append(_forward(tables[-1], self._local(source.whole())))
        return tables

    def table(self) -> Array:
        """Return the joint table of every member."""
        self.prefixes = self._prefixes()
        return self.prefixes[-1]

    def members(self, outside: Array, scale: Array) -> Iterator[tuple[Source, dict[int, Array]]]:
        """Yield each member with mask -> weight of the whole evidence with it present and meeting that mask."""
        import numpy as np

        index = np.arange(self.size)
        after = outside
        for number in reversed(range(len(self.sources))):
            source = self.sources[number]
            if source.cause:
                yield source, self._weights(source, self.prefixes[number], after, index, scale)
            after = _backward(after, self._local(source.whole()), index)


    def _weights(self, source: Source, before: Array, after: Array, index: Array, scale: Array) -> dict[int, Array]:
        """Return mask -> weight of the whole evidence with one member present and meeting that mask."""
        if _many(source.present, self.size):
            width = len(self.bits)
            met = dual(before, after, tuple(range(width)), width)
            return {mask: met[self._squeeze(mask)] * weight * scale for mask, weight in source.present.items()}
        return {
            mask: (before * after[index | self._squeeze(mask)]).sum(axis=0) * weight * scale
            for mask, weight in source.present.items()
        }


FEW = 8  # masks of one source up to which one at a time is quicker than all at once


def _many(mass: Mass, size: int) -> bool:
    """Return whether joining a source as a table, 3^k products for k clauses, beats joining it mask by mask, 2^k each."""
    return len(mass) > FEW and len(mass) > 1.5 ** (size.bit_length() - 1)


def _dense(mass: Mass, size: int) -> Array:
    """Return a source as a table: one row per set of clauses, one column per question (or one where all agree)."""
    import numpy as np

    table = np.zeros((size, max(getattr(w, "size", 1) for w in mass.values())))
    for mask, weight in mass.items():
        table[mask] = weight
    return table


def _forward(table: Array, mass: Mass) -> Array:
    """Return the small table after one more source."""
    if _many(mass, len(table)):
        width = len(table).bit_length() - 1
        return forward_join(table, _dense(mass, len(table)), tuple(range(width)), width)
    result = table * mass[0] if 0 in mass else table * 0.0
    for mask, weight in mass.items():
        if mask:
            result = result + _lifted(table, mask) * weight
    return result


def _lifted(table: Array, mask: int) -> Array:
    """Return the table after every set has been joined with `mask`."""
    lifted = table.copy()
    bit = 1
    while bit <= mask:
        if mask & bit:
            view = lifted.reshape(-1, 2, bit, table.shape[1])
            view[:, 1] += view[:, 0]
            view[:, 0] = 0.0
        bit <<= 1
    return lifted


def _backward(table: Array, mass: Mass, index: Array) -> Array:
    """Return what the sets before one more source still need."""
    if _many(mass, len(table)):
        width = len(table).bit_length() - 1
        return backward_join(table, _dense(mass, len(table)), tuple(range(width)), width)
    result = table * mass[0] if 0 in mass else table * 0.0
    for mask, weight in mass.items():
        if mask:
            result = result + table[index | mask] * weight
    return result
