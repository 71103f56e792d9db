"""An exercise drawn by level, family and seed: the same three give the same engine, fault and squawk."""

from __future__ import annotations

from functools import cache

from diagnose import loaded
from diagnose.drill.exercise import Deck
from diagnose.drill.fault_causes import causes_of, mapped
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand.engine import Engine
from diagnose.stand.faults import KINDS, places_for
from diagnose.training.levels import Level
from diagnose.training.task import Task
from diagnose.trouble.network import Network
from diagnose.trouble.sentences import sentence_of


@cache
def _deck(overlay: tuple[str, ...], layout: str, only: frozenset[str]) -> Deck:
    return Deck(loaded.network_of(overlay, layout), even=True, only=only)


def drawn(overlay: tuple[str, ...], layout: str, level: Level, seed: int, family: str = "") -> Task:
    """Return the exercise of a level and seed, of one family of causes where it is named. Raises BadInput."""
    network = loaded.network_of(overlay, layout)
    kinds = level.kinds
    if family:
        kinds = frozenset(name for name in mapped() if family in _families(network, name))
        if not kinds:
            known = sorted({f for name in mapped() for f in _families(network, name)})
            raise BadInput(f"no fault of the stand on {layout} is of family '{family}'; {did_you_mean(family, known)}")
    faults = max(1, level.faults) if family else level.faults
    found = _deck(overlay, layout, kinds).draw(0, seed, faults)
    name = f"{family or level.id}-{seed}" + ("" if layout == "opposed-4" else f"-{layout}")
    origin = {"level": level.id, "family": family, "seed": seed, "layout": layout}
    return Task(name, f"{level.label}, number {seed}", level.id, layout, squawk(network, found.complaint), found, origin)


def squawk(network: Network, complaint: tuple[str, ...]) -> str:
    """Return a complaint as one line an owner could have written."""
    told = "; ".join(sentence_of(network.base, network.layout, text) for text in complaint)
    return f"{told[:1].upper()}{told[1:]}."


def _families(network: Network, kind: str) -> frozenset[str]:
    places = places_for(Engine(network.layout, 1), KINDS[kind])[:1]
    return frozenset(network.causes[c].cause.family for place in places for c in causes_of(network, kind, place))
