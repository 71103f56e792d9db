"""The sheet of a shop as a CSV file: a row for each place, a column for each kind of reading.

`#` begins a comment; cells are parted by comma, semicolon or tab, whichever the head has; the head may give the unit of a
column's bare numbers (`gap mm`). An empty cell is not looked at; `-` marks what is not read at that place.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from diagnose.calc.shop_cells import BY_NAME, COLUMNS, Bench, columns_at, places, read, read_place
from diagnose.calc.shop_sheet import Sheet, judge, named_column
from diagnose.calc.units import find_unit
from diagnose.places import Layout
from diagnose.problems import BadInput, Problem

HOW = (
    "Shop sheet: write what was read, leave empty what was not looked at; - is not read there",
    "gap and clearance: .018 / 18 thou / 0.45 mm   resistance: 1.8k / 1800 / over   insulation: 200M / over   test_voltage: 10 kV",
    "continuity: 2 ohm / over   compression: 74/80   air: exhaust / intake / breather / plug / head",
)
FIRST = "place"


@dataclass
class _Found:
    """What a file holds so far: cells by place, where each stands, units of columns, problems."""

    file: str
    cells: dict[str, dict[str, str]] = field(default_factory=dict)
    at: dict[tuple[str, str], tuple[int, int]] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def wrong(self, line: int, column: int, text: str) -> None:
        """Keep a problem; `text` says what, and after the semicolon how to mend it."""
        message, _, mend = text.partition("; ")
        self.problems.append(Problem(self.file, line, column, "cell", message, mend))


def blank(layout: Layout) -> str:
    """Return an empty sheet for a layout, its places in the engine's order."""
    lines = [*(f"# {text}" for text in HOW), ",".join((FIRST, *(c.name for c in COLUMNS)))]
    for place in places(layout):
        here = columns_at(place)
        lines.append(",".join((place, *("" if c in here else "-" for c in COLUMNS))))
    return "\n".join(lines) + "\n"


def read_sheet(lines: Iterable[str], bench: Bench, file: str = "sheet") -> tuple[Sheet, Bench, tuple[Problem, ...]]:
    """Return the sheet judged, the bench with the units of its head, and every problem of the file at once, each at its cell.

    Raises BadInput where there is no head.
    """
    found = _Found(file)
    heads: list[str] = []
    delimiter = ","
    for number, line in enumerate(lines, 1):
        if line.lstrip(' "').startswith("#") or not line.strip(' \t",;'):
            continue
        if heads:
            _take_row(_cells(line, delimiter), number, heads, bench.layout, found)
        else:
            delimiter = max(",;\t", key=line.count)
            heads = _heads(_cells(line, delimiter), number, found)
    if not heads:
        raise BadInput(f"{file}: there is no head; begin with an empty sheet")
    bench = replace(bench, units={**bench.units, **found.units})
    sheet = judge(found.cells, bench)
    for fault in sheet.faults:
        where = found.at[fault.place, fault.column]
        found.wrong(*where, f"{fault.column} of {fault.place}, cell '{fault.cell[:40]}': {fault.why}")
    return sheet, bench, tuple(sorted(found.problems))


def _cells(line: str, delimiter: str) -> list[tuple[int, str]]:
    """Return the cells of a line, each with the column of its first letter; quotes are taken as spreadsheets write them."""
    cells = next(csv.reader([line.rstrip("\r\n")], delimiter=delimiter))
    found, at = [], 1
    for cell in cells:
        found.append((at, cell))
        quoted = line[at - 1 : at] == '"'
        at += len(cell) + 1 + (2 + cell.count('"') if quoted else 0)
    return found


def _heads(cells: list[tuple[int, str]], line: int, found: _Found) -> list[str]:
    """Return the names of the columns, empty for one that is not known (a problem)."""
    names: list[str] = []
    for number, (at, text) in enumerate(cells):
        name = ""
        try:
            if number == 0:
                name = _first(text)
            elif text.strip():
                name = _named(text, found.units)
        except BadInput as error:
            found.wrong(line, at, f"head: {error}")
        if name and name in names:
            found.wrong(line, at, f"head: column '{name}' is there twice; name each column once")
        names.append("" if name in names else name)
    return names


def _first(text: str) -> str:
    if text.strip().lower() != FIRST:
        raise BadInput(f"the first column is '{text.strip()[:40]}'; call it {FIRST}")
    return FIRST


def _named(text: str, units: dict[str, str]) -> str:
    name, unit = named_column(text)
    if unit:
        kind = BY_NAME[name].kind
        if not kind:
            raise BadInput(f"column '{text.strip()[:40]}' takes no unit; call it {name}")
        units[name] = find_unit(unit, kind, f"column '{name}'").symbol
    return name


def _take_row(cells: list[tuple[int, str]], line: int, heads: list[str], layout: Layout, found: _Found) -> None:
    """Take the cells of one row; what is wrong with its place, or stands beyond the head, is a problem."""
    try:
        place = read_place(cells[0][1], layout)
    except BadInput as error:
        found.wrong(line, cells[0][0], f"place: {error}")
        return
    row = found.cells.setdefault(place, {})
    for number, (at, text) in enumerate(cells[1:], 1):
        if not read(text):
            continue
        name = heads[number] if number < len(heads) else ""
        if number >= len(heads):
            found.wrong(line, at, f"cell '{text.strip()[:40]}' stands under no head; a comma too many in this row?")
        elif name in row:
            first = found.at[place, name][0]
            found.wrong(line, at, f"{name} of {place} stands here and in line {first}; keep the one that is right")
        elif name:
            row[name] = text
            found.at[place, name] = (line, at)
