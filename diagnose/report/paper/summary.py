"""The worksheet's first page: what was wrong, how that was known, what else it might have been, what was done and with what,
what is open, and room for the person who decides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.case.log import Event
from diagnose.report.paper import measure
from diagnose.report.paper.alternatives import (
    IN_PLAY,
    MOVES,
    Alternative,
    Mended,
    Shift,
    alternatives,
    held_then,
    moves_of,
    repairs,
    unproven,
)
from diagnose.report.paper.complaints import Told, at_its_end, in_results, stands_together, told_together
from diagnose.report.paper.confirming import done_with, parts_told, run_parts
from diagnose.report.paper.disturbed import disturbed
from diagnose.report.paper.model import NOT_RECORDED, Blanks, Block, Section, bullets, para, table
from diagnose.report.paper.open_items import open_now
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.wording import (
    cause_text,
    event_result,
    exchange_text,
    field_text,
    located,
    made_by,
    numbers,
    pct,
    result_text,
    share,
    shortened,
    stands_at,
    who,
)
from diagnose.report.screens import exchanged_words, result_words
from diagnose.trouble.exchanges import places_now
from diagnose.trouble.looks import exchanges

GONE = "On the confirming run the complaint did not show again."
SHOWN = 3
SHOWN_EACH = 1  # of each complaint, where there are several
RAISED = 2
SURE = 0.5  # from here on a cause is called the likely one
LONG = 90  # characters of one person's text here; the rest stands further back
DECIDES = "Left blank by the program. Whether the aircraft may fly is for a licensed person to decide; this worksheet does not say."
APPROVAL = (("Name, licence, signature, date", ""),)


def summary(story: Story) -> Section:
    """Return the short answer; a reader of it alone can say what was wrong, how that is known, what was done, and what is open."""
    return Section(
        "summary",
        "In short",
        (),
        (
            Section("wrong", "What was wrong", tuple(_wrong_blocks(story))),
            Section("known", "How it was known", tuple(_known(story))),
            Section("else", "What else it might have been", tuple(_else(story))),
            Section("done", "What was done", tuple(_done(story))),
            Section("run", "Confirming run", tuple(_run(story))),
            Section("now", "What is open", tuple(_open(story))),
            Section("approval", "For the person who decides", (para(DECIDES, "small"), Blanks(APPROVAL))),
        ),
    )


def _wrong_blocks(story: Story) -> Iterator[Block]:
    every = told_together(story)
    if not every:
        yield para("No complaint is recorded, so nothing can be said about its cause.", "answer")
    for told in every:
        head = f"{told.name} ({in_results(story, told)}, {numbers([e for e, _ in told.rows])}): " if len(every) > 1 else ""
        yield para(head + " ".join(_wrong(story, told)), "answer")
    repaired = list(_repaired(story))
    if repaired:
        yield bullets(repaired)


def _wrong(story: Story, told: Told) -> Iterator[str]:
    """Yield the answer to one complaint in a sentence or two."""
    named = _named(story, told)
    if at_its_end(story, told).impossible:
        yield "Not known: the results recorded cannot all be true under this rule base. One of them wants doing again."
    elif told.gone and named:
        yield f"Most likely: {' and '.join(_answer(story, c) for c, _ in named)}; repaired."
        yield GONE
    elif told.gone:
        yield f"{GONE} Nothing recorded says which cause it was."
    elif _repairs_for(story, told):
        again = f" ({stands_together(story, told)})"
        yield f"The complaint is not shown to be gone after what was repaired{again}. {_believed(story, told)}"
    else:
        yield _believed(story, told)


def _repairs_for(story: Story, told: Told) -> list[Mended]:
    return [m for m in repairs(story) if told.first < m.event.seq < told.until]


def _before_repair(story: Story, cause: str) -> float:
    """Return how likely a cause was just before the repair that ends it; 1 where none does."""
    return next((m.step.before.share(cause) for m in repairs(story) if cause in {c for c, _ in m.causes}), 1.0)


def _answer(story: Story, cause: str) -> str:
    """Return a cause as the answer; where less than half spoke for it before its repair, only the repair, which may end several."""
    mended = next((m for m in repairs(story) if cause in {c for c, _ in m.causes}), None)
    value = mended.step.before.share(cause) if mended is not None else 1.0
    if mended is None or value >= SURE:
        return cause_text(story.network, cause, mended.step.trouble.looks if mended is not None else ())
    return f'something that "{located(story.network, str(mended.event.data.get("remedy", "")))}" ends'


def _repaired(story: Story) -> Iterator[str]:
    made = repairs(story)
    for number, mended in enumerate(made, 1):
        yield f"{_mended_cause(story, mended)} {_after(story, mended, made[number:])}"


def _mended_cause(story: Story, mended: Mended) -> str:
    done = f"repaired by: {located(story.network, str(mended.event.data.get('remedy', '')))} (entry {mended.event.seq})."
    if not mended.causes or mended.step.before.unmodelled is None:
        return f"No cause had been named; {done}"
    cause, value = mended.causes[0]
    if value < IN_PLAY:
        likeliest = f"likeliest of it: {cause_text(story.network, cause)}, {share(value)}{_then(story, mended)}"
        return f"Nothing spoke for what this ends ({likeliest}); {done}"
    more = [f"{cause_text(story.network, c)} {pct(v)}" for c, v in mended.causes[1:SHOWN] if v >= IN_PLAY]
    also = f" (it also ends {'; '.join(more)})" if more else ""
    named = cause_text(story.network, cause, mended.step.trouble.looks)
    return f"{named}: {share(value)} just before the repair{_then(story, mended)}{also}; {done}"


def _then(story: Story, mended: Mended) -> str:
    """Return what spoke for a repair when it was done, where that was corrected since."""
    then = held_then(story, mended)
    if then is None:
        return ""
    cause, value = then
    told = "" if cause == mended.causes[0][0] else f" for {cause_text(story.network, cause)}"
    return f" (at the time{told} {pct(value)}, by an answer corrected since)"


def _after(story: Story, mended: Mended, later: Sequence[Mended]) -> str:
    """Return what the complaints told before a repair did until the next repair, or until something else was complained of."""
    seq = mended.event.seq
    ends = [m.event.seq for m in later[:1]] + [t.first for t in told_together(story) if t.first > seq]
    until = min(ends, default=story.events[-1].seq + 1)
    told = [(e, c) for e, c in story.complaint if e.seq < seq]
    seen = [e for t, c in told for e in looked_at_again(story, t, c) if seq < e.seq < until]
    newest = {r.subject: (e, r) for e in sorted(seen, key=lambda e: e.seq) for r in story.read(story.result(e))}
    still = [result_text(story.network, story.result(e)) for e, r in newest.values() if not r.normal]
    if not newest:
        return "The complaint was not looked at again after it." if told else "Nothing had been complained of."
    looked = f"Looked at again afterwards ({numbers([e for e, _ in newest.values()])}):"
    return f"{looked} still {'; '.join(dict.fromkeys(still))}." if still else f"{looked} all normal."


def _believed(story: Story, told: Told) -> str:
    """Return what is believed of a complaint now, as plainly as it is known."""
    a = story.assessment
    about = {c.partition("=")[0] for c in a.complaint} if a is not None else set()
    if about and not about & {r.subject for _, r in told.rows}:
        return "What is believed now is about another complaint; look at this one again before anything is said of its cause."
    state = a.finding.state if a is not None else "unsettled"
    first = max(story.last.causes, key=lambda r: (r.responsible, r.id), default=None)
    if first is None:
        return "Nothing is believed yet."
    lead = f"{cause_text(story.network, first.id)}, {share(first.responsible)}"
    if a is not None and state == "ambiguous":
        names = [" or ".join(cause_text(story.network, c) for c in group) for group in a.finding.ambiguity]
        return f"Isolated to {len(names)} repairs and no further, as no check here tells them apart: {'; '.join(names)}."
    by_state = {
        "isolated": f"Most likely {lead}; nothing repaired for it yet.",
        "unexplained": f"Unexplained: the results fit nothing in this rule base well. The nearest is {lead}.",
    }
    return by_state.get(state, f"Not settled. The likeliest so far is {lead}; the checks done do not settle it.")


def _named(story: Story, told: Told) -> list[tuple[str, int]]:
    """Return the causes the short answer to a complaint names, each with the number of the entry its evidence ends at."""
    made = [named for m in _repairs_for(story, told) if (named := _named_by(story, told, m)) is not None]
    last = at_its_end(story, told)
    if told.gone or not last.causes:
        return [one for one in made if _before_repair(story, one[0]) >= SURE] or made
    first = max(last.causes, key=lambda r: (r.responsible, r.id))
    return made if first.id in {c for c, _ in made} else [*made, (first.id, told.until)]


def _named_by(story: Story, told: Told, mended: Mended) -> tuple[str, int] | None:
    """Return the cause a repair most likely ended: by what was believed before it, else by what is believed at the end."""
    if not mended.causes or mended.step.before.unmodelled is None:
        return None
    cause, value = mended.causes[0]
    if value >= IN_PLAY:
        return cause, mended.event.seq
    last = at_its_end(story, told)
    cause = max((c for c, _ in mended.causes), key=lambda c: (last.share(c), c))
    return (cause, told.until) if last.share(cause) >= IN_PLAY else None


def _known(story: Story) -> Iterator[Block]:
    """Yield for each complaint and named cause the entries that raised it most, in their order, each with reading, tool, data, person."""
    every = told_together(story)
    tables = [(told, rows) for told in every if (rows := list(_raised(story, told)))]
    if not tables:
        yield para("Nothing recorded speaks for one cause.")
    columns = (("cause", "Cause"), ("seen", "Seen"), ("how", "Read, with what, by whom"), ("shift", "Likelihood"))
    for told, rows in tables:
        if len(every) > 1:
            yield para(f"{told.name}:", "small")
        yield table("known", "What raised it most", columns, rows)


def _raised(story: Story, told: Told) -> Iterator[tuple[str, ...]]:
    for cause, until in _named(story, told):
        moves = [m for m in moves_of(story, cause, told) if m.event.seq < until and m.after - m.before >= MOVES]
        moves.sort(key=lambda m: m.before - m.after)
        swap = _exchange_of(story, cause, until)
        after_swap = [m for m in moves if swap is not None and m.event.seq > swap.seq]
        followed = sorted(after_swap, key=lambda m: not _of_exchange(story, m.event))[:1]  # that it went with its part is the proof
        best = {m.event.seq: m for m in (*moves[:RAISED], *followed)}
        for number, move in sorted(best.items()):
            after = f", after entry {swap.seq}: {event_text(story, swap)}" if swap is not None and number > swap.seq else ""
            name = cause_text(story.network, cause, story.looks_at(move.event))
            yield name, f"{seen(story, move)}{after}", _read_by(story, move.event), shift(move)


def _of_exchange(story: Story, event: Event) -> bool:
    """Return whether an entry is the result that an exchange of parts is made for."""
    follows = {c.moves for c in story.network.base.checks.values() if c.moves}
    return any(r.symptom in follows for r in story.read(story.result(event)))


def _exchange_of(story: Story, cause: str, until: int) -> Event | None:
    """Return the last exchange in force before an entry that took the part of a cause somewhere else; None where it stands at home."""
    done = [e for e in story.live("exchange") if e.seq < until]
    return done[-1] if done and cause in places_now(story.network, exchanges(story.looks_at(done[-1]))) else None


def _read_by(story: Story, event: Event) -> str:
    """Return reading, tool, data and person of an entry; its limit stands with its check."""
    if event.kind != "result":
        return who(event)
    source = story.source(event)
    events = (event,) if source is None else (event, source)
    reading = shortened(measure.reading(story, event) or f"reading {NOT_RECORDED}", LONG, "Checks")
    tool = "; ".join(measure.tools(events)) or f"tool {NOT_RECORDED}"
    by = "; ".join((who(event), *(f"corrected by {who(c)}, entry {c.seq}" for c in story.corrections.get(event.seq, ())[-1:])))
    return f"{reading}; {tool}; data: {measure.data_used(events) or NOT_RECORDED}; {by}"


def _done(story: Story) -> Iterator[Block]:
    """Yield all work in force: what and why, as found and left, by which data, by whom; then what was opened for it."""
    rows = [_done_row(story, e) for e in story.events if e.kind in ("repair", "exchange") and not story.withdrawn(e)]
    if rows:
        columns = (("work", "Work"), ("state", "As found; as left"), ("data", "Data"), ("by", "By"))
        yield table("done", "Work in order", columns, rows)
    if not any(e.kind == "repair" for e in story.events if not story.withdrawn(e)):
        yield para("No repair is recorded.")
    opened = list(dict.fromkeys(thing.partition(":")[0] for one in disturbed(story) if one.back != one.opened for thing in one.things))
    if opened:
        yield para(f"Opened or taken off for it: {', '.join(opened)}; put back as told under Opened or disturbed.", "small")


def _done_row(story: Story, event: Event) -> tuple[str, ...]:
    data = event.data
    why = shortened(field_text(data.get("reason")) or field_text(data.get("note")) * (event.kind == "exchange"), LONG, "Work done")
    if event.kind == "exchange":
        done, state = exchange_text(story.network, str(data.get("exchange", ""))), "-"
    else:
        done = located(story.network, str(data.get("remedy", "")))
        state = "; ".join(shortened(field_text(data.get(key)) or NOT_RECORDED, LONG, "Work done") for key in ("found", "left"))
    why = why or _no_reason(story, event)
    by_data = field_text(data.get("procedure")) or "-" * (event.kind == "exchange")
    return f"{done}{f'. Why: {why}' if why else ''}", state, by_data, made_by(event)


def _no_reason(story: Story, event: Event) -> str:
    """Return what was believed just before a repair that no reason is recorded of; empty where nothing was."""
    mended = next((m for m in repairs(story) if m.event.seq == event.seq), None)
    if mended is None or not mended.causes or mended.step.before.unmodelled is None:
        return "" if mended is None else NOT_RECORDED
    cause, value = mended.causes[0]
    return f"{NOT_RECORDED}; likeliest of what it ends was {cause_text(story.network, cause, mended.step.trouble.looks)}, {pct(value)}"


def _run(story: Story) -> Iterator[Block]:
    """Yield the run part by part, then once what it was done with."""
    if not run_parts(story):
        yield para("No repair, so no run yet.")
        return
    yield bullets(parts_told(story, by=False))
    yield from (para(text, "small") for text in done_with(story, limits=False))


def _open(story: Story) -> Iterator[Block]:
    told = [*open_now(story), *standing_now(story)]
    yield bullets(told) if told else para("Nothing is left open in the record.")


def seen(story: Story, move: Shift) -> str:
    """Return what an entry showed, with its number."""
    return f"{event_text(story, move.event)} (entry {move.event.seq})"


def shift(move: Shift) -> str:
    """Return what an entry did to the share of a cause."""
    return f"{pct(move.before)} to {pct(move.after)}"


def event_text(story: Story, event: Event) -> str:
    """Return what an entry that moves belief says, as corrected."""
    if event.kind == "exchange":
        return exchange_text(story.network, str(event.data.get("exchange", "")))
    text = str(story.data(event).get("result") or event.data.get("remedy") or event.kind)
    return located(story.network, text) if event.kind == "repair" else event_result(story, event, text)


def _else(story: Story) -> Iterator[Block]:
    every = told_together(story)
    for told in every:
        if len(every) > 1:
            yield para(f"{told.name}:", "small")
        yield from _else_of(story, told, SHOWN if len(every) == 1 else SHOWN_EACH)
    if not every:
        yield para("No other cause was ever likely enough to name.")


def _in_the_end(other: Alternative) -> str:
    return pct(other.now) if other.before is None else stands_at(other.now, other.before)


def _else_of(story: Story, told: Told, most: int) -> Iterator[Block]:
    named = {c for c, _ in _named(story, told)}
    mended = _repairs_for(story, told)
    with_it = {c for m in mended if named & {c for c, _ in m.causes} for c, _ in m.causes}  # told with the repair that ends them
    others = [a for a in alternatives(story, told) if a.cause not in named | with_it]
    rows = [
        (cause_text(story.network, o.cause), f"{pct(o.peak)} (entry {o.peak_at.seq})", _in_the_end(o), ruled_down(story, o)) for o in others
    ]
    past = told.until <= story.events[-1].seq
    if rows:
        end = ("now", "In the end" if past else "Now")
        columns = (("cause", "Cause"), ("peak", "At most"), end, ("against", "What ruled it down, or not"))
        yield table("else", "Other causes that were in play", columns, rows[:most])
    else:
        yield para("No other cause was ever likely enough to name.")
    more = [f"{len(rows) - most} more under Alternatives."] if len(rows) > most else []
    last = at_its_end(story, told)
    if last.unmodelled is not None and not last.impossible:
        more.append(f"Something else, not in this rule base: {share(last.unmodelled)} {'in the end' if past else 'now'}.")
    if more:
        yield para(" ".join(more), "small")


def ruled_down(story: Story, other: Alternative) -> str:
    """Return what did most to rule an alternative down."""
    told = [f"{seen(story, other.down[0])}, {shift(other.down[0])}"] if other.down else []
    if other.now is None:
        return "not ruled down: the results cannot all be true"
    if other.now >= IN_PLAY and other.repaired is None:
        return f"not ruled down{'; lowered by: ' + told[0] if told else ''}"
    if other.repaired is not None:
        told.append(f"ended by the repair of entry {other.repaired.seq}")
    return "; ".join(told) or "no entry speaks against it"


def standing_now(story: Story) -> Iterator[str]:
    """Yield what belief leaves open: results that do not go together, parts exchanged, suspects, what may come back."""
    a = story.assessment
    if story.last.impossible or a is None:
        yield "The results cannot all be true under this rule base: at least one wants doing again."
        return
    if a.finding.state == "unexplained" and len(a.finding.conflict) == 2:
        first, second = (result_words(story.network, c) for c in a.finding.conflict)
        yield f"These two results go together worst: {first} - and - {second}."
    yield from exchanged_words(story.network, story.case.trouble.looks)
    open_causes = unproven(story)
    if open_causes:
        yield "Suspected and not proven: " + "; ".join(f"{cause_text(story.network, c)} {share(s)}" for c, s in open_causes) + "."
    if a.finding.may_return:
        names = [cause_text(story.network, c) for c in a.finding.may_return[:SHOWN]]
        rest = len(a.finding.may_return) - len(names)
        yield f"The repair may only have silenced for a while: {'; '.join([*names, *([f'{rest} more'] if rest > 0 else [])])}."
