"""Which checks are worth valuing exactly: a quick look at each, so that the exact tables stay small.

With many abnormal results at once the exact tables grow (twice for each); then only the checks that a
one-fault-at-a-time estimate puts first, per minute, are valued. The estimate only chooses which
checks are looked at, never a number that is shown.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from diagnose.belief.flat import flat_of
from diagnose.plan.access import minutes_to_reach
from diagnose.plan.checks import LocatedCheck
from diagnose.trouble.network import Network

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

CELLS = 60_000
LEAST_ROWS = 40
MOST_ROWS = 2_000


def row_budget(clauses: int) -> int:
    """Return how many questions may be asked at once with so many positive results."""
    return max(LEAST_ROWS, min(MOST_ROWS, CELLS >> clauses))


def screened(
    network: Network, checks: Sequence[LocatedCheck], responsible: Mapping[str, float], clauses: int, gained: Collection[str]
) -> list[LocatedCheck]:
    """Return the checks to value exactly, in their order: all of them while the budget holds, else the likeliest."""
    budget = row_budget(clauses)
    if sum(_rows(network, c) for c in checks) <= budget:
        return list(checks)
    shows = _worth(network, {n for c in checks for n in c.nodes}, responsible)

    def worth(check: LocatedCheck) -> float:
        minutes = check.check.minutes.value + minutes_to_reach(network.base, check.check.access, gained)
        return sum(shows[n] for n in check.nodes) / minutes

    kept: set[str] = set()
    used = 0
    for check in sorted(checks, key=lambda c: (-round(worth(c), 12), c.id)):
        rows = _rows(network, check)
        if kept and used + rows > budget:
            continue
        kept.add(check.id)
        used += rows
    return [c for c in checks if c.id in kept]


def _rows(network: Network, check: LocatedCheck) -> int:
    return sum(len(network.symptoms[n].symptom.grades) - 1 for n in check.nodes)


def _worth(network: Network, nodes: Collection[str], responsible: Mapping[str, float]) -> Mapping[str, float]:
    """Return the information each symptom would give if exactly one cause were there."""
    import numpy as np

    model, flat = network.model, flat_of(network.model)
    weights = np.array([responsible.get(c.id, 0.0) for c in model.causes])
    weights = weights / (weights.sum() or 1.0)
    found = {}
    for node in nodes:
        silent = np.ones(len(weights))
        if node in flat.fed:
            fed = flat.fed[node]
            np.multiply.at(silent, flat.owners[fed.effects], 1.0 - flat.strengths[fed.effects] * (1.0 - fed.kept[:, 0]))
        owners = np.flatnonzero(silent < 1.0)
        normal = model.leaks[node][0]
        shown, mine = 1.0 - normal * silent[owners], weights[owners]
        rest = max(0.0, 1.0 - float(mine.sum()))
        mean = float((mine * shown).sum()) + rest * (1.0 - normal)
        inner = float((mine * _binary(shown)).sum()) + rest * float(_binary(np.array(1.0 - normal)))
        found[node] = max(0.0, float(_binary(np.array(mean))) - inner)
    return found


def _binary(p: Array) -> Array:
    """Return the entropy of yes or no, in bits."""
    import numpy as np

    inside = np.clip(p, 1e-15, 1.0 - 1e-15)
    found: Array = -(inside * np.log2(inside) + (1.0 - inside) * np.log2(1.0 - inside))
    return found
