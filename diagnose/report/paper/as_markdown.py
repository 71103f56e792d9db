"""A paper as Markdown (CommonMark with tables and struck-out text). Whatever a person wrote comes out as text."""

from __future__ import annotations

import re
from collections.abc import Iterator

from diagnose.report.paper.model import Blanks, Block, Bullets, Pairs, Paper, Para, Picture, Section, Table, Words

_MEANING = re.compile(r"([\\`*_\[\]<>&|~#$!@])")
_STARTS = re.compile(r"^(\s*)(?:([-+=:])|(\d+)([.)])(?=\s|$))")
_LINKS = re.compile(r"(?i)\b(https?|ftp)(:)|\b(www)(\.)")


def paper_markdown(paper: Paper) -> str:
    """Return the Markdown, ending in a line end."""
    return "\n\n".join(_pieces(paper)) + "\n"


def escaped(text: str) -> str:
    """Return a text with every character that Markdown could take for form escaped, line by line."""
    return "\n".join(_line(line) for line in text.split("\n"))


def _line(line: str) -> str:
    marked = _MEANING.sub(r"\\\1", line)
    marked = _LINKS.sub(lambda m: f"{m[1]}\\:" if m[1] else f"{m[3]}\\.", marked)
    return _STARTS.sub(lambda m: f"{m[1]}\\{m[2]}" if m[2] else f"{m[1]}{m[3]}\\{m[4]}", marked)


def _pieces(paper: Paper) -> Iterator[str]:
    yield f"# {_flat(paper.kind)}: {_flat(paper.title)}"
    yield escaped(paper.about)
    for block in paper.lead:
        yield from _block(block)
    for section in paper.sections:
        yield from _section(section, 2)
    yield "---"
    for line in paper.foot:
        yield _broken(line)


def _flat(text: str) -> str:
    return escaped(" ".join(text.split()))


def _section(section: Section, level: int) -> Iterator[str]:
    yield f"{'#' * level} {_flat(section.title)}"
    for block in section.blocks:
        yield from _block(block)
    for part in section.parts:
        yield from _section(part, level + 1)


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Para):
        text = _broken(block.words)
        mark = {"quote": "> ", "alert": "> **!** "}.get(block.tone, "")
        yield f"{mark}{text}".replace("\n", "\n> ") if mark else text
    elif isinstance(block, Pairs):
        yield "\n".join(f"- **{_flat(r.label)}:** {_broken(r.words, '  ')}" for r in block.rows)
    elif isinstance(block, Bullets):
        yield "\n".join(f"- {_broken(item, '  ')}" for item in block.items)
    elif isinstance(block, Table):
        yield f"**{_flat(block.caption)}**"
        yield "\n".join(_table(block))
    elif isinstance(block, Picture):
        yield _flat(block.caption)
    elif isinstance(block, Blanks):
        yield "\n".join(f"- **{_flat(label)}:** {f'({_flat(hint)}) ' if hint else ''}{chr(92)}_{'_' * 20}" for label, hint in block.rows)


def _table(table: Table) -> Iterator[str]:
    yield "| " + " | ".join(_flat(label) for _, label in table.columns) + " |"
    yield "|" + " --- |" * len(table.columns)
    for row in table.rows:
        yield "| " + " | ".join(_said(cell).replace("\n", "<br>") for cell in row) + " |"


def _said(said: Words) -> str:
    return "".join(f"~~{escaped(s.text)}~~" if s.struck else escaped(s.text) for s in said)


def _broken(said: Words, under: str = "") -> str:
    """Return words with the line ends a person wrote kept as hard breaks."""
    return _said(said).replace("\n", f"\\\n{under}")
