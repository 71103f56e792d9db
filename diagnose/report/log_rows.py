"""Every entry of a case as a row of a table: number, time, what it is, who, and in words what it says."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from diagnose.case.log import Event
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.sentences import sentence_of

HEADS = ("No.", "Time, UTC", "What", "Who", "Said")
SILENT = ("schema", "rulebase", "software", "from", "result", "complaint", "remedy", "note", "withdrawn", "corrects", "reason")


def log_rows(events: Collection[Event], base: RuleBase | None, layout: Layout | None, corrected: Collection[int]) -> list[tuple[str, ...]]:
    """Return a row for every entry; without a rule base or layout that knows its words, a result stands as written."""
    rows: list[tuple[str, ...]] = []
    for event in events:
        mark = "CORRECTED BELOW: " if event.seq in corrected else ""
        when = event.time.replace("T", " ")[:16]
        rows.append((str(event.seq), when, event.kind, " ".join(event.person.split()), mark + _said(event, base, layout)))
    return rows


def _said(event: Event, base: RuleBase | None, layout: Layout | None) -> str:
    told = [text for text in _parts(event, base, layout) if text]
    rest = {k: v for k, v in event.data.items() if k not in SILENT and v not in ("", False, None, [], {})}
    if event.kind == "advice":
        rest = {k: v for k, v in rest.items() if k in ("state", "check", "why")}
    told += [f"{name.replace('_', ' ')}: {_plain(value)}" for name, value in rest.items()]
    return "; ".join(told)


def _parts(event: Event, base: RuleBase | None, layout: Layout | None) -> Iterator[str]:
    data = event.data
    if "result" in data:
        right = f"entry {data['corrects']} is now " if event.kind == "correct" and "corrects" in data else ""
        yield right + _result(str(data["result"]), base, layout)
    elif "corrects" in data:
        yield f"entry {data['corrects']} withdrawn"
    if data.get("complaint"):
        yield "complained of"
    if "remedy" in data:
        yield f"done: {_remedy(str(data['remedy']), base)}"
    if data.get("note"):
        yield str(data["note"])
    if data.get("reason"):
        yield f"because: {data['reason']}"


def _result(text: str, base: RuleBase | None, layout: Layout | None) -> str:
    if base is None or layout is None:
        return text
    try:
        return sentence_of(base, layout, text)
    except (KeyError, ValueError):
        return text


def _remedy(text: str, base: RuleBase | None) -> str:
    name, _, place = text.partition("@")
    known: Mapping[str, Any] = base.remedies if base is not None else {}
    return f"{known[name].label}, {place}" if name in known else text


def _plain(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
