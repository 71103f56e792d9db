"""Which checks are worth valuing exactly: a quick look at each, so that the exact tables stay small.

With many abnormal results at once the exact tables grow (twice for each); then only the checks that a
one-fault-at-a-time estimate puts first, per minute, are valued. The estimate only chooses which
checks are looked at, never a number that is shown.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import log2

from diagnose.access import minutes_to_reach
from diagnose.network import Network
from diagnose.plan import LocatedCheck

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
    weights = _weights(responsible)
    shows = {node: _bits(network, node, weights) for node in {n for c in checks for n in c.nodes}}

    def worth(check: LocatedCheck) -> float:
        minutes = check.check.minutes.value + minutes_to_reach(network.base, check.check.access, gained)
        return sum(shows[n] for n in check.nodes) / minutes

    kept: set[str] = set()
    used = 0
    for check in sorted(checks, key=lambda c: (-worth(c), c.id)):
        rows = _rows(network, check)
        if kept and used + rows > budget:
            continue
        kept.add(check.id)
        used += rows
    return [c for c in checks if c.id in kept]


def _rows(network: Network, check: LocatedCheck) -> int:
    return sum(len(network.symptoms[n].symptom.grades) - 1 for n in check.nodes)


def _weights(responsible: Mapping[str, float]) -> Mapping[str, float]:
    total = sum(responsible.values()) or 1.0
    return {c: r / total for c, r in responsible.items() if r / total > 1e-4}


def _bits(network: Network, node: str, weights: Mapping[str, float]) -> float:
    """Return the information one symptom would give if exactly one cause were there."""
    normal = network.graph.nodes[node]["leak"][0]
    shown: dict[str, float] = {}
    for effect in network.graph.predecessors(node):
        for cause in network.graph.predecessors(effect):
            adds = network.graph.edges[cause, effect]["strength"] * (1 - network.graph.edges[effect, node]["levels"][0])
            shown[cause] = 1 - (1 - shown.get(cause, 0.0)) * (1 - adds)
    chances = [(w, 1 - normal * (1 - shown.get(c, 0.0))) for c, w in weights.items()]
    mean = sum(w * q for w, q in chances)
    return max(0.0, _binary(mean) - sum(w * _binary(q) for w, q in chances))


def _binary(p: float) -> float:
    return 0.0 if p <= 0 or p >= 1 else -(p * log2(p) + (1 - p) * log2(1 - p))
