"""The sheet of a shop on a screen: how it came out first, then what is not within limits, and by which limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from diagnose.calc.answer import Answer, Limit, as_json
from diagnose.calc.shop_cells import COLUMNS, Column
from diagnose.calc.shop_sheet import VERDICTS, Judged, Sheet, headline
from diagnose.report.calculation import figure
from diagnose.report.text import WIDTH, clean, columns, folded

WITHIN = VERDICTS["no"]


def sheet_lines(sheet: Sheet, answer: Answer, width: int = WIDTH) -> list[str]:
    """Return the sheet as lines of at most `width` columns: verdicts, worst first, then what is within, not looked at, and the limits."""
    sources = list(dict.fromkeys(limit.standing for limit in answer.limits))
    lines = folded(headline(sheet)[0].upper() + headline(sheet)[1:], width)
    rows = [
        (
            j.verdict,
            j.place,
            f"{j.column.words} {j.cell}",
            f"{_figure(j.limit).rpartition(', ')[2]} [{sources.index(j.limit.standing) + 1}]",
        )
        for words in VERDICTS.values()
        for j in sheet.judged
        if j.verdict == words != WITHIN
    ]
    lines += columns([("verdict", "place", "reading", "limit"), *rows], width, indent=0) if rows else []
    rest: list[tuple[str, ...]] = [(WITHIN, text) for text in _by_column([(j.place, j.column) for j in sheet.judged if _sound(j)])]
    rest += [("not read", text) for text in _not_read(sheet)]
    lines += ["", *columns(rest, width, indent=0)] if rest else []
    lines += ["", *_limits(answer.limits, sources, width)] if sources else []
    return [clean(line) for line in lines]


def _sound(judged: Judged) -> bool:
    return judged.verdict == WITHIN


def _by_column(cells: Sequence[tuple[str, Column]]) -> Iterator[str]:
    """Yield for each kind of reading the places it was found at."""
    for column in COLUMNS:
        found = [place for place, c in cells if c == column]
        if found:
            yield f"{column.words}: {', '.join(found)}"


def _not_read(sheet: Sheet) -> Iterator[str]:
    """Yield what was not looked at: the places where a kind of reading was taken elsewhere, then the kinds taken nowhere."""
    taken = {j.column for j in sheet.judged}
    yield from _by_column([(place, c) for place, c in sheet.empty if c in taken])
    nowhere = [c.words for c in COLUMNS if c.judge is not None and c not in taken]
    if nowhere:
        yield f"{', '.join(nowhere)}: anywhere"


def _figure(limit: Limit) -> str:
    return f"{limit.name} {figure(limit.value)} {limit.unit}"


def _short(limit: Limit, sources: Sequence[str]) -> str:
    """Return a limit without its name, and the number its source stands under."""
    return f"{_figure(limit).rpartition(', ')[2]} [{sources.index(limit.standing) + 1}]"


def _limits(limits: Sequence[Limit], sources: Sequence[str], width: int) -> list[str]:
    """Return each source once, with the limits that come from it."""
    told = [f"{', '.join(_figure(limit) for limit in limits if limit.standing == source)}: {source}" for source in sources]
    return [line for number, text in enumerate(told, 1) for line in folded(text, width, f"[{number}] ", "    ")]


def sheet_json(sheet: Sheet, answer: Answer) -> Mapping[str, Any]:
    """Return the sheet for other programs: the answer, and a verdict for every cell."""
    cells = [
        {"place": j.place, "reading": j.column.name, "cell": j.cell, "verdict": j.verdict, "why": j.why, "results": list(j.answer.results)}
        for j in sheet.judged
    ]
    return {**as_json(answer), "cells": cells, "not_read": [{"place": place, "reading": c.name} for place, c in sheet.empty]}
