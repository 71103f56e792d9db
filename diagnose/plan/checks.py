"""The checks that can be done at the places of a layout and still give something."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.rulebase.records import Check
from diagnose.trouble.network import Network
from diagnose.trouble.results import node

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class LocatedCheck:
    """A check at a place, with the located symptoms it still has to give, in order."""

    check: Check
    place: str
    nodes: tuple[str, ...]

    @property
    def id(self) -> str:
        """Return `CHECK@PLACE`."""
        return f"{self.check.id}@{self.place}"


def available(network: Network, done: Collection[str], barred: Collection[str]) -> list[LocatedCheck]:
    """Return the located checks that still give something.

    `done` are located symptoms with a result in this look, `cannot` among them; `barred` are access
    states that cannot be reached now.
    """
    found = []
    for check in network.base.checks.values():
        if set(check.access) & set(barred):
            continue
        for place in network.layout.places(check.at):
            if not all(network.layout.has(place, need) for need in check.needs):
                continue
            nodes = tuple(n for n in _given(network, check, place) if n not in done)
            if nodes:
                found.append(LocatedCheck(check, place, nodes))
    return found


def gives(network: Network, check: Check, place: str = "") -> dict[str, tuple[str, ...]]:
    """Return symptom -> the places a check gives it for: done at one place, else at any it can be done at."""
    found: dict[str, list[str]] = {}
    for at in (place,) if place else network.layout.places(check.at):
        for ref in check.gives:
            found.setdefault(ref.symptom, []).extend(network.layout.related(at, ref.relation))
    return {symptom: tuple(dict.fromkeys(places)) for symptom, places in found.items()}


def _given(network: Network, check: Check, place: str) -> list[str]:
    nodes = []
    for ref in check.gives:
        symptom = network.base.symptoms[ref.symptom]
        for spot in network.layout.related(place, ref.relation):
            name = node(symptom.id, ref.regime or symptom.default, spot)
            if name in network.symptoms and name not in nodes and network.graph.in_degree(name):
                nodes.append(name)
    return nodes
