"""What each outcome of a check would do to who is responsible, by repair group, exactly."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import nlargest
from typing import TYPE_CHECKING, Any

from diagnose.belief.exact import Answers, ask
from diagnose.belief.setting import Row
from diagnose.plan.checks import LocatedCheck
from diagnose.trouble.evidence import Prepared
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Outcome:
    """One way a check can come out: results in canonical form, its probability, the beliefs after it."""

    results: tuple[str, ...]
    probability: float
    responsible: Mapping[str, float]

    def top(self, count: int = 3) -> list[tuple[str, float]]:
        """Return the most responsible causes after this outcome, equals by id whatever the rounding."""
        least = min(nlargest(count, self.responsible.values()), default=0.0) - 1e-11
        likely = [(cause, share) for cause, share in self.responsible.items() if share >= least]
        return sorted(likely, key=lambda item: (-round(item[1], 12), item[0]))[:count]


def _rows(network: Network, check: LocatedCheck) -> list[tuple[Row, str]]:
    """Return one row per step of reading the check: everything before normal, this one at most a grade."""
    rows: list[tuple[Row, str]] = []
    bounds: dict[str, int] = {}
    for name in check.nodes:
        grades = network.symptoms[name].symptom.names
        for level in reversed(range(len(grades) - 1)):
            rows.append((Row({**bounds, name: level}), name))
        bounds[name] = 0
    return rows


@dataclass(frozen=True)
class Asked:
    """Every check's questions answered in one sweep: for each check the row it starts at and its steps of reading."""

    target: Target
    spans: tuple[tuple[int, list[tuple[Row, str]]], ...]

    def columns(self, index: int) -> list[int]:
        """Return the answered rows of a check: the evidence as it is, then each step of reading."""
        start, mine = self.spans[index]
        return [0, *range(start, start + len(mine))]

    def table(self, index: int) -> Array:
        """Return a check's table: repair groups and "none of these" by outcomes."""
        return self.target.partition(self.columns(index))


def ask_checks(network: Network, prepared: Prepared, groups: Mapping[str, RepairGroup], checks: Sequence[LocatedCheck]) -> Asked:
    """Return what each outcome of every check would do, exactly."""
    rows, spans = [Row()], []
    for check in checks:
        mine = _rows(network, check)
        spans.append((len(rows), mine))
        rows += [row for row, _ in mine]
    return Asked(Target(groups, ask(network.model, prepared.evidence, rows)), tuple(spans))


class Target:
    """Responsibility by repair group for every row."""

    def __init__(self, groups: Mapping[str, RepairGroup], answers: Answers) -> None:
        import numpy as np

        self.answers = answers
        self.groups = list(groups.values())
        zero = answers.likelihood * 0.0
        self.joint = np.array([sum((answers.responsible.get(c, zero) for c in group.causes), start=zero) for group in self.groups])

    def drop_the_innocent(self) -> None:
        """Leave out groups whose share is below 1e-10 now, and so in every outcome; never all of them."""
        kept = self.joint[:, 0] > 1e-10 * self.answers.likelihood[0]
        if kept.any():
            self.groups = [group for group, keep in zip(self.groups, kept, strict=True) if keep]
            self.joint = self.joint[kept]

    @cached_property
    def causes(self) -> list[str]:
        return sorted(self.answers.responsible)

    @cached_property
    def matrix(self) -> Array:
        """Return the joint weight of every cause being responsible, causes by rows."""
        import numpy as np

        return np.array([self.answers.responsible[c] for c in self.causes])

    def table(self, start: int, end: int) -> Array:
        """Return the table of some rows, as they stand."""
        part = slice(start, end)
        return self._shared(self.joint[:, part], self.answers.nobody[part], self.answers.likelihood[part])

    def partition(self, columns: list[int]) -> Array:
        """Return the table of a check's outcomes.

        Column k minus column k+1 is "read as far as step k, abnormal there"; the last column is "all normal".
        """
        import numpy as np

        likelihood, joint, nobody = (
            np.clip(np.concatenate([w[..., :-1] - w[..., 1:], w[..., -1:]], axis=-1), 0.0, None)
            for w in (self.answers.likelihood[columns], self.joint[:, columns], self.answers.nobody[columns])
        )
        return self._shared(joint, nobody, likelihood)

    def _shared(self, joint: Array, nobody: Array, likelihood: Array) -> Array:
        """Return P(group and outcome) with "none of these" last.

        "None" is exact. The groups, which can be responsible together, share the rest in proportion.
        """
        import numpy as np

        whole = self.answers.likelihood[0]
        none = np.minimum(nobody, likelihood)
        total = joint.sum(axis=0)
        shared = joint * ((likelihood - none) / np.where(total > 0, total, 1.0))
        table: Array = np.vstack([shared, none]) / whole
        return table


def all_outcomes(network: Network, mine: list[tuple[Row, str]], columns: list[int], target: Target) -> tuple[Outcome, ...]:
    """Return what reading a check can give, the abnormal steps first, "all normal" last."""
    return tuple(_outcomes(network, mine, columns, target))


def _outcomes(network: Network, mine: list[tuple[Row, str]], columns: list[int], target: Target) -> Iterator[Outcome]:
    """Yield what reading the check can give, the abnormal steps first, "all normal" last."""
    weights = target.answers.likelihood[columns]
    by_cause = target.matrix[:, columns]
    normal: list[str] = []
    before = ""
    for step, (row, name) in enumerate(mine):
        if before and name != before:
            normal.append(f"{before}={_grade(network, before, 0)}")
        before = name
        chance = float(weights[step] - weights[step + 1])
        seen = f"{name}={_grade(network, name, row.bounds[name] + 1)}"
        yield _outcome((*normal, seen), chance, by_cause[:, step] - by_cause[:, step + 1], float(weights[0]), target)
    yield _outcome((*normal, f"{before}={_grade(network, before, 0)}"), float(weights[-1]), by_cause[:, -1], float(weights[0]), target)


def _grade(network: Network, name: str, level: int) -> str:
    return network.symptoms[name].symptom.names[level]


def _outcome(results: tuple[str, ...], weight: float, joint: Array, whole: float, target: Target) -> Outcome:
    safe = weight if weight > 0 else 1.0
    # Shares below one in a million are left out: they are never shown and reading them all takes longer than the sweep.
    likely = (joint > 1e-6 * safe).nonzero()[0]
    shares = {target.causes[i]: min(1.0, float(joint[i]) / safe) for i in likely}
    return Outcome(results, max(0.0, weight / whole), shares)
