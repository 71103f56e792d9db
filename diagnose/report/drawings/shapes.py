"""The four shapes a drawing can have, as data: bars, positions on an axis, curves, a table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Bar:
    """One bar from nought, in the unit of its drawing; without a value it is a heading over the bars below."""

    label: str
    value: float | None = None


@dataclass(frozen=True)
class Bars:
    """Amounts one under the other; `basis` says where the numbers come from."""

    title: str
    unit: str
    bars: tuple[Bar, ...]
    basis: str


@dataclass(frozen=True)
class Row:
    """One row of an axis: `spans` (from, to, sign) are filled, `spots` (where, sign) stand on them."""

    label: str
    spots: tuple[tuple[float, str], ...] = ()
    spans: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True)
class Axis:
    """Things that happen along one axis from `low` to `high`, read from the left; `ticks` (where, word) are named below it."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    rows: tuple[Row, ...]
    legend: tuple[str, ...]
    basis: str


@dataclass(frozen=True)
class Curve:
    """A line through points, drawn with its own sign."""

    label: str
    sign: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Curves:
    """Lines over one axis; `ticks` (where, word) are upright lines with a word below; `up` says what goes upward."""

    title: str
    up: str
    along: str
    curves: tuple[Curve, ...]
    ticks: tuple[tuple[float, str], ...]
    basis: str


@dataclass(frozen=True)
class Grid:
    """A table: heads of the columns, then rows of as many words."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    says: str
    basis: str


Drawing = Bars | Axis | Curves | Grid
