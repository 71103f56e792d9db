"""What a paper is made of, before it is written out: sections of paragraphs, named values, tables, lists and blanks.

Every text in it is cleaned of control and direction-changing characters as the record is made. The writers (`as_text`,
`as_markdown`, `as_json`, `as_html`) add form and never facts.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from diagnose.report.text import clean

NOT_RECORDED = "not recorded"
LINE_ENDS = ("Zl", "Zp")


def safe(text: object) -> str:
    """Return any text with everything a screen or printer could take as a command made visible."""
    shown = clean(str(text)).replace("\t", " ")
    return "".join(f"<{ord(c):04x}>" if unicodedata.category(c) in LINE_ENDS else c for c in shown)


class _Clean:
    """Cleans the named texts of a frozen record as it is made, so that nothing unclean can ever stand on a paper."""

    cleaned: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        for name in self.cleaned:
            object.__setattr__(self, name, safe(getattr(self, name)))


@dataclass(frozen=True)
class Span(_Clean):
    """A stretch of text; `struck` is an old value, kept readable."""

    cleaned = ("text",)
    text: str
    struck: bool = False


Words = tuple[Span, ...]


@dataclass(frozen=True)
class Para:
    """A paragraph; `tone` is plain, quote (a person's own words), alert or small."""

    words: Words
    tone: str = "plain"


@dataclass(frozen=True)
class Pair(_Clean):
    """One named value."""

    cleaned = ("key", "label")
    key: str
    label: str
    words: Words


@dataclass(frozen=True)
class Pairs:
    """Named values, one under the other."""

    rows: tuple[Pair, ...]


@dataclass(frozen=True)
class Table(_Clean):
    """Rows under named columns; the first cell of a row names the row. `columns` are (key, label), both the program's own."""

    cleaned = ("caption",)
    key: str
    caption: str
    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[Words, ...], ...]


@dataclass(frozen=True)
class Bullets:
    """A list."""

    items: tuple[Words, ...]


@dataclass(frozen=True)
class Blanks:
    """Lines for a person to fill in by hand; the tool never fills one. Rows are (label, hint)."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Picture:
    """An inline SVG drawn by this program, with its caption; only the HTML shows it, the others name it."""

    svg: str
    caption: str


Block = Para | Pairs | Table | Bullets | Blanks | Picture


@dataclass(frozen=True)
class Section(_Clean):
    """A headed part of a paper; `key` is its stable name; `new_page`: on paper it starts one."""

    cleaned = ("title",)
    key: str
    title: str
    blocks: tuple[Block, ...] = ()
    parts: tuple[Section, ...] = ()
    new_page: bool = False


@dataclass(frozen=True)
class Paper(_Clean):
    """A whole paper; `lead` stands above the first section, `foot` closes it, `mark` is borne by every printed page."""

    cleaned = ("title", "mark")
    schema: str
    kind: str
    title: str
    about: str
    lead: tuple[Block, ...]
    sections: tuple[Section, ...]
    foot: tuple[Words, ...]
    compact: bool = False
    mark: str = ""


def words(text: object) -> Words:
    """Return plain words of a text; an empty one is said to be not recorded."""
    shown = safe(text).strip()
    return (Span(shown or NOT_RECORDED),)


def struck(text: object) -> Span:
    """Return an old value, struck out."""
    return Span(safe(text).strip() or "(empty)", struck=True)


def para(text: object, tone: str = "plain") -> Para:
    """Return a paragraph of one text."""
    return Para(words(text), tone)


def pair(key: str, label: str, value: object) -> Pair:
    """Return a named value; an empty one is said to be not recorded."""
    return Pair(key, label, words(value))


def pairs(rows: Iterable[Pair]) -> Pairs:
    """Return named values."""
    return Pairs(tuple(rows))


def bullets(items: Iterable[object]) -> Bullets:
    """Return a list of texts."""
    return Bullets(tuple(words(item) for item in items))


def table(key: str, caption: str, columns: Iterable[tuple[str, str]], rows: Iterable[Iterable[object]]) -> Table:
    """Return a table; a cell that is no Words becomes plain words."""
    made = tuple(tuple(cell if isinstance(cell, tuple) else words(cell) for cell in row) for row in rows)
    return Table(key, caption, tuple(columns), made)


def plain(said: Words) -> str:
    """Return words as one text; what is struck out says so."""
    return "".join(f"[struck out: {s.text}]" if s.struck else s.text for s in said)


def facts(paper: Paper) -> Iterator[str]:
    """Yield every text a paper tells, in order: what each writer must show."""
    yield from (paper.kind, paper.title, paper.about)
    for block in paper.lead:
        yield from _block_facts(block)
    for section in paper.sections:
        yield from _section_facts(section)
    yield from (plain(line) for line in paper.foot)


def _section_facts(section: Section) -> Iterator[str]:
    yield section.title
    for block in section.blocks:
        yield from _block_facts(block)
    for part in section.parts:
        yield from _section_facts(part)


def _block_facts(block: Block) -> Iterator[str]:
    if isinstance(block, Para):
        yield plain(block.words)
    elif isinstance(block, Pairs):
        for row in block.rows:
            yield from (row.label, plain(row.words))
    elif isinstance(block, Table):
        yield block.caption
        yield from (label for _, label in block.columns)
        yield from (plain(cell) for row in block.rows for cell in row)
    elif isinstance(block, Bullets):
        yield from (plain(item) for item in block.items)
    elif isinstance(block, Picture):
        yield block.caption
    elif isinstance(block, Blanks):
        yield from (text for row in block.rows for text in row if text)
