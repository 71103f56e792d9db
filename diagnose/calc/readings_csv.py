"""Temperatures per cylinder from a plain CSV file with a header of our own, or from typed lists.

The header names the quantity, the magneto position and the unit of each column::

    cylinder,egt_both_F,egt_left_F,egt_right_F,cht_both_F
    1,1320,1395,1390,350

One unit for the whole file. Several rows for one cylinder are repeated samples. An empty cell or `-` is
"not read". Lines starting with `#` are comments.
"""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.calc.circuits import read_cylinder
from diagnose.calc.units import finite, read_number
from diagnose.problems import BadInput, Problem

POSITIONS = ("both", "left", "right")
COLUMNS = tuple(f"{kind}_{position}" for kind in ("egt", "cht") for position in POSITIONS)
HEADER = "cylinder, then any of " + ", ".join(COLUMNS) + ", each ending in _F or _C"
# Nothing a probe on a piston engine can show lies outside these (estimate), in degrees F.
_SPAN_F = (-60.0, 2200.0)


@dataclass(frozen=True)
class Temperatures:
    """Samples by (column such as `egt_left`, cylinder), all in `unit` (`degF` or `degC`)."""

    unit: str
    samples: Mapping[tuple[str, int], tuple[float, ...]]


def _columns(header: list[str]) -> tuple[list[str], str]:
    names = [name.strip() for name in header]
    if not names or names[0] != "cylinder":
        raise BadInput(f"header: starts with {names[0] if names else ''!r}; write {HEADER}")
    columns, units = [], set()
    for name in names[1:]:
        column, _, unit = name.rpartition("_")
        if column not in COLUMNS or unit not in ("F", "C"):
            raise BadInput(f"header: column {name!r} is not known; write {HEADER}")
        columns.append(column)
        units.add(unit)
    if len(units) != 1:
        raise BadInput(
            f"header: {'degrees F and C are mixed' if units else 'no column of readings'}; "
            f"{'give every column in the same unit' if units else f'write {HEADER}'}"
        )
    if len(set(columns)) != len(columns):
        raise BadInput("header: a column is there twice; name each column once")
    return columns, f"deg{units.pop()}"


def read_csv(lines: Iterable[str], cylinders: int, file: str = "readings") -> tuple[Temperatures, tuple[Problem, ...]]:
    """Return what the good rows of a file hold, and a problem for each bad one (its column names the cell).

    Raises BadInput when the header cannot be used or there is no row at all.
    """
    columns: list[str] = []
    unit = ""
    samples: dict[tuple[str, int], list[float]] = {}
    problems: list[Problem] = []
    for number, line in enumerate(lines, 1):
        if line.startswith("#") or not line.strip(' \t",'):
            continue
        try:
            row = _cells(line)
            if columns:
                _take_row(row, columns, unit, cylinders, samples)
            else:
                columns, unit = _columns(row)
        except BadInput as error:
            if not columns:
                raise BadInput(f"{file}:{number}: {error}") from error
            message, _, fix = str(error).partition("; ")
            problems.append(Problem(file, number, 1, "reading", message, fix))
    if not columns:
        raise BadInput(f"{file}: the file is empty; start with a header: {HEADER}")
    if not samples and not problems:
        raise BadInput(f"{file}: there is a header but no row; add one row per cylinder")
    return Temperatures(unit, {key: tuple(values) for key, values in samples.items()}), tuple(problems)


def _cells(line: str) -> list[str]:
    """Return the cells of a line. Raises BadInput for one that no reader of such files takes."""
    try:
        return next(csv.reader([line], strict=True))
    except csv.Error as error:
        raise BadInput(f"row: cannot be split into cells ({error}); write short numbers with commas between them") from error


def _take_row(row: list[str], columns: list[str], unit: str, cylinders: int, samples: dict[tuple[str, int], list[float]]) -> None:
    """Add one row's readings to `samples`, or none of them when any cell is bad (BadInput)."""
    if len(row) != len(columns) + 1:
        raise BadInput(f"row: has {len(row)} cells where the header has {len(columns) + 1}; leave a cell empty where nothing was read")
    cylinder = read_cylinder(row[0], cylinders)
    found = {column: read_cell(cell, column, unit) for column, cell in zip(columns, row[1:], strict=True)}
    for column, value in found.items():
        if value is not None:
            samples.setdefault((column, cylinder), []).append(value)


def read_cell(cell: str, what: str, unit: str) -> float | None:
    """Return one temperature; None for an empty cell or a dash. Raises BadInput."""
    if cell.strip() in ("", "-"):
        return None
    low, high = _SPAN_F if unit == "degF" else tuple((f - 32) / 1.8 for f in _SPAN_F)
    return finite(read_number(cell.strip(), what), what, low, high, unit)


def typed(lists: Mapping[str, str], unit: str, cylinders: int) -> Temperatures:
    """Return readings typed as `{"egt_both": "1320,1310,-,1300"}`, in order of cylinder number. Raises BadInput."""
    samples: dict[tuple[str, int], tuple[float, ...]] = {}
    for column, text in lists.items():
        cells = text.split(",")
        if len(cells) != cylinders:
            raise BadInput(f"{column}: {len(cells)} readings for {cylinders} cylinders; give one per cylinder in order, - where not read")
        for number, cell in enumerate(cells, 1):
            value = read_cell(cell, f"{column}, cylinder {number}", unit)
            if value is not None:
                samples[column, number] = (value,)
    return Temperatures(unit, samples)
