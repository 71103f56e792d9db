"""What each located cause shows when it is alone, read off the graph once: sparse, nothing enumerated."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Mapping
from itertools import pairwise

from diagnose.plan.checks import available
from diagnose.trouble.network import Network

# node -> probability of every grade, normal first (sums to 1); only the nodes the cause feeds.
Shown = Mapping[str, tuple[float, ...]]


def alone(network: Network, leaks: bool = True) -> dict[str, Shown]:
    """Return located cause -> what it shows alone (noisy-MAX over its effects, with the leaks or without)."""
    graph = network.graph
    found: dict[str, Shown] = {}
    for cause in network.causes:
        below: dict[str, list[float]] = {}
        for effect in graph.successors(cause):
            strength = graph.edges[cause, effect]["strength"]
            for node in graph.successors(effect):
                _join(below, node, _cumulated(graph.edges[effect, node]["levels"]), strength)
        for node in below if leaks else ():
            _join(below, node, _cumulated(graph.nodes[node]["leak"]), 1.0)
        found[cause] = {node: _grades(levels) for node, levels in below.items()}
    return found


def _join(below: dict[str, list[float]], node: str, more: list[float], strength: float) -> None:
    """Multiply in P(level <= k) of one more source, which acts with `strength`."""
    acts = [1 - strength + strength * p for p in more]
    below[node] = [a * b for a, b in zip(below[node], acts, strict=True)] if node in below else acts


def _cumulated(levels: tuple[float, ...]) -> list[float]:
    total, found = 0.0, []
    for p in levels:
        total += p
        found.append(min(1.0, total))
    return found


def _grades(below: list[float]) -> tuple[float, ...]:
    return (below[0], *(max(0.0, b - a) for a, b in pairwise(below)))


def given(network: Network) -> frozenset[str]:
    """Return the located symptoms that some check of the layout gives."""
    return frozenset(n for check in available(network, (), ()) for n in check.nodes)


def zero_one(network: Network, seen: Collection[str], least: float = 0.5) -> dict[str, frozenset[Hashable]]:
    """Return the fault-by-result matrix: which of the results `seen` turn abnormal, with `least` or more, for each cause alone."""
    return {
        cause: frozenset(n for n, grades in shown.items() if n in seen and 1 - grades[0] >= least)
        for cause, shown in alone(network, leaks=False).items()
    }


def reported(network: Network) -> frozenset[str]:
    """Return the located symptoms that somebody can complain of."""
    return frozenset(n for n, located in network.symptoms.items() if located.symptom.kind == "squawk")
