"""Causes that no check can tell apart: different repairs, and no result that differs enough between the two."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.audit.findings import PROBLEM, Found
from diagnose.audit.shows import Shown, alone, given
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import repair_groups

if TYPE_CHECKING:
    import numpy as np

LEAST = 0.1  # a result tells two causes apart when its probability differs by this much or more


@dataclass(frozen=True)
class Pair:
    """Two located causes of different repair groups that look alike on a layout; `most` is the largest difference."""

    first: str
    second: str
    most: float


def alike_pairs(network: Network, least: float = LEAST) -> list[Pair]:
    """Return every pair of located causes with different repairs that no result of any check tells apart."""
    names = list(network.causes)
    repair = {c: key for key, group in repair_groups(network).items() for c in group.causes}
    return [Pair(names[i], names[j], most) for i, j, most in _close(_matrix(network, names), least) if repair[names[i]] != repair[names[j]]]


def _matrix(network: Network, names: list[str]) -> np.ndarray[Any, Any]:
    """Return P(grade | cause alone) for every grade of every checkable located symptom: causes by rows."""
    import numpy as np

    columns: dict[str, int] = {}
    base: list[float] = []
    for node in sorted(given(network)):
        columns[node] = len(base)
        base += network.graph.nodes[node]["leak"]
    matrix = np.tile(np.array(base), (len(names), 1))
    for row, shown in enumerate(_rows(alone(network), names)):
        for node, grades in shown.items():
            if node in columns:
                matrix[row, columns[node] : columns[node] + len(grades)] = grades
    return matrix


def _rows(shown: Mapping[str, Shown], names: Iterable[str]) -> Iterable[Shown]:
    return (shown[name] for name in names)


def _close(matrix: np.ndarray[Any, Any], least: float) -> Iterable[tuple[int, int, float]]:
    """Yield rows i < j whose cells all differ by less than `least`.

    The columns in which row i stands out most throw out nearly every j at once; only the few left are compared in full.
    """
    import numpy as np

    usual = np.median(matrix, axis=0)
    for i, row in enumerate(matrix):
        others = np.arange(i + 1, len(matrix))
        for column in np.argsort(-np.abs(row - usual))[:8]:
            others = others[np.abs(matrix[others, column] - row[column]) < least]
        if len(others):
            worst = np.abs(matrix[others] - row).max(axis=1)
            yield from ((i, int(j), float(w)) for j, w in zip(others, worst, strict=True) if w < least)


def findings(networks: Iterable[Network]) -> list[Found]:
    """Return one finding per pair of causes (wherever they sit) with the layouts where they look alike."""
    met: dict[tuple[str, str], tuple[Pair, list[str]]] = {}
    for network in networks:
        for pair in alike_pairs(network):
            key = _kinds(network, pair)
            layouts = met.setdefault(key, (pair, []))[1]
            if network.layout.id not in layouts:
                layouts.append(network.layout.id)
    return [
        Found(
            PROBLEM,
            "not-told-apart",
            " ".join(key),
            f"no result of any check differs by {LEAST} between {pair.first} and {pair.second}, which have different repairs "
            f"(largest difference {pair.most:.2f}; {_layouts(layouts)})",
            "add a link only one of them has, and a check that gives it; or give both the same remedy",
        )
        for key, (pair, layouts) in met.items()
    ]


def _kinds(network: Network, pair: Pair) -> tuple[str, str]:
    first, second = sorted(network.causes[c].cause.id for c in (pair.first, pair.second))
    return first, second


def _layouts(names: list[str]) -> str:
    return f"on {names[0]}" if len(names) == 1 else f"on {len(names)} layouts, {names[0]} among them"
