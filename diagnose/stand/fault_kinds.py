"""What a kind of physical fault is: where it can sit, its sizes with limits, and what it does to the parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from diagnose.stand.build import Build

Sizes = Mapping[str, float]
Setter = Callable[[Build, str, Sizes], None]


@dataclass(frozen=True)
class Size:
    """One size of a fault: the usual value, the smallest and largest that make sense, and its unit."""

    usual: float
    low: float
    high: float
    unit: str = ""


@dataclass(frozen=True)
class Kind:
    """One kind of fault. `place` is circuit, side, cylinder, engine, or a pair of circuits or cylinders written `a/b`."""

    name: str
    group: str
    place: str
    told: str
    put: Setter
    sizes: Mapping[str, Size] = field(default_factory=dict)


def amount(usual: float, low: float = 0.0, high: float = 1.0, unit: str = "share") -> dict[str, Size]:
    """Return the one size `amount`."""
    return {"amount": Size(usual, low, high, unit)}


def acting(usual: float = 1.0) -> dict[str, Size]:
    """Return the one size `acts`: the chance that the fault acts in one run."""
    return {"acts": Size(usual, 0.01, 1.0, "chance a run")}
