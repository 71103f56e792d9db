"""A drawing as lines of plain letters, never wider than it is told."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.report.drawings.shapes import Axis, Bars, Curves, Drawing, Grid
from diagnose.report.text import WIDTH, columns, folded

HIGH = 11  # lines of a drawing of curves
INDENT = 2


def text_of(drawing: Drawing, width: int = WIDTH) -> list[str]:
    """Return the lines of a drawing: its title, the drawing, where its numbers come from."""
    if isinstance(drawing, Bars):
        lines = _bars(drawing, width)
    elif isinstance(drawing, Axis):
        lines = _axis(drawing, width)
    elif isinstance(drawing, Curves):
        lines = _curves(drawing, width)
    else:
        lines = _grid(drawing, width)
    return [*folded(drawing.title, width), *lines, *folded(f"({drawing.basis})", width, " " * INDENT, " " * INDENT)]


def _bars(drawing: Bars, width: int) -> list[str]:
    values = [bar.value for bar in drawing.bars if bar.value is not None]
    label = max(len(bar.label) for bar in drawing.bars if bar.value is not None) + INDENT
    signed = min(values) < 0
    told = {value: f"{value:+.0f}" if signed else f"{value:.0f}" if max(values) >= 20 else f"{value:.1f}" for value in values}
    tail = max(map(len, told.values())) + len(drawing.unit) + 2
    room = width - label - 2 - tail
    most = max(max(values), 0.0) - min(*values, 0.0) or 1.0
    left = round(room * -min(*values, 0.0) / most)
    lines = []
    for bar in drawing.bars:
        if bar.value is None:
            lines.append(" " * INDENT + bar.label)
            continue
        long = round(room * abs(bar.value) / most)
        below, above = ("#" * long if bar.value < 0 else "", "#" * long if bar.value > 0 else "")
        head = f"{' ' * INDENT}{bar.label}".ljust(label + 1)
        lines.append(f"{head}{below.rjust(left)}|{above} {told[bar.value]} {drawing.unit}".rstrip())
    return lines


def _axis(drawing: Axis, width: int) -> list[str]:
    label = max(len(row.label) for row in drawing.rows) + INDENT + 2
    room = width - label - 2
    lines = []
    for row in drawing.rows:
        cells = ["."] * room
        for start, end, sign in row.spans:
            for at in range(_at(drawing, start, room), _at(drawing, end, room) + 1):
                cells[at] = sign
        for where, sign in row.spots:
            cells[_at(drawing, where, room)] = sign
        lines.append(f"{' ' * INDENT}{row.label}".ljust(label) + "".join(cells))
    ticks = [(_at(drawing, where, room), word) for where, word in drawing.ticks]
    lines += [" " * label + line for line in _ticks(ticks, room)]
    return [*lines, *(line for text in drawing.legend for line in folded(text, width, " " * INDENT, " " * (INDENT + 4)))]


def _at(drawing: Axis, where: float, room: int) -> int:
    share = (where - drawing.low) / (drawing.high - drawing.low)
    return min(room - 1, max(0, round(share * (room - 1))))


def _ticks(ticks: Sequence[tuple[int, str]], room: int) -> list[str]:
    """Return a line of marks and a line of their words, each word under its mark and inside the room."""
    marks, words = [" "] * room, [" "] * room
    end = -1
    for at, word in sorted(ticks):
        marks[at] = "|"
        start = max(end + 1, min(at - len(word) // 2, room - len(word)))
        if start + len(word) <= room:
            words[start : start + len(word)] = word
            end = start + len(word)
    return ["".join(marks).rstrip(), "".join(words).rstrip()]


def _curves(drawing: Curves, width: int) -> list[str]:
    every = [point for curve in drawing.curves for point in curve.points]
    low, high = min(x for x, _ in every), max(x for x, _ in every)
    bottom, top = min(y for _, y in every), max(y for _, y in every)
    label = max(len(_number(value)) for value in (bottom, 0.0, top)) + 1
    room = width - 2 * INDENT - label
    cells = [[" "] * room for _ in range(HIGH)]

    def column(x: float) -> int:
        return round((x - low) / (high - low) * (room - 1))

    def line(y: float) -> int:
        return HIGH - 1 - round((y - bottom) / (top - bottom) * (HIGH - 1))

    for where, _ in drawing.ticks:
        for row in cells:
            row[column(where)] = ":"
    for curve in drawing.curves:
        for x, y in curve.points:
            cells[line(y)][column(x)] = curve.sign
    numbers = {line(value): _number(value) for value in (bottom, 0.0, top) if bottom <= value <= top}
    lines = [" " * INDENT + numbers.get(n, "").rjust(label - 1) + " " + "".join(row).rstrip() for n, row in enumerate(cells)]
    ticks = [(column(where), word) for where, word in drawing.ticks]
    legend = [f"{curve.sign} {curve.label}" for curve in drawing.curves]
    told = f"up: {drawing.up}; along: {drawing.along}; {'; '.join(legend)}"
    return [*lines, *(" " * (INDENT + label) + marks for marks in _ticks(ticks, room)), *folded(told, width, " " * INDENT, " " * INDENT)]


def _number(value: float) -> str:
    return f"{value:+.1f}" if value else "0"


def _grid(drawing: Grid, width: int) -> list[str]:
    says = folded(drawing.says, width, " " * INDENT, " " * INDENT) if drawing.says else []
    return [*columns([drawing.heads, *drawing.rows], width, INDENT), *says]
