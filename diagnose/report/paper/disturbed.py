"""What was opened, taken off or moved, and how it was put back: a record of the work holds both, whoever set it down and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from diagnose.case.log import Event
from diagnose.report.paper.model import Section, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import exchange_text, located, made_by
from diagnose.trouble.aircraft import Aircraft, Fact, proves_off
from diagnose.trouble.aircraft_words import MANY, P_LEADS, left_as

# What is for safety only, or no part of the aircraft: putting it on and off again is no work.
BESIDE = frozenset({"propeller", "chocks", "fuel", "switch", "tools", "inspection"})
NOT_BACK = "not recorded as put back"
UNPROVEN = "no OFF check passed since"


@dataclass(frozen=True)
class Disturbed:
    """Things that stood open, off or moved between two entries: in words, by which step, and the OFF check that proved it where one is due.

    `back` is None while they stand so; `proof` is the first OFF check passed after they were put back.
    """

    things: tuple[str, ...]
    opened: Event
    step: str = ""
    back: Event | None = None
    wants_proof: bool = False
    proof: Event | None = None


def disturbed(story: Story) -> tuple[Disturbed, ...]:
    """Return everything that was opened, taken off or moved, oldest first; what was done in the same two entries together."""
    found: dict[tuple[object, ...], Disturbed] = {}
    for one in sorted(_each(story), key=lambda d: d.opened.seq):
        key = (one.opened.seq, one.back.seq if one.back is not None else 0, one.wants_proof)
        found[key] = replace(found[key], things=(*found[key].things, *one.things)) if key in found else one
    return tuple(found.values())


def _each(story: Story) -> Iterator[Disturbed]:
    before, open_ = Aircraft(), dict[str, Disturbed]()
    for index, (event, trouble) in enumerate(zip(story.events, story.troubles, strict=True)):
        now, back = trouble.aircraft, set[str]()
        for thing in [t for t in now.facts if now.facts[t] != before.facts.get(t) and t not in BESIDE]:
            fact = now.facts[thing]
            if fact.now in left_as(thing):
                back |= {thing.partition(" ")[0]}
                if thing in open_:
                    yield _put_back(story, open_.pop(thing), event, index)
            elif thing not in open_ or (before.facts[thing].doubted and not fact.doubted):  # out again, nobody said that it had been back
                yield from [open_[thing]] if thing in open_ else []
                open_[thing] = Disturbed((_said(thing, fact),), event, fact.step, wants_proof=thing in P_LEADS.values())
        yield from _in_one_step(story, event, back)
        off = not open_.keys().isdisjoint(P_LEADS.values())  # then the P-lead itself waits for the OFF check
        if now.off_due is not None and now.off_due != before.off_due and now.off_due.now == "due" and not off:
            yield _moved(story, event, now.off_due, index)
        before = now
    yield from open_.values()


def _said(thing: str, fact: Fact) -> str:
    lead = " and its lead" if fact.step and thing.startswith("plug ") else ""  # a plug comes out with its lead off (how it is built)
    return f"{thing}{lead}: {fact.words or fact.now}"


def _in_one_step(story: Story, event: Event, back: Collection[str]) -> Iterator[Disturbed]:
    """Yield what an entry opened and closed again itself: parts worked on in place, but for those it put `back`, and parts exchanged."""
    if story.withdrawn(event):
        return
    if event.kind == "exchange":
        yield Disturbed((exchange_text(story.network, str(event.data.get("exchange", ""))),), event, "", event)
    step = str(event.data.get("remedy", "")) if event.kind == "repair" else ""
    name, _, place = step.partition("@")
    remedy = story.network.base.remedies.get(name)
    parts = [part for part in (remedy.refits if remedy is not None else ()) if not {part, MANY.get(part)} & set(back)]
    if parts:
        what = " and ".join(f"{part} {place}" if place not in ("", "engine") else f"{part}s" for part in parts)
        yield Disturbed((f"{what}: off and back",), event, step, event)


def _put_back(story: Story, one: Disturbed, event: Event, index: int) -> Disturbed:
    return replace(one, back=event, proof=_off_check(story, index) if one.wants_proof else None)


def _moved(story: Story, event: Event, due: Fact, index: int) -> Disturbed:
    """Return a step that can have disturbed the grounding with all back on: its own entry, and the OFF check that proved it."""
    return Disturbed((f"grounding, disturbed by: {due.words}",), event, "", event, True, _off_check(story, index))


def _off_check(story: Story, index: int) -> Event | None:
    """Return the first OFF check passed from an entry on that proved something: with a P-lead not on it proves nothing."""
    base = story.network.base
    for event, trouble in zip(story.events[index:], story.troubles[index:], strict=True):
        answers = story.read(story.result(event)) if event.kind == "result" else ()
        if trouble.aircraft.off_due is None and any(proves_off(base, r) and r.normal for r in answers):
            return event
    return None


def disturbed_told(story: Story) -> list[str]:
    """Return each in one line: what stood open or off, by whom and what for, how it was put back, and the OFF check that proved it."""
    return [f"{what} ({by}). {back}." for what, by, back in (_told(story, one) for one in disturbed(story))]


def _told(story: Story, one: Disturbed) -> tuple[str, str, str]:
    """Return what, opened by whom for which step, and put back by whom with which proof."""
    label = located(story.network, one.step) if one.step else ""
    step = f", for: {label}" if label and not any(label.startswith(t.partition(" for: ")[2] or "-") for t in one.things) else ""
    back = NOT_BACK if one.back is None else f"Put back: {made_by(one.back)}" if one.back != one.opened else ""
    back = "Put back in the same step" if one.back == one.opened and not one.wants_proof else back
    proof = "" if not one.wants_proof or one.back is None else UNPROVEN if one.proof is None else f"OFF check passed: {made_by(one.proof)}"
    ended = "; ".join(text for text in (back, proof) if text)
    return "; ".join(one.things), f"{made_by(one.opened)}{step}", ended[:1].upper() + ended[1:]


def disturbed_section(story: Story) -> Section:
    """Return a table of what was opened or disturbed and how it was put back."""
    title = "Opened or disturbed, and put back"
    rows = [_told(story, one) for one in disturbed(story)]
    columns = (("what", "What"), ("opened", "By, for what"), ("back", "Put back and proved by"))
    return Section("disturbed", title, (table("disturbed", "In order", columns, rows) if rows else para("Nothing is recorded as opened."),))
