"""An exercise as it is set: story, engine with its faults, limits, and where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from diagnose.drill.exercise import Exercise
from diagnose.drill.fault_causes import causes_of
from diagnose.trouble.network import Network


@dataclass(frozen=True)
class Task:
    """One exercise.

    `origin` is what finds it again (a level and seed, or a file with its hash); `minutes` the limit set, 0 for none; `teaches` what an
    instructor wants seen afterwards; `known` whether the rule base has a cause for it.
    """

    id: str
    title: str
    level: str
    layout: str
    story: str
    exercise: Exercise
    origin: Mapping[str, Any] = field(default_factory=dict)
    minutes: float = 0.0
    teaches: str = ""


def truths(network: Network, task: Task) -> tuple[frozenset[str], ...]:
    """Return for each fault the located causes that it is: naming any of them is right; empty for one outside the rule base."""
    return tuple(causes_of(network, fault.kind, fault.place) for fault in task.exercise.faults)
