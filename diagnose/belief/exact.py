"""The fast exact engine: tables over sets of clauses, swept forward and backward, many questions at once.

Only sums and products of non-negative numbers, so no digits are lost to cancellation. A table has
2^clauses rows and one column per question. Sources that can meet the same clauses are joined first, on
a small table of just those clauses; the groups are then swept through the whole table (`tables`).
numpy pays from the first ranking on: a hundred questions cost about as much as three.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from diagnose.belief.builder import Builder, Row
from diagnose.belief.model import Belief, Contradiction, Evidence, Model
from diagnose.belief.one_source import Source
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
        if source.cause and not source.reach:
            _add_free(answers, source, builder, evidence)
    after = _unit(builder.width)[::-1]
    for index in reversed(range(len(groups))):
        group = groups[index]
        outside = dual(before[index], after, group.bits, builder.width)
        for source, there, guilty in group.members(outside, scale, builder.blamed):
            if source.last == builder.now:
                answers.present[source.cause] = there
            if source.first <= evidence.blame <= source.last:
                answers.responsible[source.cause] = guilty
        after = backward_join(after, tables[index], group.bits, builder.width)
    return answers


def _forward_sweep(sources: list[Source], width: int, scale: Array) -> tuple[Array, list[_Group], list[Array], list[Array]]:
    """Return the factor of all that meets nothing, the groups of the others, their tables, and the table before each."""
    for source in sources:
        if not source.reach:
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
        if source.reach:
            found.setdefault(source.reach, []).append(source)
    groups = [_Group(reach, members) for reach, members in found.items()]
    groups.sort(key=lambda g: (g.varies, len(g.bits)))
    return groups


class _Group:
    """Sources that can meet the same clauses, on a table of those clauses alone."""

    def __init__(self, reach: int, sources: list[Source]) -> None:
        self.bits = tuple(b for b in range(reach.bit_length()) if reach >> b & 1)
        self.sources = sources
        self.varies = any(s.varies for s in sources)
        self.squeezed = cache(self._squeeze)
        self.small = sources if reach == (1 << len(self.bits)) - 1 else [s.local(self.squeezed) for s in sources]

    def _squeeze(self, mask: int) -> int:
        return sum(1 << i for i, b in enumerate(self.bits) if mask >> b & 1)

    def table(self) -> Array:
        """Return the joint table of every member."""
        self.prefixes = [_unit(len(self.bits))]
        for source in self.small:
            self.prefixes.append(source.forward(self.prefixes[-1]))
        return self.prefixes[-1]

    def members(self, outside: Array, scale: Array, blamed: int) -> Iterator[tuple[Source, Array, Array]]:
        """Yield each cause with the weight of the whole evidence with it there, and with it there and a blamed clause met."""
        local = self._squeeze(blamed)
        after = outside
        for before, source, small in zip(reversed(self.prefixes[:-1]), reversed(self.sources), reversed(self.small), strict=True):
            there, guilty = small.backward(after, local if source.cause else 0)
            if source.cause:
                weights = [((before * part).sum(axis=0) if part is not None else 0.0) * scale for part in (there, guilty)]
                yield source, weights[0], weights[1]
            after = there + after * small.absent
