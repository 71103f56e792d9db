"""The sheet of a shop asked for place by place: what was measured first, then only that, in the engine's order."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.shop_cells import BY_NAME, COLUMNS, Bench, Column, columns_at, places, read
from diagnose.calc.shop_sheet import Sheet, judge
from diagnose.calc.units import read_quantity
from diagnose.cli import keys
from diagnose.cli.pager import show_lines
from diagnose.cli.prompt import Leave, ask
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.text import size

if TYPE_CHECKING:
    from rich.console import Console

BACK, CLEAR = "b", "u"
HELP = "Enter: not looked at, or what stands in brackets; u: not looked at after all; b: one back; q: no more, see how it came out."
FIRST_HELP = "The numbers of what was measured, with blanks between; Enter: all of it. q: leave, nothing is kept."
Cells = dict[str, dict[str, str]]
Words = Callable[[str], str]  # a place -> as it is said


def ask_sheet(bench: Bench, words: Words, judged_as: Callable[[Sheet, Bench], Answer], keep: bool) -> tuple[Sheet, Bench] | None:
    """Return the sheet as asked for and confirmed, None where it is not to be kept (`keep` False: there is no case for it)."""
    out = screens.console()
    cells: Cells = {}
    try:
        wanted = _which(out)
        while (here := _whole_sheet(out, wanted, bench)) is None:
            wanted = _which(out)
        steps = [(p, c) for p in places(here.layout) for c in columns_at(p) if c in wanted or (c.of and BY_NAME[c.of] in wanted)]
        at = 0
        while True:
            with suppress(Leave):  # no more: what was read so far is shown, and kept only once that is said
                _ask_cells(out, steps, at, here, cells, words)
            sheet = judge(cells, here)
            _show(out, sheet, judged_as(sheet, here))
            if not keep or not sheet.judged:
                return None
            text = ask(out, "Enter it in the case? Enter: yes; b: back to the readings; n: no, nothing is kept", {"", "y", "n", BACK})
            if text != BACK:
                return None if text == "n" else (sheet, here)
            at = max(n for n, (p, c) in enumerate(steps) if _due(c, cells.get(p, {}), here))
    except Leave:
        return None


def _show(out: Console, sheet: Sheet, answer: Answer) -> None:
    from diagnose.report.shop_sheet import sheet_lines

    if keys.single():
        out.clear()
    show_lines(sheet_lines(sheet, answer, size()[0]))


def _which(out: Console) -> list[Column]:
    """Ask what was measured at all, so that nothing else is asked about."""
    kinds = [c for c in COLUMNS if c.judge is not None]
    screens.line(out, "What was measured?", "bold")
    for number, column in enumerate(kinds, 1):
        screens.line(out, f"{number} {column.words}", "", 2)
    while True:
        numbers = ask(out, "Numbers, such as 1 5; Enter: all", None, FIRST_HELP).replace(",", " ").split()
        if all(n.isascii() and n.isdigit() and 1 <= int(n[:3]) <= len(kinds) for n in numbers):
            return [kinds[int(n[:3]) - 1] for n in numbers] or kinds
        screens.line(out, f"'{' '.join(numbers)[:40]}' is none of the numbers 1 to {len(kinds)}")


def _whole_sheet(out: Console, wanted: list[Column], bench: Bench) -> Bench | None:
    """Ask what holds for every reading of a kind, and was not given on the command line; None for one step back."""
    if BY_NAME["compression"] in wanted and not bench.hot:
        text = ask(out, "Compression: had the engine just run? y yes, n no, b back", {"y", "n", BACK})
        if text == BACK:
            return None
        bench = replace(bench, hot=text == "y")
    while BY_NAME["insulation"] in wanted and not bench.voltage:
        text = ask(out, "Test voltage of the leads, such as 10 kV (Enter: it stands behind each reading)", None)
        if text.lower() == BACK:
            return None
        try:
            return replace(bench, voltage=text) if not text or read_quantity(text, "voltage", "test voltage") else bench
        except BadInput as error:
            screens.line(out, str(error))
    return bench


def _ask_cells(out: Console, steps: list[tuple[str, Column]], at: int, bench: Bench, cells: Cells, words: Words) -> None:
    """Ask for each cell from number `at` on. Raises Leave where there is to be no more."""
    page = ""
    units: dict[str, str] = {}
    while at < len(steps):
        place, column = steps[at]
        if not _due(column, cells.get(place, {}), bench):
            at += 1
            continue
        page = _page(out, place, page, bench, cells)
        text = _ask_cell(out, column, words(place), cells.setdefault(place, {}), bench, place, units)
        if text != BACK:
            at += 1
            continue
        before = [n for n in range(at) if _due(steps[n][1], cells.get(steps[n][0], {}), bench)]
        at = before[-1] if before else 0
        page = ""
        if not before:
            screens.line(out, "This is the first one.")


def _due(column: Column, row: dict[str, str], bench: Bench) -> bool:
    """Return whether a cell is asked for: one that belongs to another, only where that was read and it is not known already."""
    if not column.of:
        return True
    known = "@" in row.get(column.of, "") or " at " in row.get(column.of, "") or bench.voltage
    return read(row.get(column.of)) and not (column.name == "test_voltage" and known)


def _page(out: Console, place: str, page: str, bench: Bench, cells: Cells) -> str:
    """Begin a page for each cylinder and for the magnetos, on a terminal an empty one with what was given there; return its title."""
    group = place.partition("-")[0]
    title = "Magnetos" if group in bench.layout.places("side") else f"No. {group} of {bench.layout.cylinders}"
    if title == page:
        return page
    if keys.single():
        out.clear()
    screens.line(out, f"SHOP SHEET  {title}   (Enter: not looked at; ? keys)", "bold")
    for where, row in cells.items():
        if where.partition("-")[0] == group and row:
            screens.line(out, f"{where}: {', '.join(f'{BY_NAME[name].words} {text}' for name, text in row.items())}", "dim", 2)
    return title


def _ask_cell(out: Console, column: Column, where: str, row: dict[str, str], bench: Bench, place: str, units: dict[str, str]) -> str:
    """Ask for one cell, judged as it is typed; return what was typed, `b` for a step back, else what now stands there."""
    while True:
        known = row.get(column.name, "")
        text = ask(out, f"{where}, {column.words}, such as {column.example}{f' [{known}]' if known else ''}", None, HELP)
        if text.lower() == BACK:
            return BACK
        if text.lower() == CLEAR:
            row.pop(column.name, None)
            return ""
        if not text:
            return known
        text, fault, told = _taken(column, place, row, text, bench, units)
        if not fault:
            row[column.name] = text
            if told:
                screens.line(out, told, "bold", 2)
            return text
        screens.line(out, f"'{text[:40]}': {fault}", "", 2)


def _taken(column: Column, place: str, row: dict[str, str], text: str, bench: Bench, units: dict[str, str]) -> tuple[str, str, str]:
    """Return a cell as it is kept, what is wrong with it, and what is to be said of it.

    A bare number that could be in more than one unit is in the one that was written at this kind of reading before.
    """
    fault, told = _judged(column, place, {**row, column.name: text}, bench)
    number = re.fullmatch(r"(\d*\.?\d+)\s*(.*)", text)
    if fault and number and not number[2] and column.name in units:
        text = f"{text} {units[column.name]}"
        fault, told = _judged(column, place, {**row, column.name: text}, bench)
    elif number and number[2].isalpha() and not fault:
        units[column.name] = number[2]
    return text, fault, told


def _judged(column: Column, place: str, row: dict[str, str], bench: Bench) -> tuple[str, str]:
    """Return what is wrong with a cell, and what is to be said of it where it is not within limits."""
    if column.judge is None and column.of not in row:
        return "", ""
    about = column.of or column.name
    sheet = judge({place: row}, bench)
    fault = next((f.why for f in sheet.faults if f.column in (column.name, about)), "")
    if fault and column.name == "insulation" and "test voltage" in fault:
        fault = ""  # it is asked for next
    found = next((j for j in sheet.judged if j.column.name == about and j.verdict != "within"), None)
    return fault, f"{found.verdict}: {found.why}" if found else ""
