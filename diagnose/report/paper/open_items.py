"""What is still open: items a person left open, and what the record itself shows is not finished."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case.log import Event
from diagnose.case.still_open import still_open
from diagnose.report.paper.alerts import broken_chain
from diagnose.report.paper.alternatives import unproven
from diagnose.report.paper.confirming import run_parts
from diagnose.report.paper.measure import expired_tools
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, bullets, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import cause_text, field_text, made_by, share, shortened


def open_now(story: Story, most: int = 0) -> tuple[str, ...]:
    """Return everything that is open by the record, in words, what is about safety first; all three papers read it here.

    While there is any, no paper calls the work complete. A person's text is cut to `most` letters, where that is given. To what is
    open of the case (`diagnose.case.still_open`) it adds what only the file and the tools show.
    """
    broken = ["The chain of the case file is broken: what was recorded is not certain"] if any(broken_chain(story)) else []
    return (*broken, *_of_case(story, most), *expired_tools(_confirming_run(story)))


def _of_case(story: Story, most: int, notes: bool = True) -> Iterator[str]:
    """Yield what is open of the case; the parts of the run still lacking in one line. `notes`: a person's own items too."""
    found = still_open(story.case, story.network)
    events = {e.seq: e for e in story.events}
    safety = [o for o in found if o.entry in events and events[o.entry].data.get("safety")]
    for one in (*safety, *(o for o in found if o not in safety)):
        if one.kind in ("note", "refit"):
            yield from [_item(events[one.entry], most)] if notes else []
        elif one.kind == "state":
            yield f"To put right: {one.text} (entry {one.entry})"
        elif one.kind != "run":
            yield one.text + (f" (entry {one.entry})" if one.entry else "")
    lacking = [o.text.partition(": ") for o in found if o.kind == "run"]
    if lacking:
        yield f"{lacking[0][0]}: {'; '.join(part for _, _, part in lacking)}"


def _item(event: Event, most: int) -> str:
    note = field_text(event.data.get("note")) or NOT_RECORDED
    safety = "SAFETY: " if event.data.get("safety") else ""
    if most:
        told = shortened(note, most, f"entry {event.seq}")
        return f"{safety}{told}" if told.endswith(f"entry {event.seq})") else f"{safety}{told} (entry {event.seq})"
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


def shown_unfinished(story: Story) -> Iterator[str]:
    """Yield what the record shows unfinished that no person wrote down, and what belief leaves open."""
    yield from _of_case(story, 0, notes=False)
    yield from expired_tools(_confirming_run(story))
    if story.last.impossible:
        yield "The results cannot all be true under this rule base: at least one wants doing again"
    for cause, value in unproven(story):
        yield f"Suspected and not proven: {cause_text(story.network, cause)}, {share(value)}"
