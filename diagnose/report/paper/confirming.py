"""The confirming run, part by part: the complaint again under its own conditions, and the parts every such run has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.case.log import Event
from diagnose.report.paper import measure
from diagnose.report.paper.model import NOT_RECORDED, Block, Section, Table, Words, bullets, para, table, words
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.wording import field_text, made_by, numbers, result_in_force, result_text, told_of, when, who
from diagnose.trouble.results import Result

NOT_ENTERED = "not entered"
NO_ANSWER = ("unknown", "cannot")
SAME = "Every look again is recorded under the very conditions of the complaint."
NOT_SAME = "The record does not show that both were seen under the same conditions."
COLUMNS = (("part", "Part of the run"), ("outcome", "Came out"), ("reading", "Reading"), ("how", "Tool, limit, data"), ("by", "By"))


@dataclass(frozen=True)
class RunPart:
    """One part of the run since the last repair, with its newest look; None where none was entered."""

    label: str
    look: Event | None

    @property
    def missing(self) -> bool:
        """Return whether it has no answer."""
        return self.look is None


def run_parts(story: Story) -> tuple[RunPart, ...]:
    """Return the parts of the confirming run: every result of the complaint, then what every run has; none before a repair."""
    repairs = story.live("repair")
    if not repairs:
        return ()
    since = [e for e in story.live("result") if e.seq > repairs[-1].seq]
    told = [(event, c) for event, c in story.complaint if event.seq < repairs[-1].seq]
    found = [RunPart(told_of(story.network, c), _newest_again(story, event, c, since)) for event, c in told]
    named = {(c.symptom, c.regimes, c.places) for _, c in told}
    for part in story.network.base.confirming.values():
        if (part.symptom, (part.regime,), (part.place,)) not in named:
            found.append(RunPart(part.label[0].upper() + part.label[1:], _newest(story, since, part.symptom, part.regime, part.place)))
    return tuple(found)


def _newest_again(story: Story, told: Event, complaint: Result, since: list[Event]) -> Event | None:
    again = [e for e in looked_at_again(story, told, complaint) if e in since and _answered(story, e)]
    return _of_run(story, again)


def _of_run(story: Story, looks: list[Event]) -> Event | None:
    """Return the newest look before anything new was complained of; else the newest of all."""
    new = [event.seq for event, _ in story.complaint if event.seq > story.live("repair")[-1].seq]
    return max(looks, key=lambda e: (not new or e.seq < new[0], e.seq), default=None)


def _newest(story: Story, since: list[Event], symptom: str, regime: str, place: str) -> Event | None:
    wanted = (symptom, (regime,), (place,))
    seen = [e for e in since for r in story.read(story.result(e)) if (r.symptom, r.regimes, r.places) == wanted and _answered(story, e)]
    return _of_run(story, seen)


def _answered(story: Story, event: Event) -> bool:
    return all(r.grade not in NO_ANSWER for r in story.read(story.result(event)))


def parts_table(story: Story) -> Table:
    """Return every part of the run with what was entered for it, or that it was not."""
    return table("run", "Since the last repair, part by part", COLUMNS, [_part_row(story, p) for p in run_parts(story)])


def _part_row(story: Story, part: RunPart) -> tuple[object, ...]:
    if part.look is None:
        return part.label, NOT_ENTERED, "-", "-", "-"
    grade = result_text(story.network, story.result(part.look))
    reading = measure.reading(story, part.look) or f"reading {NOT_RECORDED}"
    return part.label, grade, reading, how_measured(story, part.look), made_by(part.look)


def how_measured(story: Story, event: Event, limits: bool = True) -> str:
    """Return tool, limit and data of one result, or of the calculation it was taken from."""
    source = story.source(event)
    events = (event,) if source is None else (event, source)
    told = (*measure.tools(events), *(measure.limits(events) if limits else ()))
    data = measure.data_used(events)
    return "; ".join((*told, *([f"data: {data}"] if data else []))) or f"tool, limit, data {NOT_RECORDED}"


def parts_told(story: Story, by: bool = True) -> Iterator[str]:
    """Yield each part of the run in one line: what was entered for it (and by whom), or that nothing was."""
    for part in run_parts(story):
        if part.look is None:
            yield f"{part.label}{'' if part.label.endswith('?') else ':'} {NOT_ENTERED}"
            continue
        _, grade, reading, _, made = _part_row(story, part)
        yield f"{grade}; {reading} ({made if by else f'entry {part.look.seq}'})"


def done_with(story: Story, limits: bool = True) -> Iterator[str]:
    """Yield by whom, with what tool, limit (where asked for), data and conditions the parts were done, once for those done alike."""
    found: dict[str, list[Event]] = {}
    for part in run_parts(story):
        if part.look is not None:
            how = f"{who(part.look)}, {when(part.look)[:10]}; {how_measured(story, part.look, limits)}; {_conditions(story, part.look)}"
            found.setdefault(how, []).append(part.look)
    yield from (f"Done by: {how} ({numbers(looks)})" for how, looks in found.items())


def confirming_section(story: Story) -> Section:
    """Return the run part by part, then each result of the complaint beside every later look at it, with the conditions of both."""
    title = "Confirming run"
    if not story.complaint:
        return Section("confirming", title, (para("No complaint is recorded, so there is nothing to confirm."),))
    rows = [row for event, result in story.complaint for row in _again(story, event, looked_at_again(story, event, result))]
    columns = (
        ("before", "Complaint"),
        ("before_how", "Its reading and conditions"),
        ("after", "Looked at again"),
        ("after_how", "Reading and conditions"),
        ("by", "By"),
    )
    blocks: list[Block] = [parts_table(story)] if run_parts(story) else []
    blocks.append(table("confirming", "Before and after", columns, rows))
    notes = [n for n in story.live("note") if n.data.get("confirming")]
    if notes:
        blocks.append(bullets(f"{field_text(n.data.get('note')) or NOT_RECORDED} ({made_by(n)})" for n in notes))
    blocks.append(para(SAME if _same_conditions(story) else NOT_SAME))
    return Section("confirming", title, tuple(blocks))


def _again(story: Story, event: Event, later: tuple[Event, ...]) -> list[tuple[object, ...]]:
    before: Words = result_in_force(story, event)
    if not later:
        return [(before, how(story, event), words("not looked at again"), "-", "-")]
    return [(before, how(story, event), result_in_force(story, e), how(story, e), made_by(e)) for e in later]


def how(story: Story, event: Event) -> str:
    """Return the raw reading and the conditions of an entry."""
    return f"{measure.reading(story, event) or f'reading {NOT_RECORDED}'}; {_conditions(story, event)}"


def _conditions(story: Story, event: Event) -> str:
    return field_text(story.said(event, "conditions")) or f"conditions {NOT_RECORDED}"


def _same_conditions(story: Story) -> bool:
    """Return whether what was complained of before the last repair was looked at again, each time under the conditions it names."""
    repaired = [e.seq for e in story.live("repair")]
    told = [(e, r) for e, r in story.complaint if repaired and e.seq < repaired[-1]]
    for event, result in told:
        named, again = field_text(story.said(event, "conditions")), looked_at_again(story, event, result)
        if not named or not again or any(field_text(story.said(e, "conditions")) != named for e in again):
            return False
    return bool(told)
