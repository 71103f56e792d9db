"""The few shapes the pictures are made of, as SVG text; every text escaped, every id under one prefix.

A picture is drawn 360 units wide, so that one unit is one pixel on the narrowest phone; no text is smaller than
`SMALL`. Everything is ink on white: patterns, outlines and numbers carry the meaning, never colour.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from diagnose.report.text import clean

WIDTH = 360.0
SMALL, NORMAL, LARGE = 10.0, 11.5, 14.0
INK, PALE, PAPER = "#111", "#777", "#fff"
ADVANCE = 0.53  # mean width of a letter of a plain sans-serif face, in its size: an estimate on the wide side


def safe(text: str) -> str:
    """Return text escaped for XML, with what no XML document may hold made visible."""
    return escape("".join(c if c not in "\ufffe\uffff" else f"<{ord(c):04x}>" for c in clean(" ".join(text.split()))))


def fitted(text: str, room: float, size: float = NORMAL) -> str:
    """Return the text, cut with two dots where it is wider than the room."""
    most = max(3, int(room / (size * ADVANCE)))
    return text if len(text) <= most else text[: most - 2].rstrip(" ,:;-(") + ".."


def broken(text: str, room: float, size: float = NORMAL, lines: int = 3) -> list[str]:
    """Return the text in at most so many lines of that room, the last cut where it must be."""
    most = max(3, int(room / (size * ADVANCE)))
    found = textwrap.wrap(clean(text), most, break_on_hyphens=False) or [""]
    if len(found) > lines:
        found = [*found[: lines - 1], fitted(" ".join(found[lines - 1 :]), room, size)]
    return [fitted(line, room, size) for line in found]


@dataclass
class Canvas:
    """Shapes added one after the other; `prefix` keeps its ids apart from those of other pictures in a page."""

    prefix: str
    parts: list[str] = field(default_factory=list)
    patterns: list[str] = field(default_factory=list)
    height: float = 0.0

    def add(self, shape: str) -> None:
        """Add a shape."""
        self.parts.append(shape)

    def text(self, x: float, y: float, text: str, size: float = NORMAL, anchor: str = "start", style: str = "", **data: str) -> None:
        """Add a text on the line `y`; `anchor` is start, middle or end; `style` bold or halo (paper around it).

        `data` becomes data- attributes.
        """
        bold = ' font-weight="700"' if style == "bold" else ""
        halo = f' stroke="{PAPER}" stroke-width="3" paint-order="stroke"' if style == "halo" else ""
        self.add(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}" fill="{INK}"{bold}{halo}{attributes(data)}>'
            f"{safe(text)}</text>"
        )
        self.height = max(self.height, y + 6)

    def paragraph(self, x: float, y: float, text: str, size: float = SMALL) -> float:
        """Add a text in as many lines as it takes to the right edge; return the line below."""
        for line in broken(text, WIDTH - 6 - x, size, 9):
            self.text(x, y, line, size)
            y += size + 3.5
        return y

    def downward(self, x: float, y: float, text: str, size: float = NORMAL, **data: str) -> None:
        """Add a text that starts at `y` and runs straight down."""
        self.add(
            f'<text transform="translate({x:.1f} {y:.1f}) rotate(90)" font-size="{size:g}" '
            f'fill="{INK}"{attributes(data)}>{safe(text)}</text>'
        )

    def line(self, points: Sequence[tuple[float, float]], width: float = 1.0, dash: str = "", ink: str = INK, **data: str) -> None:
        """Add an open line through points."""
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.add(f'<polyline points="{path}" fill="none" stroke="{ink}" stroke-width="{width:g}"{dashes}{attributes(data)}/>')

    def shape(self, points: Iterable[tuple[float, float]], fill: str = PAPER, width: float = 1.0, dash: str = "", **data: str) -> None:
        """Add a closed shape."""
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.add(f'<polygon points="{path}" fill="{fill}" stroke="{INK}" stroke-width="{width:g}"{dashes}{attributes(data)}/>')

    def box(self, x: float, y: float, wide: float, high: float, fill: str = PAPER, width: float = 1.0, ink: str = INK, **data: str) -> None:
        """Add a rectangle with slightly rounded corners."""
        self.add(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}" rx="4" fill="{fill}" '
            f'stroke="{ink}" stroke-width="{width:g}"{attributes(data)}/>'
        )
        self.height = max(self.height, y + high + 2)

    def circle(self, x: float, y: float, radius: float, fill: str = PAPER, width: float = 1.0) -> None:
        """Add a circle."""
        self.add(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{INK}" stroke-width="{width:g}"/>')

    def pattern(self, name: str, size: float, inside: str) -> str:
        """Define a fill pattern and return how a shape names it."""
        ident = f"{self.prefix}-{name}"
        self.patterns.append(
            f'<pattern id="{escape(ident)}" width="{size:g}" height="{size:g}" patternUnits="userSpaceOnUse">'
            f'<rect width="{size:g}" height="{size:g}" fill="{PAPER}"/>{inside}</pattern>'
        )
        return f"url(#{ident})"

    def document(self, title: str, says: str, height: float, most: int = 620) -> str:
        """Return the whole picture; `title` names it, `says` tells in words what it shows."""
        prefix = escape(self.prefix)
        defined = f"<defs>{''.join(self.patterns)}</defs>" if self.patterns else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" id="{prefix}" viewBox="0 0 {WIDTH:g} {height:.0f}" '
            f'aria-labelledby="{prefix}-title {prefix}-desc" font-family="sans-serif" '
            f'style="width:100%;max-width:{most}px;height:auto;display:block">'
            f'<title id="{prefix}-title">{safe(title)}</title><desc id="{prefix}-desc">{safe(says)}</desc>{defined}'
            f'<rect width="{WIDTH:g}" height="{height:.0f}" fill="{PAPER}"/>{"".join(self.parts)}</svg>'
        )


def attributes(data: dict[str, str]) -> str:
    """Return data- attributes."""
    return "".join(f" data-{key}={quoteattr(clean(value))}" for key, value in data.items())
