"""What was done to the aircraft, as recorded: repairs, as found and as left, parts off and on."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case.log import Event
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import exchange_text, field_text, located, made_by


def work_section(story: Story) -> Section:
    """Return every repair and exchange of parts in force, with the state found and the state left."""
    rows = [_work_row(story, e) for e in story.events if e.kind in ("repair", "exchange") and not story.withdrawn(e)]
    if not rows:
        return Section("work", "Work done, as found and as left", (para("No repair is recorded."),))
    columns = (
        ("work", "Work"),
        ("procedure", "Data used"),
        ("found", "As found"),
        ("left", "As left"),
        ("note", "Why, note"),
        ("who", "Who, when"),
    )
    return Section("work", "Work done, as found and as left", (table("work", "Repairs in order", columns, rows),))


def _work_row(story: Story, event: Event) -> tuple[object, ...]:
    data = event.data
    done = exchange_text if event.kind == "exchange" else located
    return (
        done(story.network, str(data.get("exchange") or data.get("remedy", ""))),
        field_text(data.get("procedure")),
        field_text(data.get("found")),
        field_text(data.get("left")),
        "; ".join(f"{label}{told}" for key, label in (("reason", "why: "), ("note", "")) if (told := field_text(data.get(key)))) or "-",
        made_by(event),
    )


def parts(story: Story) -> Iterator[tuple[str, str, Event]]:
    """Yield every part taken off or put on in work in force: `off` or `on`, the part as written, the entry."""
    for event in story.live("repair"):
        for way in ("off", "on"):
            listed = event.data.get(way)
            for item in listed if isinstance(listed, list) else [listed]:
                if field_text(item):
                    yield way, field_text(item), event


def parts_section(story: Story) -> Section:
    """Return the parts off and on."""
    rows = [(way, part, made_by(event)) for way, part, event in parts(story)]
    blocks: list[Block] = []
    if rows:
        columns = (("way", "Off or on"), ("part", "Part as written (number, serial, condition, tag or document)"), ("by", "By"))
        blocks.append(table("parts", "As written by the person who did it", columns, rows))
    silent = [e for e in story.live("repair") if not field_text(e.data.get("off")) and not field_text(e.data.get("on"))]
    if silent:
        names = [f"{located(story.network, str(e.data.get('remedy')))} (entry {e.seq})" for e in silent]
        blocks.append(para(f"Parts off and on {NOT_RECORDED} for: {'; '.join(names)}."))
    if not blocks:
        blocks.append(para("No repair is recorded, and no part off or on."))
    return Section("parts", "Parts off and on", tuple(blocks))
