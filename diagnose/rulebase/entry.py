"""What every entry of a rule base has, and a number with where it comes from."""

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


@dataclass(frozen=True)
class Number:
    """A number with where it comes from; `table` gives it by cylinder count instead."""

    value: float
    source: str
    word: str = ""
    table: Mapping[int, float] | None = None

    def at(self, cylinders: int) -> float:
        """Return the number for an engine of so many cylinders (nearest count of the table)."""
        if self.table is None:
            return self.value
        nearest = min(self.table, key=lambda count: (abs(count - cylinders), count))
        return self.table[nearest]

    def times(self, share: Number) -> Number:
        """Return this number with only a share of it left; both sources stand."""
        table = None if self.table is None else {count: value * share.value for count, value in self.table.items()}
        source = self.source if share.source == self.source else f"{self.source}, {share.source}"
        return Number(self.value * share.value, source, table=table)


Levels = Mapping[str, Number]  # grade -> how often
