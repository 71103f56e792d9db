"""How belief moved from step to step of the work, one line for each cause that mattered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.report.pictures.columns import OUTSIDE, Batch, Column, columns, mattered, share
from diagnose.report.pictures.levels import short_percent
from diagnose.report.pictures.svg import INK, NORMAL, PALE, PAPER, SMALL, Canvas, broken
from diagnose.review.replay import Moment, Ranking, ranking
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble

LEFT, RIGHT, TOP, BOTTOM = 34.0, 222.0, 34.0, 264.0
LABEL = 242.0  # where the labels at the line ends begin
WORDS = 38  # letters of a step's words under the axis
APART = 2.5  # units between lines that would hide each other
# Told apart by the dashes of the line and by the mark on it.
DASHES = ("", "7 3", "2 2.5", "9 3 2 3", "4 4", "1.5 4")
WIDTHS = (2.4, 1.8, 1.8, 1.5, 1.2, 1.5)


def belief_chart(steps: Iterable[Moment], network: Network | None = None, runs: Sequence[Batch] = (), prefix: str = "belief-chart") -> str:
    """Return how likely each cause that mattered was after every step of the work that moved belief, as SVG.

    `steps` come from `diagnose.review.replay.moments`; `runs` say which entries are one step (else each is its own). Steps stand
    evenly apart, whatever the clock said. With the network causes have their labels, else their ids.
    """
    every = tuple(steps)
    causes = mattered(every)
    found = columns(every, runs, causes, network)
    canvas = Canvas(prefix)
    title = "How likely each cause was after each step of the work"
    if not found:
        canvas.text(10, 24, "Nothing recorded has moved belief yet.")
        return canvas.document(title, "Nothing recorded has moved belief yet.", 40)
    _axis(canvas, found)
    start = _start(next(s for s in every if s.moved), network)
    shifts = _shifts(causes, (start, *(c.after for c in found)))
    for number, cause in enumerate(causes):
        _curve(canvas, number, cause, start, found, shifts[cause])
    _labels(canvas, causes, found[-1].after, network)
    bottom = BOTTOM + 14 + max(len(f"{c.numbers} {c.words}"[:WORDS]) for c in found) * SMALL * 0.55
    told = (
        "Under the axis: entry numbers and the step; DONE is a repair. x +4: five steps that moved little, x most. "
        "Lines that would hide each other are drawn a little apart; the numbers at their ends are exact."
    )
    bottom = canvas.paragraph(6, bottom + 12, told)
    return canvas.document(title, _says(causes, found, network), bottom - 6)


def _start(first: Moment, network: Network | None) -> Ranking:
    """Return what was believed before the first entry: the priors, where the network is known to tell them."""
    if first.before.causes:
        return first.before
    return ranking(network, Trouble()) if network is not None else first.after


def _x(number: int, count: int) -> float:
    """Return where column `number` stands; 0 is the state before the first."""
    return LEFT + (RIGHT - LEFT) * number / count


def _y(value: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * value


def _axis(canvas: Canvas, found: Sequence[Column]) -> None:
    what = "it causes the complaint" if found[-1].after.unmodelled is not None else "it is there (no complaint yet)"
    canvas.text(6, 15, f"How likely {what}, in percent", NORMAL, style="bold")
    for value in (0.0, 0.25, 0.5, 0.75, 1.0):
        canvas.line([(LEFT, _y(value)), (RIGHT, _y(value))], 0.6, "" if value == 0 else "1 3", INK if value == 0 else PALE)
        canvas.text(LEFT - 5, _y(value) + 4, f"{value * 100:.0f}", NORMAL, "end")
    for number, column in enumerate(found, 1):
        x = _x(number, len(found))
        canvas.line([(x, BOTTOM), (x, BOTTOM + 4)])
        if column.repair:
            canvas.line([(x, TOP), (x, BOTTOM)], 0.8, "5 2", PALE)
        canvas.downward(x - 3.2, BOTTOM + 8, f"{column.numbers} {column.words}"[:WORDS], SMALL, entry=column.numbers)


def _shifts(causes: Sequence[str], rankings: Sequence[Ranking]) -> dict[str, list[float]]:
    """Return for each cause how far its line is drawn above its value at each column, so that equal lines stay apart."""
    found: dict[str, list[float]] = {cause: [] for cause in causes}
    for after in rankings:
        last = BOTTOM + APART
        for cause in sorted(causes, key=lambda c: (-_y(share(after, c)), causes.index(c))):
            y = min(_y(share(after, cause)), last - APART)
            found[cause].append(y - _y(share(after, cause)))
            last = y
    return found


def _curve(canvas: Canvas, number: int, cause: str, start: Ranking, found: Sequence[Column], shifts: Sequence[float]) -> None:
    values = [share(start, cause), *(share(c.after, cause) for c in found)]
    points = [(_x(i, len(found)), _y(v) + shifts[i]) for i, v in enumerate(values)]
    canvas.line(points, WIDTHS[number], DASHES[number], cause=cause or "outside", values=" ".join(f"{v:.6f}" for v in values))
    for x, y in points[1:]:
        _mark(canvas, number, x, y)


def _mark(canvas: Canvas, number: int, x: float, y: float) -> None:
    """Draw the mark of a line: disc, square, triangle, ring, open square, open triangle."""
    fill = INK if number < 3 else PAPER
    kind, r = number % 3, 3.0
    if kind == 0:
        canvas.circle(x, y, r, fill)
    elif kind == 1:
        canvas.shape([(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)], fill)
    else:
        canvas.shape([(x, y - r - 1), (x + r + 1, y + r), (x - r - 1, y + r)], fill)


def _labels(canvas: Canvas, causes: Sequence[str], last: Ranking, network: Network | None) -> None:
    """Write each line's name and number at its end, pushed apart where the ends lie together."""
    high = 39.0
    wanted = [_y(share(last, cause)) for cause in causes]
    spots: list[float] = []
    for y in wanted:
        spots.append(max(y, spots[-1] + high if spots else TOP))
    limit = BOTTOM - 4
    for i in reversed(range(len(spots))):
        spots[i] = min(spots[i], limit - high * (len(spots) - 1 - i))
    for number, (cause, spot) in enumerate(zip(causes, spots, strict=True)):
        canvas.line([(RIGHT + 4, wanted[number]), (LABEL - 12, spot)], 0.6, "", PALE)
        _mark(canvas, number, LABEL - 7, spot)
        place, label = _name(cause, network)
        canvas.text(LABEL, spot + 1, f"{place} {short_percent(share(last, cause))}", NORMAL, style="bold", of=cause or "outside")
        for row, line in enumerate(broken(label, 360 - LABEL, SMALL, 2)):
            canvas.text(LABEL, spot + 13 + 11 * row, line, SMALL)


def _name(cause: str, network: Network | None) -> tuple[str, str]:
    """Return place and label of a cause."""
    if cause == OUTSIDE:
        return "other", "not in this rule base"
    ident, _, place = cause.partition("@")
    if network is None or cause not in network.causes:
        return place, ident.replace("_", " ")
    return place, network.causes[cause].cause.label


def _says(causes: Sequence[str], found: Sequence[Column], network: Network | None) -> str:
    told = []
    for cause in causes:
        values = [share(c.after, cause) for c in found]
        peak = max(range(len(found)), key=lambda i: values[i])
        place, label = _name(cause, network)
        told.append(
            f"{label} ({place}) ends at {short_percent(values[-1])}, highest {short_percent(values[peak])} after entry {found[peak].last}"
        )
    repairs = ", ".join(c.numbers for c in found if c.repair)
    return f"A line for each cause that mattered over entries {found[0].first} to {found[-1].last}. {'; '.join(told)}." + (
        f" Repairs at entry {repairs}." if repairs else ""
    )
