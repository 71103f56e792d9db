"""What is still open: items a person left open, and what the record itself shows is not finished."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case.log import Event
from diagnose.report.paper.aircraft import leads_off
from diagnose.report.paper.alerts import broken_chain
from diagnose.report.paper.alternatives import unproven
from diagnose.report.paper.confirming import missing_parts, run_parts
from diagnose.report.paper.measure import expired_tools
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, bullets, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import STANDINGS, cause_text, field_text, made_by, share, shortened
from diagnose.report.screens import question_words
from diagnose.trouble.complaint import still_to_look_at


def left_open(story: Story) -> tuple[Event, ...]:
    """Return the items in force that nothing has closed, those about safety first."""
    closed = {e.data.get("closes") for e in story.live("note")}
    found = [e for e in story.live("note") if e.data.get("open") and e.seq not in closed]
    return tuple(sorted(found, key=lambda e: (not e.data.get("safety"), e.seq)))


def open_now(story: Story, most: int = 0) -> tuple[str, ...]:
    """Return everything that is open by the record, in words; while there is any, no paper calls the work complete.

    A person's text is cut to `most` letters, where that is given.
    """
    items = [_item(e, most) for e in left_open(story)]
    broken = ["The chain of the case file is broken: what was recorded is not certain"] if any(broken_chain(story)) else []
    return (*broken, *items, *shown_unfinished(story, causes=False))


def _item(event: Event, most: int) -> str:
    note = field_text(event.data.get("note")) or NOT_RECORDED
    safety = "SAFETY: " if event.data.get("safety") else ""
    if most:
        return f"{safety}{shortened(note, most, f'entry {event.seq}')} (entry {event.seq})"
    return f"{safety}{note} ({made_by(event)})"


def open_items(story: Story) -> Section:
    """Return a dated list of what is open, what was closed and by whom, and what the record shows unfinished."""
    title = "Open items"
    rows = [_row(story, e) for e in story.live("note") if e.data.get("open")]
    blocks: list[Block] = []
    if rows:
        columns = (("item", "Item"), ("opened", "Opened by"), ("closed", "Closed by"))
        blocks.append(table("open_items", "Items left open by a person", columns, rows))
    else:
        blocks.append(para("No person left an item open in the record."))
    unfinished = list(shown_unfinished(story))
    if unfinished:
        blocks += [para("The record itself shows as unfinished:"), bullets(unfinished)]
    return Section("open", title, tuple(blocks))


def _row(story: Story, event: Event) -> tuple[object, ...]:
    closing = [e for e in story.live("note") if e.data.get("closes") == event.seq]
    ended = "; ".join(f"{made_by(e)}: {field_text(e.data.get('note')) or 'how ' + NOT_RECORDED}" for e in closing)
    return (field_text(event.data.get("note")) or NOT_RECORDED, made_by(event), ended or "not closed")


def _confirming_run(story: Story) -> list[Event]:
    """Return the newest look at each part of the run, with the calculations they were taken from."""
    looks = [p.look for p in run_parts(story) if p.look is not None]
    sources = [s for e in looks if (s := story.source(e)) is not None]
    return list({e.seq: e for e in (*looks, *sources)}.values())


def shown_unfinished(story: Story, causes: bool = True) -> Iterator[str]:
    """Yield what is unfinished by the record: the complaint not looked at again, results not known, causes not proven."""
    for found_off in leads_off(story):
        yield f"Recorded and not recorded as undone: {found_off.what}: {found_off.how} (entry {found_off.stamp.entry})"
    looks = story.trouble.looks
    if story.complaint and not story.gone:
        yield "The complaint is not shown to be gone"
    touched = story.case.trouble.aircraft.off_due
    if touched is not None:
        yield f"No OFF check passed since the grounding can have been disturbed (entry {touched.stamp.entry})"
    told = []
    for name in still_to_look_at(looks):
        told.append(question_words(story.network, name))
        yield f"Not looked at again since the last repair: {told[-1]}"
    lacking = [part for part in missing_parts(story) if part not in told]
    if lacking:
        yield f"Confirming run, not entered: {'; '.join(lacking)}"
    yield from expired_tools(_confirming_run(story))
    unknown = [r for r in looks[-1].results if r.grade in STANDINGS and not r.history]
    for result in unknown:
        yield f"{STANDINGS[result.grade].capitalize()}: {question_words(story.network, result.subject)}"
    if causes and story.last.impossible:
        yield "The results cannot all be true under this rule base: at least one wants doing again"
    for cause, value in unproven(story) if causes else ():
        yield f"Suspected and not proven: {cause_text(story.network, cause)}, {share(value)}"
