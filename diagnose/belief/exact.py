"""The fast exact engine: tables over sets of bits, many questions at once.

Only sums and products of non-negative numbers, so no digits are lost to cancellation. Sources (causes, leaks) that can set
the same bits are joined as a tree (`tree`), the groups then result by result (`sweep`), and back down to each source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import TYPE_CHECKING, Any

from diagnose.belief.again import Counting, repeated_looks
from diagnose.belief.befallen import befallen
from diagnose.belief.groups import grouped
from diagnose.belief.leaks import leaks
from diagnose.belief.model import Belief, Contradiction, Evidence, Model
from diagnose.belief.plain import Plain
from diagnose.belief.setting import Row, Setting
from diagnose.belief.sweep import Sweep
from diagnose.belief.told import Told

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

MAX_BITS = 14
_MAX_CELLS = 1_000_000  # table cells of all sources under all questions at once: about 8 MB, what a cache holds


@dataclass(frozen=True)
class Answers:
    """For each row (question), joint with the evidence: its likelihood, what each cause has in it, and nobody's part."""

    likelihood: Array
    nobody: Array
    responsible: dict[str, Array]
    present: dict[str, Array]


def believe(model: Model, evidence: Evidence) -> Belief:
    """Return the exact belief.

    Raises `Contradiction` where the evidence cannot occur, `OverflowError` past `MAX_BITS` bits.
    """
    answers = ask(model, evidence, [Row()])
    z = float(answers.likelihood[0])
    return Belief(
        z,
        {cause: float(w[0]) / z for cause, w in answers.present.items()},
        {cause: float(w[0]) / z for cause, w in answers.responsible.items()},
        float(answers.nobody[0]) / z,
    )


def width(model: Model, evidence: Evidence) -> int:
    """Return how many bits an evidence takes: `MAX_BITS` is the most that is answered."""
    return Told(model, evidence, repeated_looks(model, evidence)).width


def ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool = True) -> Answers:
    """Return the joint weights of every row; without `posteriors` only the likelihoods (and nobody's part is left 0).

    Raises as `believe` does; a row past `MAX_BITS` by much more than it asks about raises `OverflowError` too.
    """
    repeated = repeated_looks(model, evidence)
    bits = Told(model, evidence, repeated).width
    if bits > MAX_BITS:
        raise OverflowError(f"{bits} positive results at once; {MAX_BITS} is the most")
    asked, terms = _without_pairs(model, rows)
    step = _step(model, evidence, asked, posteriors)
    parts = [_ask(model, evidence, asked[i : i + step], posteriors, repeated) for i in range(0, len(asked), step)]
    newest = evidence.looks[-1]
    sound = [not replace(newest, bounds={**newest.bounds, **row.bounds}).contradicts_itself for row in rows]
    impossible = any(look.contradicts_itself for look in evidence.looks) or not any(part.likelihood.any() for part in parts)
    if posteriors and impossible:
        raise Contradiction("the results cannot occur together in this model")
    return _summed(parts, terms, sound)


def _without_pairs(model: Model, rows: Sequence[Row]) -> tuple[list[Row], list[list[tuple[int, float]]]]:
    """Return rows that ask no finding with pairs to be normal, and for each row given the sum (number, sign) of them it is.

    "The pair does not hold" is, over its members, P(a quiet) + P(b quiet) - P(both quiet). The terms are at most the likelihood of
    the evidence, so what is lost by subtracting is a few roundings of that, as in the difference of any two rows.
    """
    asked: list[Row] = []
    terms: list[list[tuple[int, float]]] = []
    for row in rows:
        quiet = _quiet(model, row)
        terms.append([(len(asked) + i, sign) for i, sign in enumerate(quiet.values())])
        asked += [replace(row, bounds={**row.bounds, **dict.fromkeys(sorted(members), 0)}) if members else row for members in quiet]
    return asked, terms


def _quiet(model: Model, row: Row) -> dict[frozenset[str], float]:
    """Return the sets of hidden findings to be held quiet, each with its sign, so that no pair of a normal finding holds."""
    pairs = {frozenset(pair) for finding, bound in row.bounds.items() if bound == 0 for pair in model.pairs.get(finding, ())}
    found: dict[frozenset[str], float] = {frozenset(): 1.0}
    for pair in sorted(pairs, key=sorted):
        ways: dict[frozenset[str], float] = {}
        for count in range(1, len(pair) + 1):
            for members, (held, sign) in product(combinations(sorted(pair), count), found.items()):
                both = held.union(members)
                ways[both] = ways.get(both, 0.0) + (sign if count % 2 else -sign)
        found = {members: sign for members, sign in ways.items() if sign}
    return found


def _step(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool) -> int:
    """Return how many rows to ask at once."""
    if len(rows) <= 8:
        return 8
    setting = Setting(model, evidence, ())
    families = [*Plain(setting).families(), *befallen(setting, setting.stories)]
    cells = 1 + sum(1 << mask.bit_count() for family in families for mask in family.bits().tolist())
    step: int = max(8, _MAX_CELLS // cells * (1 if posteriors else 4))
    return step


def _summed(parts: Sequence[Answers], terms: Sequence[Sequence[tuple[int, float]]], sound: Sequence[bool]) -> Answers:
    """Return answers in parts as one, each row the signed sum of its terms; nothing for one that contradicts itself."""
    import numpy as np

    starts = np.array([mine[0][0] for mine in terms])
    signs = np.array([sign for mine in terms for _, sign in mine])

    def whole(of: Sequence[Array]) -> Array:
        joined: Array = np.concatenate(of) if len(of) > 1 else of[0]
        rows = joined if len(signs) == len(terms) else np.clip(np.add.reduceat(joined * signs, starts), 0.0, None)
        return rows if all(sound) else rows * sound

    return Answers(
        whole([p.likelihood for p in parts]),
        whole([p.nobody for p in parts]),
        {k: whole([p.responsible[k] for p in parts]) for k in parts[0].responsible},
        {k: whole([p.present[k] for p in parts]) for k in parts[0].present},
    )


def _ask(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool, repeated: Sequence[int]) -> Answers:
    """Return the answers of rows that fit into memory together."""
    asked = [row for row in rows if row.bounds or row.muted]
    if repeated:
        try:
            return _read(rows, *_counted(model, evidence, asked, repeated, posteriors))
        except ArithmeticError:
            pass
    return _read(rows, *_by_bits(model, evidence, asked, posteriors))


def _read(rows: Sequence[Row], likelihood: Array, nobody: Array, responsible: Mapping[str, Array], present: Mapping[str, Array]) -> Answers:
    """Return the answers by row from those by question: 0 for every row that asks nothing."""
    import numpy as np

    asks = np.array([bool(row.bounds or row.muted) for row in rows], dtype=int)
    read = asks.cumsum() * asks
    return Answers(likelihood[read], nobody[read], {c: w[read] for c, w in responsible.items()}, {c: w[read] for c, w in present.items()})


Weights = tuple["Array", "Array", dict[str, "Array"], dict[str, "Array"]]


def _by_bits(model: Model, evidence: Evidence, rows: Sequence[Row], posteriors: bool) -> Weights:
    """Return likelihood, nobody's part, responsible and present by question, summed over the disjoint cases of which blamed pairs hold."""
    import numpy as np

    setting = Setting(model, evidence, rows)
    plain = Plain(setting)
    more, scale = leaks(setting)
    groups = grouped(setting, [*plain.families(), *befallen(setting, setting.stories), *more])
    scale = scale * plain.beside
    likelihood, nobody = np.zeros(setting.questions), np.zeros(setting.questions)
    for guilty, blocks in setting.told.cases:
        sweep = Sweep([group.table(guilty) for group in groups], blocks, setting.questions)
        likelihood += sweep.weight * scale
        if posteriors:
            for group, out in zip(groups, sweep.outs(), strict=True):
                group.answer(guilty, out.cells[:, out.column] * scale)
            alone = Sweep([group.innocent(guilty) for group in groups], blocks, setting.questions)
            nobody += alone.weight * scale
    if not posteriors:
        return likelihood, nobody, {}, {}
    there = {n: w for group in groups for n, w in group.present.items()}
    guilt = {n: w for group in groups for n, w in group.responsible.items()}
    return (likelihood, nobody, *_named(model, plain, likelihood, there, guilt))


def _counted(model: Model, evidence: Evidence, rows: Sequence[Row], repeated: Sequence[int], posteriors: bool) -> Weights:
    """Return the same by counts of looks that tell the same."""
    counted = Counting(model, evidence, rows, repeated)
    likelihood, nobody = counted.answer(posteriors)
    if not posteriors:
        return likelihood, nobody, {}, {}
    return (likelihood, nobody, *_named(model, counted.plain, likelihood, counted.present(), counted.responsible()))


def _named(
    model: Model, plain: Plain, likelihood: Array, there: Mapping[int, Array], guilt: Mapping[int, Array]
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Return who is responsible and present, by cause, those that are no source too."""
    free = plain.present[:, : len(likelihood)] * likelihood
    present = {model.causes[n].id: w for n, w in (*zip(plain.free.tolist(), free, strict=True), *there.items())}
    return {c.id: guilt.get(n, likelihood * 0.0) for n, c in enumerate(model.causes)}, present
