"""One reading: a number with its unit, or plain words, as a person would write it down."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """`number` is None where there is none: over the meter's range, or a look that has only words."""

    number: float | None
    unit: str = ""
    words: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return the reading as text."""
        told = "; ".join(self.words)
        value = "" if self.number is None else f"{self.number:g} {self.unit}".strip()
        return ", ".join(part for part in (value, told) if part) or f"over range ({self.unit})"


def looked(*words: str) -> Reading:
    """Return a reading of words only."""
    return Reading(None, "", tuple(words))
