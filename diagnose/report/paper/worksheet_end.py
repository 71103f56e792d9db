"""The end of the worksheet: notes, every correction with its old value, and the versions and hashes to hold it against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from diagnose import __version__
from diagnose.case.kinds import KINDS
from diagnose.case.log import Event
from diagnose.report.paper import measure
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, Span, Words, pair, pairs, para, struck, table, words
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import event_result, exchange_text, field_text, located, made_by, of_numbers, result_text, when, who

ALONG = (("reading", "reading"), ("found", "as found"), ("left", "as left"), ("off", "part off"), ("on", "part on"))
_Change = tuple[int, Event, str, str]
USED = ("safety", "words", "chosen", "open", "confirming")


def notes_section(story: Story) -> Section:
    """Return the notes told nowhere else on the paper, and entries of kinds this version does not know."""
    rows = []
    for event in (e for e in story.events if not story.withdrawn(e)):
        if event.kind == "note" and not any(event.data.get(k) for k in USED):
            rows.append((words(field_text(event.data.get("note")) or _all(event)), made_by(event)))
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
    """Yield a row for every correction; those made in one go for one reason, each withdrawing an entry, share one."""
    for same in _made_together(story):
        first = same[0][1]
        targets = [target for target, _, _, _ in same]
        cell: Words = tuple(span for n, (_, _, was, _) in enumerate(same) for span in ((Span("; "),) if n else ()) + (struck(was),))
        number = str(targets[0]) if len(targets) == 1 else of_numbers(targets)
        yield number, cell, same[0][3], field_text(first.data.get("reason")), made_by(first) if len(same) == 1 else _made_by_all(same)


def _made_by_all(same: Sequence[_Change]) -> str:
    first = same[0][1]
    return f"{who(first)}, {when(first)}, {of_numbers([change.seq for _, change, _, _ in same])}"


def _made_together(story: Story) -> list[list[_Change]]:
    """Return the corrections in the order made, those of one person, moment and reason that withdraw together."""
    found: list[list[_Change]] = []
    for row in _each_change(story):
        last = found[-1][-1] if found else None
        if last is not None and row[3] == last[3] and row[3] != "" and _how(row[1]) == _how(last[1]) and row[1].data.get("withdrawn"):
            found[-1].append(row)
        else:
            found.append([row])
    return found


def _how(change: Event) -> tuple[object, ...]:
    return change.person, change.time, change.data.get("reason")


def _each_change(story: Story) -> Iterator[_Change]:
    """Yield (number of the corrected entry, its correction, what it said until then, what it says from then on), in the order made."""
    by_number = {e.seq: e for e in story.events}
    said = {t: _value(story, by_number[t]) if t in by_number else f"entry {t}, which the file does not hold" for t in story.corrections}
    every = sorted(((c, target) for target, changes in story.corrections.items() for c in changes), key=lambda pair: pair[0].seq)
    for change, target in every:
        new = change.data.get("result")
        now = result_text(story.network, str(new)) if new and not change.data.get("withdrawn") else "withdrawn"
        yield target, change, said[target], "withdrawn once more" if said[target].startswith("withdrawn") else now
        said[target] = now


def _value(story: Story, event: Event) -> str:
    """Return what an entry said before it was corrected; of one withdrawn with all that was told along with it."""
    more = [f"{label} {field_text(event.data.get(key))}" for key, label in ALONG if field_text(event.data.get(key))]
    return "; ".join((_itself(story, event), *(more if story.withdrawn(event) else ())))


def _itself(story: Story, event: Event) -> str:
    data = event.data
    if event.kind == "result":
        return event_result(story, event, str(data.get("result", "")))
    if event.kind == "exchange":
        return exchange_text(story.network, str(data.get("exchange", "")))
    if event.kind in ("repair", "decline"):
        return located(story.network, str(data.get("remedy") or data.get("check")))
    if event.kind == "reading":
        return f"{field_text(data.get('title')) or 'a calculation'}: {'; '.join(measure.given(event)) or _all(event)}"
    told = data.get("state") if event.kind == "state" else data.get("note") if event.kind == "note" else None
    return f"{event.kind}: {field_text(told) or _all(event)}"


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
