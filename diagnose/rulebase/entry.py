"""What every entry of a rule base has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.rulebase.nodes import Mark


@dataclass(frozen=True)
class Entry:
    """What every entry has: its id, where it and each of its keys stand, the layer it came from and what it cites."""

    id: str
    mark: Mark
    marks: Mapping[str, Mark]
    layer: str
    label: str
    source: tuple[str, ...]
