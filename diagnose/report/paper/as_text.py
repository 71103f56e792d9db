"""A paper as plain text, 80 columns wide."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.report.paper.model import Blanks, Block, Bullets, Pairs, Paper, Para, Picture, Section, Table, plain
from diagnose.report.text import folded


def paper_text(paper: Paper) -> str:
    """Return the text, ending in a line end."""
    return "\n".join(_lines(paper)) + "\n"


def _lines(paper: Paper) -> Iterator[str]:
    yield from _wrapped(paper.kind.upper())
    yield from _wrapped(paper.title)
    yield from _wrapped(paper.about)
    for block in paper.lead:
        yield from ("", *_block(block))
    for section in paper.sections:
        yield from _section(section, "=")
    yield ""
    for line in paper.foot:
        yield from _wrapped(plain(line))


def _section(section: Section, rule: str) -> Iterator[str]:
    yield ""
    title = list(_wrapped(section.title))
    yield from title
    yield rule * max(len(line) for line in title)
    for block in section.blocks:
        yield from _block(block)
    for part in section.parts:
        yield from _section(part, "-")


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Para):
        marks = {"quote": "| ", "alert": "! "}.get(block.tone, "")
        yield from _wrapped(plain(block.words), marks)
    elif isinstance(block, Pairs):
        for row in block.rows:
            yield from _wrapped(f"{row.label}: {plain(row.words)}", "", "    ")
    elif isinstance(block, Table):
        yield from _table(block)
    elif isinstance(block, Bullets):
        for item in block.items:
            yield from _wrapped(plain(item), "- ", "  ")
    elif isinstance(block, Picture):
        yield from _wrapped(block.caption)
    elif isinstance(block, Blanks):
        for label, hint in block.rows:
            yield from _wrapped(f"{label}{f' ({hint})' if hint else ''}: {'_' * 24}")


def _table(table: Table) -> Iterator[str]:
    """Yield a table row by row, each cell under its own name: cells hold sentences, which columns would break."""
    yield from _wrapped(table.caption)
    for row in table.rows:
        for number, (cell, (_, label)) in enumerate(zip(row, table.columns, strict=True)):
            yield from _wrapped(f"{label}: {plain(cell)}", "- " if number == 0 else "  ", "    ")


def _wrapped(text: str, first: str = "", under: str = "") -> Iterator[str]:
    """Yield a text broken to the width; the line ends a person wrote are kept, each line marked like the first."""
    for number, line in enumerate(text.split("\n")):
        lead = first if number == 0 or first in ("| ", "! ") else under
        yield from folded(line, first=lead, under=first if first in ("| ", "! ") else under)
