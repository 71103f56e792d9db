"""The diagnosis worksheet: why it was done, for an inspector or the next reader. Not the maintenance record."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from diagnose.case.kinds import UNITS
from diagnose.case.log import Event
from diagnose.case.standing import complaint_words
from diagnose.report.paper.alerts import alerts, file_notes, mark
from diagnose.report.paper.alternatives import Alternative, Shift, alternatives
from diagnose.report.paper.cause_tables import cause_section
from diagnose.report.paper.complaints import stands, told_together
from diagnose.report.paper.confirming import confirming_section
from diagnose.report.paper.disturbed import disturbed_section
from diagnose.report.paper.figures import figures_section
from diagnose.report.paper.model import NOT_RECORDED, Block, Paper, Section, bullets, pair, pairs, para, safe, table, words
from diagnose.report.paper.open_items import open_items
from diagnose.report.paper.story import Story
from diagnose.report.paper.summary import event_text, summary
from diagnose.report.paper.wording import cause_text, field_text, located, made_by, pct, result_in_force, stands_at
from diagnose.report.paper.work import parts_section, work_section
from diagnose.report.paper.worksheet_checks import cautions_told, check_sections
from diagnose.report.paper.worksheet_end import corrections_section, notes_section, versions_section
from diagnose.report.paper.worksheet_why import advice_text

ABOUT = (
    "Why it was done. This is a working paper beside the maintenance record and not the record itself: it is no maintenance data, "
    "signs nothing and decides nothing. A number after the word entry is its line in the case file. Times are UTC. "
    "How likely a cause is comes from the rule base named at the end and is an estimate."
)
TAIL = "An edit, a cut or a swap inside the file breaks its chain; a tail cut off shows only against this head hash, so keep it on paper."


def worksheet(story: Story) -> Paper:
    """Return the worksheet of a case: the short answer, the pictures and tables of causes, then everything recorded as appendix."""
    story.work_through()
    first = (summary(story), *figures_section(story), *cause_section(story))
    rest = [make(story) for make in APPENDIX]
    named = [replace(s, title=f"Appendix {n}: {s.title[0].lower()}{s.title[1:]}", new_page=n == 1) for n, s in enumerate(rest, 1)]
    return Paper(
        schema="worksheet/1",
        kind="Diagnosis worksheet",
        title=field_text(story.case.opening.get("nickname")) or "Aircraft not named in the case",
        about=ABOUT,
        lead=(*alerts(story), *file_notes(story)),
        sections=(*first, *named),
        foot=(words(f"Made {story.made} from {story.case.path.name}, {len(story.events)} entries, head {story.head}."), words(TAIL)),
        mark=mark(story),
    )


def _complaint(story: Story) -> Section:
    blocks: list[Block] = []
    for event in complaint_words(story.events):
        blocks.append(para(event.data["words"], "quote"))
        by = field_text(event.data.get("told_by"))
        blocks.append(para(f"Told by {by or 'reporter ' + NOT_RECORDED}; written down by {made_by(event)}", "small"))
    if not blocks:
        blocks.append(para("The reporter's own words are not recorded."))
    every = told_together(story)
    rows = [
        (result_in_force(story, e), field_text(story.said(e, "conditions")), str(e.seq), stands(story, e, r))
        for told in every
        for e, r in told.rows
    ]
    columns = (("result", "In plain words"), ("conditions", "Conditions"), ("entry", "Entry"), ("stands", "How it stands now"))
    blocks.append(table("complaint", "The complaint as results", columns, rows) if rows else para("Not yet put into results."))
    return Section("complaint", "Complaint", tuple(blocks))


def _identities(story: Story) -> Section:
    rows = [
        pair("aircraft_name", "Called", field_text(story.case.opening.get("nickname"))),
        pair("layout", "Engine layout", story.case.layout.label),
    ]
    found = story.live("unit")
    missing = []
    for name in (*UNITS, *dict.fromkeys(str(e.data.get("unit")) for e in found if e.data.get("unit") not in UNITS)):
        entries = [e for e in found if str(e.data.get("unit")) == name]
        if not entries:
            missing.append(name)
        for event in entries:
            told = f"{field_text(event.data.get('text')) or NOT_RECORDED} ({made_by(event)})"
            rows.append(pair(safe(name).replace(" ", "_"), safe(name).capitalize(), told))
    if missing:
        rows.append(pair("missing", "Not recorded", f"maker, model, serial and times of: {', '.join(missing)}"))
    return Section("identities", "Aircraft, engine and ignition", (pairs(rows),))


def _precautions(story: Story) -> Section:
    rows = []
    for event in (e for e in story.events if not story.withdrawn(e)):
        if event.kind == "note" and event.data.get("safety"):
            rows.append(("safety page", "shown and confirmed as read", made_by(event)))
        elif event.kind == "state":
            rows.append(("state", field_text(event.data.get("state")) or NOT_RECORDED, made_by(event)))
        elif event.kind == "access":
            base = story.network.base
            now = [base.access[n].label if n in base.access else field_text(n) for n in event.data.get("now", [])]
            check = located(story.network, str(event.data.get("check") or ""))
            rows.append(("reached", f"{', '.join(now) or 'nothing'}{' for ' + check if check else ''}", made_by(event)))
    columns = (("what", "What"), ("how", "As recorded"), ("by", "By"))
    blocks: list[Block] = [table("precautions", "In the order recorded", columns, rows)] if rows else []
    if not rows:
        blocks.append(para(f"Configuration and precautions: {NOT_RECORDED}."))
    cautions = cautions_told(story)
    if cautions:
        blocks += [para("Cautions that belong to the checks done, each with the numbers of its checks:", "small"), bullets(cautions)]
    return Section("precautions", "Configuration and precautions", tuple(blocks))


def _history(story: Story) -> Section:
    events = [e for g in story.groups if g.kind == "history" for e in g.results]
    if not events:
        return Section("history", "What happened before", (para(f"History: {NOT_RECORDED}."),))
    rows = [(result_in_force(story, e), field_text(e.data.get("note")) or "-", made_by(e)) for e in events]
    return Section(
        "history", "What happened before", (table("history", "Answers", (("answer", "Answer"), ("note", "Note"), ("by", "By")), rows),)
    )


def _checks(story: Story) -> Section:
    return Section("checks", "Checks in the order done", (), tuple(check_sections(story)))


def _overrides(story: Story) -> Section:
    rows = [r for event in story.events if not story.withdrawn(event) for r in _override(story, event)]
    if not rows:
        return Section("overrides", "Advice given and choices against it", (para("No advice and no choice against it is recorded."),))
    columns = (("what", "What"), ("told", "As recorded"), ("why", "Reason given"), ("by", "By"))
    return Section("overrides", "Advice given and choices against it", (table("overrides", "In order", columns, rows),))


def _override(story: Story, event: Event) -> Iterator[tuple[object, ...]]:
    data, by = event.data, made_by(event)
    reason = field_text(data.get("reason"))
    if event.kind == "advice":
        yield "offered by the tool", advice_text(story, event), "-", f"entry {event.seq}"
    elif event.kind == "note" and data.get("chosen"):
        offered = located(story.network, str(data.get("offered") or NOT_RECORDED))
        told = f"{located(story.network, str(data['chosen']))} instead of {offered}"
        yield "another check chosen", told, reason, by
    elif event.kind == "decline":
        yield "check left out", located(story.network, str(data.get("check"))), reason, by
    elif event.kind in ("repair", "warning") and data.get("warning"):
        about = next((e for e in story.events if e.seq == data.get("about")), event)  # what a warning is about: itself, or what it names
        if not story.withdrawn(about):
            reason = reason or field_text(about.data.get("reason"))
            yield f"{about.kind} against a warning", f"{event_text(story, about)}, against: {field_text(data['warning'])}", reason, by


def _alternatives(story: Story) -> Section:
    every = told_together(story)
    tables = [(told, rows) for told in every if (rows := [_alternative_row(story, a) for a in alternatives(story, told)])]
    if not tables:
        return Section("alternatives", "Alternatives", (para("No cause was ever likely enough to name."),))
    said = "Every cause that reached 5 % at any point, with the entries that moved it most, and its share before and after each."
    blocks: list[Block] = [para(said, "small")]
    for told, rows in tables:
        now = "Now" if told.until > story.events[-1].seq else "In the end"
        columns = (("cause", "Cause"), ("peak", "At most"), ("now", now), ("against", "What lowered it"), ("for", "What raised it"))
        blocks.append(table("alternatives", f"Causes considered{f', {told.name.lower()}' if len(every) > 1 else ''}", columns, rows))
    return Section("alternatives", "Alternatives", tuple(blocks))


def _alternative_row(story: Story, a: Alternative) -> tuple[str, ...]:
    down = [_move(story, m) for m in a.down[:3]]
    if a.repaired is not None:
        down.append(f"ended by the repair of entry {a.repaired.seq}")
    return (
        cause_text(story.network, a.cause),
        f"{pct(a.peak)}, entry {a.peak_at.seq}",
        stands_at(a.now, a.before),
        "\n".join(down) or "no entry speaks against it",
        "\n".join(_move(story, m) for m in a.up[:2]) or "no entry speaks for it",
    )


def _move(story: Story, move: Shift) -> str:
    return f"{event_text(story, move.event)}: {pct(move.before)} to {pct(move.after)}, entry {move.event.seq}"


APPENDIX: tuple[Callable[[Story], Section], ...] = (
    _complaint,
    _identities,
    _precautions,
    _history,
    _checks,
    work_section,
    disturbed_section,
    parts_section,
    confirming_section,
    open_items,
    _alternatives,
    _overrides,
    notes_section,
    corrections_section,
    versions_section,
)
