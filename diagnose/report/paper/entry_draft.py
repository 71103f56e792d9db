"""The draft of a maintenance-record entry: facts only, and a block that a person fills in. The tool signs nothing.

Fields after 14 CFR 43.9(a)(1)-(4) and 91.417(a)(1), read in FAA AC 43-9C; kept apart from the worksheet because the
entry asks what was done and never why.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.case.log import Event
from diagnose.report.paper import measure
from diagnose.report.paper.alerts import broken_chain, invented, mark
from diagnose.report.paper.complaints import in_results, own_words, stands_together, told_together
from diagnose.report.paper.confirming import done_with, parts_told, run_parts
from diagnose.report.paper.disturbed import disturbed_told
from diagnose.report.paper.model import NOT_RECORDED, Blanks, Block, Pair, Paper, Section, bullets, pair, pairs, para, words
from diagnose.report.paper.open_items import open_now
from diagnose.report.paper.story import EntryGroup, Story, looked_at_again
from diagnose.report.paper.wording import event_result, exchange_text, field_text, located, made_by, numbers, people, said_of_it
from diagnose.report.paper.work import parts

ABOUT = (
    "A draft for a person to check, change and copy into the maintenance record. It is not an entry: nothing here is signed, "
    "and a licensed person decides what is written, whether the work is complete and what may follow from it."
)
BLOCK = (
    ("Kind of work, minor or major", "decided by the person who signs"),
    ("Aircraft total time", "asked for in an entry about an inspection; useful in any"),
    ("Limitations, deferred items", ""),
    ("Checked by", ""),
    ("Statement of the person who signs", ""),
    ("Name", ""),
    ("Certificate or licence, number and kind", ""),
    ("Signature", ""),
    ("Date", ""),
)
KEEP = (
    "What an entry holds: description of the work or reference to data, date completed, name of the person who did it if another signs, "
    "then signature, certificate number and kind of certificate, which stand for the work described and no more (14 CFR 43.9(a)).",
    "Kept until the work is repeated or superseded, or for 1 year (14 CFR 91.417(b)(1)). Under M.A.305 the certificate goes into the "
    "record no later than 30 days after the work, and a correction leaves the first entry readable.",
)


def entry_draft(story: Story) -> Paper:
    """Return the draft entry of a case."""
    return Paper(
        schema="entry_draft/1",
        kind="Draft of a maintenance-record entry",
        title=field_text(story.case.opening.get("nickname")) or "Aircraft not named in the case",
        about=ABOUT,
        lead=(*broken_chain(story), *invented(story)),
        sections=(
            Section("what_on", "On what", (pairs(_units(story)),)),
            Section("description", "What was done", tuple(_description(story))),
            Section("completion", "When and by whom", (pairs(_completion(story)),)),
            Section("open", "Open at the time of this draft", tuple(_open(story))),
            Section("block", "For the person who signs", (para("Left blank by the program."), Blanks(BLOCK))),
            Section("keeping", "About keeping it", (bullets(KEEP),)),
        ),
        foot=(
            words(
                f"Draft made {story.made} from {story.case.path.name}, {len(story.events)} entries, head {story.head}. "
                "Why each step was taken stands on the diagnosis worksheet, not here."
            ),
        ),
        mark=mark(story),
    )


def _units(story: Story) -> Iterator[Pair]:
    newest: dict[str, str] = {"aircraft": ""}
    for event in story.live("unit"):
        newest[str(event.data.get("unit"))] = f"{field_text(event.data.get('text')) or NOT_RECORDED} (entry {event.seq})"
    yield pair("called", "Called", field_text(story.case.opening.get("nickname")))
    for name, text in newest.items():
        yield pair(name.replace(" ", "_"), name.capitalize(), text)


def _description(story: Story) -> Iterator[Block]:
    yield from _reported(story)
    checks = [g for g in story.groups if _is_check(g) and any(story.result(e) for e in g.results)]
    if not checks:
        yield para("No check is recorded.")
    for title, groups in _by_complaint(story, checks):
        yield para(title)
        yield bullets([_check(story, g) for g in groups])
    repairs = [told for e in story.events if not story.withdrawn(e) and (told := _work(story, e))]
    yield para("Work:" if repairs else "No repair is recorded.")
    if repairs:
        yield bullets(repairs)
    opened = disturbed_told(story)
    if opened:
        yield para("Opened or disturbed, and put back:")
        yield bullets(opened)
    since = f" since the repair of entry {story.live('repair')[-1].seq}" if run_parts(story) and len(told_together(story)) > 1 else ""
    yield para(f"Confirming run{since}, part by part:" if run_parts(story) else "No confirming run: no repair is recorded.")
    if run_parts(story):
        yield bullets((*parts_told(story, by=False), *done_with(story, limits=False)))


def _by_complaint(story: Story, checks: Sequence[EntryGroup]) -> Iterator[tuple[str, list[EntryGroup]]]:
    """Yield the checks under a title; those made once a further complaint was told stand apart."""
    heads = [(f"Checks since the {t.name.lower()} was told:", t.first) for t in told_together(story)[1:]]
    ends = [*(first for _, first in heads), story.events[-1].seq + 1]
    for (title, begin), end in zip([("Checks:", 0), *heads], ends, strict=True):
        mine = [g for g in checks if begin <= g.events[0].seq < end]
        if mine:
            yield title, mine


def _reported(story: Story) -> Iterator[Block]:
    """Yield each complaint in the reporter's words; a further one also as results, with how it stands."""
    every = told_together(story)
    first = own_words(story, every[0]) if every else said_of_it(story)
    yield para("Reported, in the reporter's words:")
    yield para(first or NOT_RECORDED, "quote")
    if len(every) > 1:
        yield para(f"{every[0].name} ({in_results(story, every[0])}; {stands_together(story, every[0])}).")
    for told in every[1:]:
        entries = numbers([e for e, _ in told.rows])
        yield para(f"{told.name}, told later ({in_results(story, told)}, {entries}; {stands_together(story, told)}):")
        yield para(own_words(story, told) or NOT_RECORDED, "quote")


def _is_check(group: EntryGroup) -> bool:
    """Return whether a group is a check done: also one whose results were the complaint, or looked at it again."""
    return group.kind in ("check", "loose", "confirming") or (group.kind == "complaint" and bool(group.check))


def _check(story: Story, group: EntryGroup) -> str:
    """Return one check whole: its results and raw readings, how many others were normal, limits, tool, data, person."""
    events = [e for e in group.results if story.result(e)]
    told = [_numbers(e) for e in group.readings if not story.withdrawn(e)]
    shown = [e for e in events if field_text(story.data(e).get("reading")) or not _normal(story, e) or _settles(story, e)]
    told += [_result(story, e) for e in shown]
    rest = len(events) - len(shown)
    if rest:
        told.append(f"{rest} {'other ' if told else ''}result{'s' if rest > 1 else ''} normal")
    titles = [title for e in group.readings if (title := field_text(e.data.get("title")))]
    name = located(story.network, group.check) if group.check else titles[0] if titles else "Noticed, no check named"
    limits, tools = "; ".join(measure.limits(group.events)), "; ".join(measure.tools(group.events))
    parted = [
        f"{name}: {'; '.join(told)}",
        *([f"Limit: {limits}"] if limits else []),
        f"Tool: {tools or NOT_RECORDED}",
        f"Data: {measure.data_used(group.events) or NOT_RECORDED}",
    ]
    return f"{'. '.join(parted)} ({people(story, group.events)}; {numbers(group.events)})."


def _numbers(event: Event) -> str:
    """Return the numbers a calculation was given, as read."""
    return "; ".join(measure.given(event)) or f"numbers {NOT_RECORDED}"


def _settles(story: Story, event: Event) -> bool:
    """Return whether a normal result is one an inspector looks for by name: a part of every confirming run."""
    wanted = {(p.symptom, p.place) for p in story.network.base.confirming.values()}
    return any((r.symptom, r.place) in wanted for r in story.read(story.result(event)))


def _normal(story: Story, event: Event) -> bool:
    return all(r.normal for r in story.read(story.result(event)))


def _result(story: Story, event: Event) -> str:
    reading = field_text(story.data(event).get("reading"))
    return f"{event_result(story, event, story.result(event))}{f', reading {reading}' if reading else ''}"


def _work(story: Story, event: Event) -> str:
    """Return what an entry says of work done: a repair, an exchange, something made good after a check; else nothing."""
    data = event.data
    if event.kind == "note":
        items = [e for e in story.live("note") if e.data.get("refit") and e.seq == data.get("closes")]
        done = field_text(data.get("note")) or NOT_RECORDED
        return f"{field_text(items[0].data.get('note'))} Done: {done} ({made_by(event)})." if items else ""
    if event.kind not in ("repair", "exchange"):
        return ""
    if event.kind == "exchange":
        note = f". Note: {field_text(data['note'])}" if field_text(data.get("note")) else ""
        return f"{exchange_text(story.network, str(data.get('exchange', '')))}{note} ({made_by(event)})."
    told = [located(story.network, str(data.get("remedy", ""))), f"Data: {field_text(data.get('procedure')) or NOT_RECORDED}"]
    for key, label in (("found", "As found"), ("left", "As left"), ("note", "Note")):
        if field_text(data.get(key)):
            told.append(f"{label}: {field_text(data[key])}")
    moved = [f"Part {way}: {part}" for way, part, e in parts(story) if e.seq == event.seq]
    return f"{'. '.join([*told, *(moved or [f'Parts off and on: {NOT_RECORDED}'])])} ({made_by(event)})."


def completed_on(story: Story) -> str:
    """Return the date of the last repair or confirming run in force; empty where there is none, or while anything is open."""
    again = [e for g in story.groups if g.kind == "confirming" for e in g.results if story.result(e)]
    notes = [e for e in story.live("note") if e.data.get("confirming")]
    done = sorted((*story.live("repair"), *again, *notes), key=lambda e: e.seq)
    return done[-1].time.partition("T")[0] if done and not open_now(story) else ""


def _completion(story: Story) -> Iterator[Pair]:
    still = len(open_now(story))
    yield pair("completed", "Completed", completed_on(story) or (f"not yet: {still} open, named below" if still else ""))
    for told in told_together(story) if len(told_together(story)) > 1 else ():
        last = [a for e, r in told.rows if told.gone for a in looked_at_again(story, e, r) if a.seq < told.until]
        if last:
            seen = max(last, key=lambda e: e.seq)
            yield pair(f"gone_{told.number + 1}", f"{told.name} gone", f"{seen.time.partition('T')[0]} (entry {seen.seq})")
    ran = [e for g in story.groups if g.kind == "confirming" for e in g.results if story.result(e)]
    shown = [g for g in story.groups if _is_check(g) and any(story.result(e) for e in g.results)]  # those listed above
    looked = [e for g in shown for e in g.events if not story.withdrawn(e)]
    yield pair("repaired_by", "Repairs by", people(story, story.live("repair")))
    yield pair("checked_by", "Checks by", people(story, looked))
    yield pair("confirmed_by", "Confirming run by", people(story, ran))


def _open(story: Story) -> Iterator[Block]:
    items = open_now(story)
    yield bullets(items) if items else para("Nothing is left open in the record.")
