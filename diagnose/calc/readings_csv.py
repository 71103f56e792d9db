"""Temperatures per cylinder from a plain CSV file with a header of our own, or from typed lists.

The header names the quantity, the magneto position and the unit of each column::

    cylinder,egt_both_F,egt_left_F,egt_right_F,cht_both_F
    1,1320,1395,1390,350

One unit for the whole file. Several rows for one cylinder are repeated samples. An empty cell or ``-`` is
"not read". Lines starting with ``#`` are comments.
"""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.calc.problem import CalcError
from diagnose.calc.units import finite, read_number

POSITIONS = ("both", "left", "right")
COLUMNS = tuple(f"{kind}_{position}" for kind in ("egt", "cht") for position in POSITIONS)
HEADER = "cylinder, then any of " + ", ".join(COLUMNS) + ", each ending in _F or _C"
# Nothing a probe on a piston engine can show lies outside these (estimate), in degrees F.
_SPAN_F = (-60.0, 2200.0)


@dataclass(frozen=True)
class Temperatures:
    """Samples by (column such as ``egt_left``, cylinder), all in ``unit`` (``degF`` or ``degC``)."""

    unit: str
    samples: Mapping[tuple[str, int], tuple[float, ...]]


@dataclass(frozen=True)
class RowProblem:
    """One row that cannot be used."""

    line: int
    text: str


def _columns(header: list[str]) -> tuple[list[str], str]:
    names = [name.strip() for name in header]
    if not names or names[0] != "cylinder":
        raise CalcError("header", f"starts with {names[0] if names else ''!r}", f"write {HEADER}")
    columns, units = [], set()
    for name in names[1:]:
        column, _, unit = name.rpartition("_")
        if column not in COLUMNS or unit not in ("F", "C"):
            raise CalcError("header", f"column {name!r} is not known", f"write {HEADER}")
        columns.append(column)
        units.add(unit)
    if len(units) != 1:
        raise CalcError(
            "header",
            "degrees F and C are mixed" if units else "no column of readings",
            "give every column in the same unit" if units else f"write {HEADER}",
        )
    if len(set(columns)) != len(columns):
        raise CalcError("header", "a column is there twice", "name each column once")
    return columns, f"deg{units.pop()}"


def read_csv(lines: Iterable[str], cylinders: int) -> tuple[Temperatures, tuple[RowProblem, ...]]:
    """Read the file's lines: the good rows, and one problem for each bad one.

    Raises CalcError when the header cannot be used or there is no row at all.
    """
    rows = csv.reader(line if not line.startswith("#") else "\n" for line in lines)
    header: list[str] | None = None
    columns: list[str] = []
    unit = ""
    samples: dict[tuple[str, int], list[float]] = {}
    problems: list[RowProblem] = []
    for row in rows:
        if not any(cell.strip() for cell in row):
            continue
        if header is None:
            header = row
            columns, unit = _columns(row)
            continue
        try:
            _take_row(row, columns, unit, cylinders, samples)
        except CalcError as error:
            problems.append(RowProblem(rows.line_num, str(error)))
    if header is None:
        raise CalcError("readings", "the file is empty", f"start with a header: {HEADER}")
    if not samples and not problems:
        raise CalcError("readings", "there is a header but no row", "add one row per cylinder")
    return Temperatures(unit, {key: tuple(values) for key, values in samples.items()}), tuple(problems)


def _take_row(
    row: list[str],
    columns: list[str],
    unit: str,
    cylinders: int,
    samples: dict[tuple[str, int], list[float]],
) -> None:
    """Add one row's readings to ``samples``, or none of them when any cell is bad (CalcError)."""
    if len(row) != len(columns) + 1:
        raise CalcError(
            "row",
            f"has {len(row)} cells where the header has {len(columns) + 1}",
            "leave a cell empty where nothing was read",
        )
    cylinder = _cylinder(row[0], cylinders)
    found = {
        (column, cylinder): value
        for column, cell in zip(columns, row[1:], strict=True)
        if (value := read_cell(cell, column, unit)) is not None
    }
    for key, value in found.items():
        samples.setdefault(key, []).append(value)


def _cylinder(text: str, cylinders: int) -> int:
    if not text.strip().isdecimal() or not 1 <= int(text) <= cylinders:
        raise CalcError("cylinder", f"{text.strip()!r} is not on this engine", f"use 1 to {cylinders}")
    return int(text)


def read_cell(cell: str, what: str, unit: str) -> float | None:
    """One temperature; None for an empty cell or a dash. Raises CalcError."""
    if cell.strip() in ("", "-"):
        return None
    low, high = _SPAN_F if unit == "degF" else tuple((f - 32) / 1.8 for f in _SPAN_F)
    return finite(read_number(cell.strip(), what), what, low, high, unit)


def typed(lists: Mapping[str, str], unit: str, cylinders: int) -> Temperatures:
    """Readings typed as ``{"egt_both": "1320,1310,-,1300"}``, in order of cylinder number. Raises
    CalcError."""
    samples: dict[tuple[str, int], tuple[float, ...]] = {}
    for column, text in lists.items():
        cells = text.split(",")
        if len(cells) != cylinders:
            raise CalcError(
                column,
                f"{len(cells)} readings for {cylinders} cylinders",
                "give one per cylinder in order, - where not read",
            )
        for number, cell in enumerate(cells, 1):
            value = read_cell(cell, f"{column}, cylinder {number}", unit)
            if value is not None:
                samples[column, number] = (value,)
    return Temperatures(unit, samples)
