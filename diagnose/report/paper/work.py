"""What was done to the aircraft, as recorded: repairs, as found and as left, parts off and on, the confirming run."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case.log import Event
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, Words, para, points, table, words
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.wording import exchange_text, field_text, located, made_by, measured, result_in_force, result_text, said_in_force

SAME = "Every look again is recorded under the very conditions of the complaint."
NOT_SAME = "The record does not show that both were seen under the same conditions."


def work_section(story: Story) -> Section:
    """Return every repair and exchange of parts, those withdrawn struck out, with the state found and the state left."""
    rows = [_work_row(story, e) for e in story.events if e.kind in ("repair", "exchange")]
    if not rows:
        return Section("work", "Work done, as found and as left", (para("No repair is recorded."),))
    columns = (
        ("work", "Work"),
        ("procedure", "Data used"),
        ("found", "As found"),
        ("left", "As left"),
        ("note", "Note"),
        ("who", "Who, when"),
    )
    return Section("work", "Work done, as found and as left", (table("work", "Repairs in order", columns, rows),))


def _work_row(story: Story, event: Event) -> tuple[object, ...]:
    data = event.data
    done = exchange_text if event.kind == "exchange" else located
    told = said_in_force(story, event, done(story.network, str(data.get("exchange") or data.get("remedy", ""))))
    return (
        told,
        field_text(data.get("procedure")),
        field_text(data.get("found")),
        field_text(data.get("left")),
        field_text(data.get("note")) or "-",
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


def confirming_section(story: Story) -> Section:
    """Return each result of the complaint beside every later look at it, with the conditions of both."""
    title = "Confirming run"
    if not story.complaint:
        return Section("confirming", title, (para("No complaint is recorded, so there is nothing to confirm."),))
    rows = [row for event, result in story.complaint for row in _again(story, event, looked_at_again(story, result))]
    columns = (
        ("before", "Complaint"),
        ("before_how", "Its reading and conditions"),
        ("after", "Looked at again"),
        ("after_how", "Reading and conditions"),
        ("by", "By"),
    )
    notes = [n for n in story.live("note") if n.data.get("confirming")]
    blocks: list[Block] = [table("confirming", "Before and after", columns, rows)]
    if notes:
        blocks.append(points(f"{field_text(n.data.get('note')) or NOT_RECORDED} ({made_by(n)})" for n in notes))
    blocks.append(para(SAME if _same_conditions(story) else NOT_SAME))
    return Section("confirming", title, tuple(blocks))


def _again(story: Story, event: Event, later: tuple[Event, ...]) -> list[tuple[object, ...]]:
    before: Words = result_in_force(story, event)
    if not later:
        return [(before, how(event), words("not looked at again"), "-", "-")]
    return [(before, how(event), result_in_force(story, e), how(e), made_by(e)) for e in later]


def how(event: Event) -> str:
    """Return the raw reading and the conditions of an entry."""
    reading = field_text(event.data.get("reading")) or f"reading {NOT_RECORDED}"
    return f"{reading}; {field_text(event.data.get('conditions')) or f'conditions {NOT_RECORDED}'}"


def _same_conditions(story: Story) -> bool:
    """Return whether every look again names the very conditions the complaint named."""
    for event, result in story.complaint:
        named = measured([event], "conditions")
        if not named or any(measured([e], "conditions") != named for e in looked_at_again(story, result)):
            return False
    return True


def confirmed(story: Story) -> tuple[Event, ...]:
    """Return the newest look again at each result of the complaint."""
    newest = [again[-1] for _, result in story.complaint if (again := looked_at_again(story, result))]
    return tuple(sorted({e.seq: e for e in newest}.values(), key=lambda e: e.seq))


def seen_again(story: Story) -> str:
    """Return in words what the newest look at the complaint showed."""
    told = [f"{result_text(story.network, story.result(e))} ({how(e)})" for e in confirmed(story)]
    return "; ".join(told)
