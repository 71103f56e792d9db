"""How a value was come by: the raw reading, the limit with its document, the tool and whether its calibration still held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from diagnose.case.log import Event
from diagnose.case.readings import expired
from diagnose.places import SIDES
from diagnose.report.paper.model import NOT_RECORDED
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import field_text, numbers

EXPIRED = "EXPIRED"
CELL = 12  # letters of a number or short word; what a table says in words stands under its calculation


def listed(value: object) -> list[dict[str, Any]]:
    """Return the values of a worked reading, each a map; anything else a file may hold in their place is kept as a value."""
    if isinstance(value, Mapping):
        return [{"name": k, **v} if isinstance(v, dict) else {"name": k, "value": v} for k, v in value.items()]
    return [v if isinstance(v, dict) else {"name": "", "value": v} for v in value] if isinstance(value, list) else []


def amount(item: Mapping[str, Any]) -> str:
    """Return one value with its unit and, where it has one, its second unit."""
    also = item.get("also")
    second = f" = {field_text(also.get('value'))} {field_text(also.get('unit'))}" if isinstance(also, Mapping) else ""
    return f"{field_text(item.get('value')) or NOT_RECORDED} {field_text(item.get('unit'))}".strip() + second


def named(item: Mapping[str, Any]) -> str:
    """Return one value with its name, and how it was where that was noted."""
    note = field_text(item.get("note"))
    return f"{field_text(item.get('name')).replace('_', ' ')} {amount(item)}{f' ({note})' if note else ''}".strip()


def reading(story: Story, event: Event) -> str:
    """Return the raw reading of a result as written, else the numbers of its calculation that are about its place."""
    own = field_text(story.data(event).get("reading"))
    source = story.source(event)
    if own or source is None:
        return own
    result = next(iter(story.read(story.result(event))), None)
    place = result.place if result is not None else ""
    about = list(_about(source, place, story.network.layout.side_of.get(place, "")))
    return "; ".join(about or given(source)) or f"worked from entry {source.seq}"


def _about(source: Event, place: str, side: str) -> Iterator[str]:
    """Yield what a worked reading holds of a place: rows of its tables (of a cylinder, the columns of its side), numbers named for it."""
    for table in listed(source.data.get("tables")):
        columns = table.get("columns")
        for row in table.get("rows") or ():
            if not (isinstance(columns, list) and isinstance(row, list) and row):
                continue
            cells = [(f"{c}", t) for c, v in list(zip(columns, row, strict=False))[1:] if 0 < len(t := field_text(v)) <= CELL]
            if row[0] == place:
                yield ", ".join(f"{c} {t}" for c, t in cells)
            elif side and str(row[0]) == place.partition("-")[0] and (mine := [(c, t) for c, t in cells if c.startswith(side)]):
                yield ", ".join(f"{c} {t}" for c, t in mine)
    if place in SIDES:
        yield from (named(v) for v in listed(source.data.get("inputs")) if v.get("name") in ("both", place))
        found = [v for v in listed(source.data.get("values")) if str(v.get("name")).endswith(f", {place}")]
        yield from (f"{field_text(v.get('name'))} {amount(v)}" for v in found)


def given(source: Event) -> list[str]:
    """Return what a calculation was given, as read; what was left out of it is left out here."""
    return [named(v) for v in listed(source.data.get("inputs")) if v.get("value") != "not stated"]


def limits(events: Sequence[Event]) -> tuple[str, ...]:
    """Return every limit a check was held against, with its document and revision, each once."""
    found = []
    for event in events:
        own = "; ".join(t for name in ("limit", "limit_document") if (t := field_text(event.data.get(name))))
        found += [own] if own else []
        if event.kind == "reading":
            found += [f"{field_text(v.get('name'))} {amount(v)}, {_document(v)}" for v in listed(event.data.get("limits"))]
    return tuple(dict.fromkeys(found))


def _document(limit: Mapping[str, Any]) -> str:
    if field_text(limit.get("standing")):
        return field_text(limit["standing"])
    told = (field_text(limit.get("document")), field_text(limit.get("revision")))
    return ", revision ".join(t for t in told if t) or f"document {NOT_RECORDED}"


def tools(events: Sequence[Event]) -> tuple[str, ...]:
    """Return every tool with its calibration, marked where that had run out on the day of the reading."""
    return tuple(dict.fromkeys(t for e in events if (t := _tool(e))))


def _tool(event: Event) -> str:
    tool, due = field_text(event.data.get("tool")), field_text(event.data.get("calibration"))
    if not tool and not due:
        return ""
    if not due:
        return f"{tool} (calibration {NOT_RECORDED})"
    told = f"calibration due {due}" if due[:1].isdigit() else f"calibration {due}"
    return f"{tool or 'tool ' + NOT_RECORDED} ({told}{f', {EXPIRED} on the day' if run_out(event) else ''})"


def run_out(event: Event) -> bool:
    """Return whether the calibration of an entry's tool had run out on the day it was made."""
    return expired(field_text(event.data.get("calibration")), event.time[:10])


def expired_tools(events: Sequence[Event]) -> tuple[str, ...]:
    """Return in words each tool used after its calibration had run out, and the entries it was used for."""
    found: dict[str, list[Event]] = {}
    for event in events:
        if run_out(event):
            found.setdefault(f"{field_text(event.data.get('tool'))}, due {field_text(event.data.get('calibration'))}", []).append(event)
    return tuple(f"Calibration {EXPIRED}: {tool} ({numbers(made)})" for tool, made in found.items())


def data_used(events: Sequence[Event]) -> str:
    """Return the documents a check was done by."""
    found = dict.fromkeys(t for e in events if (t := field_text(e.data.get("procedure"))))
    return "; ".join(found)
