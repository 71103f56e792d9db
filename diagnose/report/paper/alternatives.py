"""Which causes were in play, what raised and lowered each as the entries came in, and which were ended by a repair."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.case.case import trouble_after
from diagnose.case.log import Event
from diagnose.report.paper.complaints import Told, at_its_end, told_together
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.review.replay import Moment, ranking
from diagnose.trouble.evidence import repaired
from diagnose.trouble.exchanges import places_now
from diagnose.trouble.looks import Repair, exchanges
from diagnose.trouble.results import Result

IN_PLAY = 0.05  # a cause that was ever this likely is an alternative somebody may ask about
DOWN = 0.01  # below this a cause counts as ruled down
MOVES = 0.005  # an entry that changes a share by less hardly matters


@dataclass(frozen=True)
class Shift:
    """What one entry did to a cause: its share before and after it."""

    event: Event
    before: float
    after: float


@dataclass(frozen=True)
class Alternative:
    """A cause that was in play: its highest share and where, its share now, and what ended or moved it.

    `before`: its share just before the repair that ended it, where it was not met again since: nothing of it stands now.
    `now` is None where the results cannot all be true, as nothing can then be believed.
    """

    cause: str
    peak: float
    peak_at: Event
    now: float | None
    repaired: Event | None
    before: float | None
    down: tuple[Shift, ...]
    up: tuple[Shift, ...]


@dataclass(frozen=True)
class Mended:
    """A repair in force: what is believed of the causes it ends just before it, likeliest first."""

    event: Event
    step: Moment
    causes: tuple[tuple[str, float], ...]


def alternatives(story: Story, told: Told | None = None) -> tuple[Alternative, ...]:
    """Return every cause that was ever in play for a complaint (without one: for any), highest peak first."""
    complained = [s for s in _of(story, told) if s.after.unmodelled is not None and s.moved]
    peaks: dict[str, tuple[float, Event]] = {}
    for step in complained:
        for ranked in step.after.causes:
            if ranked.responsible >= IN_PLAY and ranked.responsible > peaks.get(ranked.id, (0.0, step.event))[0]:
                peaks[ranked.id] = (ranked.responsible, step.event)
    ended = {c: e for c, e in _ended(story).items() if told is None or e.seq > told.first}
    found = [_alternative(story, told, c, peak, event, ended.get(c)) for c, (peak, event) in peaks.items()]
    return tuple(sorted(found, key=lambda a: (-a.peak, a.cause)))


def _of(story: Story, told: Told | None) -> list[Moment]:
    """Return the steps that a complaint is worked at in."""
    return [s for s in story.steps if told is None or told.first <= s.event.seq < told.until]


def _alternative(story: Story, told: Told | None, cause: str, peak: float, event: Event, repaired: Event | None) -> Alternative:
    moves = [m for m in moves_of(story, cause, told) if repaired is None or m.event.seq < repaired.seq]  # after it, normal means mended
    down = sorted((m for m in moves if m.before - m.after >= MOVES), key=lambda m: m.after - m.before)
    up = sorted((m for m in moves if m.after - m.before >= MOVES), key=lambda m: m.before - m.after)
    last = at_its_end(story, told) if told is not None else story.last
    now = None if last.impossible else last.share(cause)
    return Alternative(cause, peak, event, now, repaired, _share_before(story, cause, repaired), tuple(down), tuple(up))


def _share_before(story: Story, cause: str, repaired: Event | None) -> float | None:
    """Return the share of a cause just before the repair that ended it; None without one, or where a complaint was met again after it."""
    if repaired is None or any(_met_again(story, e, c, repaired.seq) for e, c in story.complaint):
        return None
    return next((m.step.before.share(cause) for m in repairs(story) if m.event.seq == repaired.seq), None)


def _met_again(story: Story, told: Event, complaint: Result, after: int) -> bool:
    again = (e for e in looked_at_again(story, told, complaint) if e.seq > after)
    return told.seq < after and any(r.abnormal for e in again for r in story.read(story.result(e)))


def moves_of(story: Story, cause: str, told: Told | None = None) -> Iterator[Shift]:
    """Yield what each entry did to a cause, repairs left out: from the first entry of the complaint on, which itself is no evidence."""
    for step in _of(story, told):
        new = told is not None and step.event.seq == told.first
        if step.moved and not new and step.event.kind != "repair" and step.before.unmodelled is not None and step.after.causes:
            yield Shift(step.event, step.before.share(cause), step.after.share(cause))


def _ended(story: Story) -> dict[str, Event]:
    """Return located cause -> the last repair in force that ends it."""
    found: dict[str, Event] = {}
    for mended in reversed(repairs(story)):
        for cause, _ in mended.causes:
            found.setdefault(cause, mended.event)
    return found


def repairs(story: Story) -> tuple[Mended, ...]:
    """Return the repairs in force, oldest first."""
    made = []
    for step in story.steps:
        if step.event.kind != "repair" or story.withdrawn(step.event):
            continue
        ident, _, place = str(step.event.data.get("remedy", "")).partition("@")
        found = ((c, step.before.share(c)) for c in _ended_by(story, Repair(ident, place or "engine"), step))
        ends = sorted(found, key=lambda e: (-e[1], e[0]))
        made.append(Mended(step.event, step, tuple(ends)))
    return tuple(made)


def held_then(story: Story, mended: Mended) -> tuple[str, float] | None:
    """Return the likeliest cause a repair ends as recorded at the time; None where nothing before it was corrected after it."""
    seq = mended.event.seq
    if not any(target < seq < change.seq for target, changes in story.corrections.items() for change in changes):
        return None
    base = story.network.base
    then = ranking(story.network, trouble_after(story.events[: story.events.index(mended.event)], base, story.network.layout))
    return max(((c, then.share(c)) for c, _ in mended.causes), key=lambda found: (found[1], found[0]), default=None)


def _ended_by(story: Story, repair: Repair, step: Moment) -> Iterator[str]:
    """Yield the causes a repair ends where their parts stood at that step."""
    if repair.remedy in story.network.base.remedies:
        stands = places_now(story.network, exchanges(step.trouble.looks))
        yield from sorted(repaired(story.network, (repair,), stands)[0])


def disproved(story: Story) -> tuple[Alternative, ...]:
    """Return the causes that were in play for the newest complaint and are ruled down now, other than by a repair."""
    newest = told_together(story)[-1:]
    return tuple(a for a in alternatives(story, newest[0] if newest else None) if a.now is not None and a.now < DOWN and a.repaired is None)


def unproven(story: Story) -> tuple[tuple[str, float], ...]:
    """Return the causes still in play that no repair has ended, likeliest first."""
    removed = {r.id for r in story.last.causes if r.removed}
    found = [(r.id, story.last.share(r.id)) for r in story.last.causes if r.id not in removed]
    return tuple(sorted((f for f in found if f[1] >= IN_PLAY), key=lambda f: (-f[1], f[0])))
