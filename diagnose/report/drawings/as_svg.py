"""A drawing as an SVG picture, by the shapes that the pictures of a case are made of."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.report.drawings.shapes import Axis, Bars, Curves, Drawing, Grid
from diagnose.report.pictures.svg import INK, LARGE, NORMAL, PALE, SMALL, WIDTH, Canvas, broken

EDGE = 8.0
LABEL = 138.0  # where bars and rows of an axis begin
ROW = 17.0
DASHES = ("1 3", "", "4 2")


def svg_of(drawing: Drawing, name: str) -> str:
    """Return the picture of a drawing; its ids begin with `name`."""
    canvas = Canvas(f"explain-{name.replace('_', '-')}")
    y = 18.0
    for line in broken(drawing.title, WIDTH - 2 * EDGE, NORMAL):
        canvas.text(EDGE, y, line, NORMAL, style="bold")
        y += LARGE
    draw = next(maker for kind, maker in _MAKERS if isinstance(drawing, kind))
    y = canvas.paragraph(EDGE, draw(canvas, drawing, y + 4) + 6, drawing.basis)
    return canvas.document(drawing.title, drawing.basis, y)


def _bars(canvas: Canvas, drawing: Bars, y: float) -> float:
    values = [bar.value for bar in drawing.bars if bar.value is not None]
    low, high = min(*values, 0.0), max(*values, 0.0)
    room = WIDTH - LABEL - 60

    def x(value: float) -> float:
        return LABEL + room * (value - low) / (high - low)

    for bar in drawing.bars:
        y += ROW
        canvas.text(EDGE, y, bar.label, SMALL, style="bold" if bar.value is None else "")
        if bar.value is not None:
            canvas.box(x(min(0.0, bar.value)), y - 9, max(1.0, abs(x(bar.value) - x(0.0))), 10, PALE)
            told = f"{bar.value:+.0f}" if low < 0 else f"{bar.value:.0f}" if high >= 20 else f"{bar.value:.1f}"
            canvas.text(WIDTH - EDGE, y, f"{told} {drawing.unit}", SMALL, "end")
    return y + ROW


def _axis(canvas: Canvas, drawing: Axis, y: float) -> float:
    def x(where: float) -> float:
        inside = min(drawing.high, max(drawing.low, where))
        return LABEL + (WIDTH - EDGE - LABEL) * (inside - drawing.low) / (drawing.high - drawing.low)

    for row in drawing.rows:
        y += ROW
        canvas.text(EDGE, y, row.label, SMALL)
        canvas.line([(LABEL, y - 4), (WIDTH - EDGE, y - 4)], 0.5, "1 3")
        for start, end, sign in row.spans:
            canvas.box(x(start), y - 9, x(end) - x(start), 10, INK if sign == "*" else PALE)
        for where, sign in row.spots:
            canvas.circle(x(where), y - 4, 3.5, INK)
            canvas.text(x(where) + 6, y - 6, sign, SMALL, style="halo")
    y = _ticks(canvas, [(x(where), word) for where, word in drawing.ticks], y)
    for text in drawing.legend:
        y = canvas.paragraph(EDGE, y + SMALL, text)
    return y


def _ticks(canvas: Canvas, ticks: Sequence[tuple[float, str]], y: float) -> float:
    """Draw marks of an axis below `y` and their words in two rows by turns, so that neighbours do not meet; return the line below."""
    for number, (x, word) in enumerate(ticks):
        canvas.line([(x, y), (x, y + 5)])
        canvas.text(x, y + 15 + 11 * (number % 2), word, SMALL, "start" if x < WIDTH / 4 else "end" if x > WIDTH - 30 else "middle")
    return y + 32


def _curves(canvas: Canvas, drawing: Curves, y: float) -> float:
    every = [point for curve in drawing.curves for point in curve.points]
    low, high = min(p[0] for p in every), max(p[0] for p in every)
    bottom, top = min(p[1] for p in every), max(p[1] for p in every)
    tall = 150.0

    def place(at: float, value: float) -> tuple[float, float]:
        return EDGE + (WIDTH - 2 * EDGE) * (at - low) / (high - low), y + tall * (top - value) / (top - bottom)

    for number, curve in enumerate(drawing.curves):
        canvas.line([place(*point) for point in curve.points], 1.6, DASHES[number % len(DASHES)])
    for where, _ in drawing.ticks:
        canvas.line([place(where, top), place(where, bottom)], 0.5, "1 4", PALE)
    for value in (bottom, 0.0, top):
        if bottom <= value <= top:
            canvas.text(EDGE + 2, place(low, value)[1] - 2, f"{value:+.1f}" if value else "0", SMALL, style="halo")
    below = _ticks(canvas, [(place(where, 0.0)[0], word) for where, word in drawing.ticks], y + tall)
    for number, curve in enumerate(drawing.curves):
        below += LARGE
        canvas.line([(EDGE, below - 4), (EDGE + 26, below - 4)], 1.6, DASHES[number % len(DASHES)])
        canvas.text(EDGE + 32, below, curve.label, SMALL)
    return below + LARGE


def _grid(canvas: Canvas, drawing: Grid, y: float) -> float:
    wide = (WIDTH - 2 * EDGE) / len(drawing.heads)
    for number, row in enumerate((drawing.heads, *drawing.rows)):
        y += ROW
        for column, word in enumerate(row):
            canvas.text(EDGE + wide * column, y, word, SMALL, style="" if number else "bold")
    return canvas.paragraph(EDGE, y + ROW, drawing.says)


_MAKERS: tuple[tuple[type, Callable[..., float]], ...] = ((Bars, _bars), (Axis, _axis), (Curves, _curves), (Grid, _grid))
