"""The end of the worksheet: notes, every correction with its old value, and the versions and hashes to hold it against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose import __version__
from diagnose.case.kinds import KINDS
from diagnose.case.log import Event
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, Words, pair, pairs, para, struck, table, words
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import exchange_text, field_text, located, made_by, result_text, said_in_force

USED = ("safety", "words", "chosen", "open", "confirming")


def notes_section(story: Story) -> Section:
    """Return the notes told nowhere else on the paper, and entries of kinds this version does not know."""
    rows = []
    for event in story.events:
        if event.kind == "note" and not any(event.data.get(k) for k in USED):
            rows.append((said_in_force(story, event, field_text(event.data.get("note")) or _all(event)), made_by(event)))
        elif event.kind not in KINDS:
            rows.append((words(f"entry of kind {event.kind}, not known to this version: {_all(event)}"), made_by(event)))
    if not rows:
        return Section("notes", "Notes", (para("No further note is recorded."),))
    return Section("notes", "Notes", (table("notes", "In order", (("note", "Note"), ("by", "By")), rows),))


def _all(event: Event) -> str:
    return field_text(dict(event.data)) or NOT_RECORDED


def corrections_section(story: Story) -> Section:
    """Return every correction: the old value struck out and readable, the new one, who, when and why; then the file's own marks."""
    rows = list(_changes(story))
    marks = list(_marks(story))
    columns = (("entry", "Of entry"), ("was", "Was"), ("now", "Now"), ("why", "Why"), ("by", "By"))
    blocks: list[Block] = [table("corrections", "Corrections in order", columns, rows)] if rows else []
    if not rows:
        blocks.append(para("No entry was corrected or withdrawn."))
    if marks:
        blocks.append(table("marks", "Clock and file", (("what", "What"), ("by", "By")), marks))
    return Section("corrections", "Corrections", tuple(blocks))


def _changes(story: Story) -> Iterator[tuple[object, ...]]:
    by_number = {e.seq: e for e in story.events}
    for target, changes in sorted(story.corrections.items()):
        original = by_number.get(target)
        was = _value(story, original) if original is not None else f"entry {target}, which the file does not hold"
        for change in changes:
            new = change.data.get("result")
            now = result_text(story.network, str(new)) if new and not change.data.get("withdrawn") else "withdrawn"
            cell: Words = (struck(was),)
            yield str(target), cell, now, field_text(change.data.get("reason")), made_by(change)
            was = now


def _value(story: Story, event: Event) -> str:
    """Return what an entry said before it was corrected."""
    if event.kind == "result":
        return result_text(story.network, str(event.data.get("result", "")))
    if event.kind == "exchange":
        return exchange_text(story.network, str(event.data.get("exchange", "")))
    if event.kind in ("repair", "decline"):
        return located(story.network, str(event.data.get("remedy") or event.data.get("check")))
    return f"{event.kind}: {_all(event)}"


def _marks(story: Story) -> Iterator[tuple[str, str]]:
    for event in story.events:
        if event.data.get("clock"):
            yield f"The clock {field_text(event.data['clock'])}: times before and after do not compare", made_by(event)
        if event.kind == "recovered":
            yield f"A line torn while being written was set aside; it read: {field_text(event.data.get('text'))}", f"entry {event.seq}"
    if story.case.text.torn:
        yield f"The last line breaks off and counts for nothing; it reads: {story.case.text.torn}", "end of file"


def versions_section(story: Story) -> Section:
    """Return the versions and hashes this worksheet rests on."""
    opening = story.case.opening
    before = opening.get("rulebase")
    before = before if isinstance(before, Mapping) else {}
    base = story.network.base
    return Section(
        "versions",
        "Versions and hashes",
        (
            pairs(
                (
                    pair("opened", "Case opened", made_by(story.events[0])),
                    pair("schema", "Case format", opening.get("schema", "")),
                    pair("software_then", "Software at opening", opening.get("software", "")),
                    pair("software_now", "Software now", __version__),
                    pair(
                        "rulebase_then",
                        "Rule base at opening",
                        f"{field_text(before.get('version')) or NOT_RECORDED}, sha256 {field_text(before.get('sha256')) or NOT_RECORDED}",
                    ),
                    pair("rulebase_now", "Rule base now", f"{base.settings.version}, sha256 {base.sha256}"),
                    pair("entries", "Entries", str(len(story.events))),
                    pair("head", "Head hash of the case file", story.head),
                )
            ),
        ),
    )
