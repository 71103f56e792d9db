"""The worksheet's short answer: what was wrong, how that was known, what else it might have been, how it stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.case.log import Event
from diagnose.report.paper.alternatives import IN_PLAY, MOVES, Alternative, Mended, Move, alternatives, moves_of, repairs, unproven
from diagnose.report.paper.model import Block, Section, para, points, table
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.wording import cause_text, exchange_text, located, pct, result_text, share
from diagnose.report.screens import exchanged_words, result_words

GONE = "On the confirming run the complaint did not show again."
SHOWN = 5
RAISED = 3


def summary(story: Story) -> Section:
    """Return the short answer; a reader of it alone can say all three."""
    return Section(
        "summary",
        "In short",
        (),
        (
            Section("wrong", "What was wrong", tuple(_wrong_blocks(story))),
            Section("known", "How it was known", (_known(story),)),
            Section("else", "What else it might have been", tuple(_else(story))),
            Section("now", "How it stands now", (points(standing_now(story)),)),
        ),
    )


def _wrong_blocks(story: Story) -> Iterator[Block]:
    yield para(" ".join(_wrong(story)), "answer")
    told = list(_repaired(story))
    if told:
        yield points(told)


def _wrong(story: Story) -> Iterator[str]:
    """Yield the answer in a sentence or two."""
    if not story.complaint:
        yield "No complaint is recorded, so nothing can be said about its cause."
    elif story.last.impossible:
        yield "Not known: the results recorded cannot all be true under this rule base. One of them wants doing again."
    elif story.last.gone and _named(story):
        yield f"Most likely: {' and '.join(cause_text(story.network, c) for c, _ in _named(story))}; repaired."
        yield GONE
    elif story.last.gone:
        yield f"{GONE} Nothing recorded says which cause it was."
    elif repairs(story):
        yield f"The complaint is not shown to be gone after what was repaired. {_believed(story)}"
    else:
        yield _believed(story)


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
        return f"Nothing spoke for what this ends (likeliest of it: {cause_text(story.network, cause)}, {share(value)}); {done}"
    return f"{cause_text(story.network, cause)}: {share(value)} just before the repair; {done}"


def _after(story: Story, mended: Mended, later: Sequence[Mended]) -> str:
    """Return what the complaint did between one repair and the next."""
    until = later[0].event.seq if later else len(story.events) + 1
    seen = [e for _, c in story.complaint for e in looked_at_again(story, c) if mended.event.seq < e.seq < until]
    told = [result_text(story.network, story.result(e)) for e in sorted(seen, key=lambda e: e.seq)]
    return f"Looked at again afterwards: {'; '.join(dict.fromkeys(told))}." if told else "The complaint was not looked at again after it."


def _believed(story: Story) -> str:
    """Return what is believed of the complaint now, as plainly as it is known."""
    a = story.assessment
    state = a.finding.state if a is not None else "unsettled"
    first = max(story.last.causes, key=lambda r: (r.responsible, r.id), default=None)
    if first is None:
        return "Nothing is believed yet."
    lead = f"{cause_text(story.network, first.id)}, {share(first.responsible)}"
    if a is not None and state == "ambiguous":
        names = [" or ".join(cause_text(story.network, c) for c in group) for group in a.finding.ambiguity]
        return f"Isolated to {len(names)} repairs and no further, as no check here tells them apart: {'; '.join(names)}."
    told = {
        "isolated": f"Most likely {lead}; nothing repaired for it yet.",
        "unexplained": f"Unexplained: the results fit nothing in this rule base well. The nearest is {lead}.",
    }
    return told.get(state, f"Not settled. The likeliest so far is {lead}; the checks done do not settle it.")


def _named(story: Story) -> list[tuple[str, int]]:
    """Return the causes the short answer names, each with the number of the entry its evidence ends at."""
    made = [named for m in repairs(story) if (named := _named_by(story, m)) is not None]
    if story.last.gone or not story.last.causes:
        return made
    first = max(story.last.causes, key=lambda r: (r.responsible, r.id))
    return made if first.id in {c for c, _ in made} else [*made, (first.id, len(story.events) + 1)]


def _named_by(story: Story, mended: Mended) -> tuple[str, int] | None:
    """Return the cause a repair most likely ended: by what was believed before it, else by what is believed now."""
    if not mended.causes or mended.step.before.unmodelled is None:
        return None
    cause, value = mended.causes[0]
    if value >= IN_PLAY:
        return cause, mended.event.seq
    cause = max((c for c, _ in mended.causes), key=lambda c: (story.last.share(c), c))
    return (cause, len(story.events) + 1) if story.last.share(cause) >= IN_PLAY else None


def _known(story: Story) -> Block:
    """Return for each named cause the entries that raised it most, in their order."""
    rows = []
    for cause, until in _named(story):
        moves = [m for m in moves_of(story, cause) if m.event.seq < until and m.after - m.before >= MOVES]
        best = sorted(moves, key=lambda m: m.before - m.after)[:RAISED]
        rows += [(cause_text(story.network, cause), seen(story, m), shift(m)) for m in sorted(best, key=lambda m: m.event.seq)]
    if not rows:
        return para("Nothing recorded speaks for one cause.")
    return table("known", "What raised it most", (("cause", "Cause"), ("seen", "Seen"), ("shift", "Likelihood")), rows)


def seen(story: Story, move: Move) -> str:
    """Return what an entry showed, with its number."""
    return f"{event_text(story, move.event)} (entry {move.event.seq})"


def shift(move: Move) -> str:
    """Return what an entry did to the share of a cause."""
    return f"{pct(move.before)} to {pct(move.after)}"


def event_text(story: Story, event: Event) -> str:
    """Return what an entry that moves belief says, as it said it then."""
    if event.kind == "correct":
        new = event.data.get("result")
        told = result_text(story.network, str(new)) if new and not event.data.get("withdrawn") else "withdrawn"
        return f"entry {event.data.get('corrects')} corrected: {told}"
    if event.kind == "exchange":
        return exchange_text(story.network, str(event.data.get("exchange", "")))
    text = str(event.data.get("result") or event.data.get("remedy") or event.kind)
    return located(story.network, text) if event.kind == "repair" else result_text(story.network, text)


def _else(story: Story) -> Iterator[Block]:
    named = {c for c, _ in _named(story)}
    others = [a for a in alternatives(story) if a.cause not in named]
    rows = [
        (cause_text(story.network, o.cause), f"{pct(o.peak)} (entry {o.peak_at.seq})", pct(o.now), ruled_down(story, o)) for o in others
    ]
    if rows:
        columns = (("cause", "Cause"), ("peak", "At most"), ("now", "Now"), ("against", "What ruled it down, or not"))
        yield table("else", "Other causes that were in play", columns, rows[:SHOWN])
    else:
        yield para("No other cause was ever likely enough to name.")
    if len(rows) > SHOWN:
        yield para(f"{len(rows) - SHOWN} more under Alternatives.", "small")
    if story.last.unmodelled is not None and not story.last.impossible:
        yield para(f"Something else, not in this rule base: {share(story.last.unmodelled)} now.")


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
    """Yield how the trouble stands: gone or not, what is still possible, what may come back."""
    a = story.assessment
    if story.last.impossible or a is None:
        yield "The results cannot all be true."
        return
    if not story.complaint:
        yield "No complaint yet."
        return
    yield GONE if story.last.gone else "The complaint has not been shown to be gone."
    if a.finding.state == "unexplained" and len(a.finding.conflict) == 2:
        first, second = (result_words(story.network, c) for c in a.finding.conflict)
        yield f"These two results go together worst: {first} - and - {second}."
    yield from exchanged_words(story.network, story.case.trouble.looks)
    open_causes = unproven(story)
    if open_causes:
        yield "Suspected and not proven: " + "; ".join(f"{cause_text(story.network, c)} {share(s)}" for c, s in open_causes) + "."
    if a.finding.may_return:
        yield (
            "The repair may only have silenced for a while: " + "; ".join(cause_text(story.network, c) for c in a.finding.may_return) + "."
        )
    yield "Whether the aircraft may fly is for a licensed person to decide; this worksheet does not say."
