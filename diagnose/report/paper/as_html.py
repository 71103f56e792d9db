"""A paper as one HTML file that needs nothing else: no script, no outside file, readable on a phone and on paper."""

from __future__ import annotations

from pathlib import Path

from diagnose.report.paper.model import Block, Pair, Paper

CONTENTS_FROM = 8  # sections from which a list of contents helps
HALF_LINE = 60  # characters of a value that half a page's width holds well


def paper_html(paper: Paper) -> str:
    """Return the HTML document; every text goes through escaping, only the program's own pictures do not."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    loader = FileSystemLoader(Path(__file__).parent / "templates")
    made = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True
    )
    made.filters["kind"] = _kind
    made.filters["long"] = _long
    made.filters["css"] = css_text
    contents = len(paper.sections) >= CONTENTS_FROM
    return made.get_template("paper.html.j2").render(paper=paper, contents=contents)


def _kind(block: Block) -> str:
    return type(block).__name__.lower()


def _long(row: Pair) -> bool:
    """Return whether a value wants the whole width on paper, where values otherwise stand in two columns."""
    return sum(len(s.text) for s in row.words) > HALF_LINE


def css_text(text: str) -> str:
    """Return a text for a string of the style sheet: all but plain letters and digits as CSS escapes, so that none can end it."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):06x}" for c in text)
