"""One step on one screen: what is to be said as data, and the lines that hold it, never more than the screen has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from diagnose.report.text import SIZE, clean, cut, folded

MARK = 10  # columns of the word at the left


@dataclass(frozen=True)
class Row:
    """One line of two cells: words at the left, a share or what it leads to at the right."""

    left: str
    right: str = ""


@dataclass(frozen=True)
class Glance:
    """What one step screen says. Only `state`, `do` and `keys` must be there; `cautions` are in their short form.

    `aircraft`: its state as recorded; `facts`: where, minutes, people, what it needs; `first`: what comes before it; `more`: what stands
    under a key; `mark`: what stands before what is to be done, another word where it is not advised.
    """

    state: str
    do: str
    keys: str
    about: str = ""
    noted: str = ""
    alarms: tuple[str, ...] = ()
    aircraft: str = ""
    facts: str = ""
    how: str = ""
    cautions: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    suspects: tuple[Row, ...] = ()
    more: str = ""
    then: str = ""
    leads: tuple[Row, ...] = ()
    mark: str = "DO NEXT"


@dataclass
class _Part:
    """Blocks of lines, at least so many of them are shown; the part with the lowest `rank` grows first and is cut last."""

    blocks: Sequence[Sequence[str]]
    least: int
    rank: int
    hint: str = ""
    shown: int = field(default=0)

    def height(self, count: int) -> int:
        """Return the lines of the first blocks."""
        return sum(map(len, self.blocks[:count]))


def composed(glance: Glance, width: int = SIZE[0], height: int = SIZE[1]) -> list[str]:
    """Return a step as at most `height` lines of at most `width` columns, the keys on the last; what is left out stands under a key."""
    keys = prompt_lines(glance.keys, width)
    parts = _parts(glance, width)
    _share_out(parts, height - len(keys))
    lines = [line for part in parts for line in _shown(part, width)]
    while lines and not lines[-1]:
        lines.pop()
    return [*lines, *keys][-height:]


def prompt_lines(question: str, width: int) -> list[str]:
    """Return a question as it stands before what is typed."""
    return folded(f"{clean(question)} >", width - 1)


def _parts(g: Glance, width: int) -> list[_Part]:
    alarms = [line for text in g.alarms for line in folded(clean(f"!! {text}"), width, "", "   ")]
    return [
        _part([cut(clean(g.state), width)], 1, 0),
        _part(_marked("", g.about, width, 0), 1, 9, "(l)"),
        _part(_marked("", g.noted, width, 0), 1, 4),
        _part(alarms, len(alarms), 0),  # a line of danger is never cut
        _part(_marked("AIRCRAFT", g.aircraft, width), 1, 4, "(l)"),
        _gap(),
        _part(_marked(g.mark, g.do, width), 2, 1),
        _part(_marked("", g.facts, width), 1, 3),
        _part(_marked("HOW", g.how, width), 2, 8, "(h)"),
        _part([line for text in g.first for line in _marked("FIRST", text, width)], 1, 4, "(c)"),
        _part([_cautions(g.cautions, width)] if g.cautions else [], 1, 2),
        _gap(),
        _suspects(g, width),
        _gap(),
        _leads(g, width),
        _gap(),
    ]


def _part(lines: Sequence[str], least: int, rank: int, hint: str = "") -> _Part:
    return _Part([[line] for line in lines], min(least, len(lines)), rank, hint)


def _gap() -> _Part:
    return _Part([[""]], 0, 6)


def _suspects(g: Glance, width: int) -> _Part:
    if not g.suspects:
        return _part([], 0, 5)
    return _part([cut(f"{'SUSPECTS':<{MARK}}{g.more}", width), *(_row(row, width) for row in g.suspects)], 4, 5)


def _leads(g: Glance, width: int) -> _Part:
    if not g.then:
        return _part([], 0, 7)
    rows = [_lead(row, width) for row in g.leads]
    head = [cut(g.then, width), *(rows[0] if rows else [])]  # a heading never stands alone
    return _Part([head, *rows[1:]], min(2, 1 + len(rows[1:])), 7)


def _share_out(parts: Sequence[_Part], room: int) -> None:
    """Give every part its least, then what is left in the order of rank; take from the last of that order where the least is too much."""
    order = sorted(parts, key=lambda p: p.rank)
    left = room - sum(p.height(p.least) for p in parts)
    for part in reversed(order):
        part.shown = part.least
        while left < 0 and part.shown:
            part.shown -= 1
            left += len(part.blocks[part.shown])
    for part in order:
        while part.shown < len(part.blocks) and len(part.blocks[part.shown]) <= left:
            left -= len(part.blocks[part.shown])
            part.shown += 1


def _shown(part: _Part, width: int) -> list[str]:
    lines = [line for block in part.blocks[: part.shown] for line in block]
    if lines and part.hint and part.shown < len(part.blocks):
        lines[-1] = f"{cut(f'{lines[-1]} {part.blocks[part.shown][0].strip()}', width - len(part.hint) - 1)} {part.hint}"
    return lines


def _marked(mark: str, text: str, width: int, indent: int = MARK) -> list[str]:
    return folded(clean(text), width, mark.ljust(indent), " " * indent) if text else []


def _row(row: Row, width: int) -> str:
    """Return a suspect as one line, its share at the right edge."""
    right = cut(clean(row.right), width // 2)
    room = width - len(right) - 4
    return f"  {cut(clean(row.left), room):<{room}}  {right}".rstrip()


def _lead(row: Row, width: int) -> list[str]:
    """Return what a result leads to: behind it where both fit on one line, else under it."""
    left, right = clean(row.left), clean(row.right)
    if len(left) + len(right) + 5 <= width:
        return [f"  {left}   {right}".rstrip()]
    return [f"  {cut(left, width - 2)}", *([f"{'':{MARK}}{cut(right, width - MARK)}"] if right else [])]


def _cautions(short: Sequence[str], width: int) -> str:
    """Return the cautions in their short form on one line, those that do not fit as a count, the key to all of them at the end."""
    line, shown = "CAUTION   ", 0
    for text in short:
        tail = f" +{len(short) - shown - 1}" if shown + 1 < len(short) else ""
        if shown and len(line) + len(text) + len(tail) + 6 > width:
            break
        line += f"{'  ' if shown else ''}! {text}"
        shown += 1
    tail = f" +{len(short) - shown}" if shown < len(short) else ""
    return f"{cut(line, width - len(tail) - 4)}{tail} (c)"
