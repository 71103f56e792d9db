"""How suspect something is, as one of five fillings that differ in pattern and in darkness, and as a number."""

from __future__ import annotations

from diagnose.report.pictures.svg import INK, NORMAL, PAPER, SMALL, Canvas

# Bands of a picture, not of the finding: the number stands beside every filling.
BANDS = ((0.5, "50 % and over"), (0.2, "20 to 50 %"), (0.05, "5 to 20 %"), (0.01, "1 to 5 %"), (0.0, "under 1 %"))
HIGHEST = len(BANDS) - 1


def level(share: float) -> int:
    """Return 0 (hardly suspect) to 4 (most suspect)."""
    return next(HIGHEST - i for i, (least, _) in enumerate(BANDS) if share >= least)


def short_percent(share: float) -> str:
    """Return a share in whole percent, never 0 or 100: `<1%`, `43%`, `>99%`."""
    if share < 0.01:
        return "<1%"
    return ">99%" if share > 0.99 else f"{share * 100:.0f}%"


def fillings(canvas: Canvas) -> tuple[str, ...]:
    """Define the five fillings, palest first."""
    stroke = f'stroke="{INK}" fill="none"'
    return (
        PAPER,
        canvas.pattern("dots", 5, f'<circle cx="2.5" cy="2.5" r="0.8" fill="{INK}"/>'),
        canvas.pattern("stripes", 5, f'<path d="M-1,6 L6,-1" {stroke} stroke-width="1.1"/>'),
        canvas.pattern("lattice", 5, f'<path d="M-1,6 L6,-1 M-1,-1 L6,6" {stroke} stroke-width="1.3"/>'),
        INK,
    )


def legend(canvas: Canvas, x: float, y: float, fills: tuple[str, ...]) -> float:
    """Draw what the fillings mean in two columns and return the line below."""
    canvas.text(x, y, "How suspect (the number is in percent):", NORMAL, style="bold")
    for number, (_, words) in enumerate(BANDS):
        left, top = x + 118 * (number % 3), y + 8 + 19 * (number // 3)
        canvas.box(left, top, 18, 13, fills[HIGHEST - number])
        canvas.text(left + 23, top + 10.5, words, SMALL + 1)
    return y + 8 + 19 * 2 + 12
