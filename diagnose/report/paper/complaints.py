"""Each complaint by itself: what was told together, in whose words, what is recorded about it, and how it stands now."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.case.log import Event
from diagnose.case.standing import complaint_words
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.wording import field_text, numbers, result_text
from diagnose.review.replay import Ranking
from diagnose.trouble.complaint import complaints
from diagnose.trouble.results import Result

ORDER = ("First", "Second", "Third", "Fourth", "Fifth", "Sixth")


@dataclass(frozen=True)
class Told:
    """What was complained of together: told with no repair between, each entry with its result as first told.

    `first` is its first entry; from entry `until` on the record is about something else: the next complaint, this one being gone.
    """

    number: int
    rows: tuple[tuple[Event, Result], ...]
    first: int
    until: int
    gone: bool

    @property
    def name(self) -> str:
        """Return what it is called."""
        return f"{ORDER[self.number]} complaint" if self.number < len(ORDER) else f"Complaint {self.number + 1}"


def told_together(story: Story) -> tuple[Told, ...]:
    """Return the complaints, those told with no repair between them together, oldest first."""
    found: dict[int, list[tuple[Event, Result]]] = {}
    for event, result in story.complaint:
        found.setdefault(_repairs_before(story, event), []).append((event, result))
    groups = [found[key] for key in sorted(found)]
    end = story.events[-1].seq + 1
    made = []
    for number, rows in enumerate(groups):
        after = min((e.seq for e, _ in groups[number + 1]), default=end) if number + 1 < len(groups) else end
        gone = _all_gone(story, rows, end)
        made.append(Told(number, tuple(rows), min(e.seq for e, _ in rows), after if _all_gone(story, rows, after) else end, gone))
    return tuple(made)


def _all_gone(story: Story, rows: list[tuple[Event, Result]], until: int) -> bool:
    """Return whether some complaints were all gone before an entry."""
    known = [t for e, t in zip(story.events, story.troubles, strict=True) if e.seq < until]
    gone = {c.result.subject: c.gone for c in complaints(known[-1].looks)} if known else {}
    return all(gone.get(result.subject, False) for _, result in rows)


def at_its_end(story: Story, told: Told) -> Ranking:
    """Return what was believed when the record turned to something else; now, where it has not."""
    return [s for s in story.steps if s.event.seq < told.until][-1].after


def own_words(story: Story, told: Told) -> str:
    """Return the reporter's words of a complaint, in the order told: those with no repair between them and it; empty for none."""
    said = [e for e in complaint_words(story.events) if _repairs_before(story, e) == _repairs_before(story, told.rows[0][0])]
    return "; ".join(field_text(e.data["words"]) for e in said)


def _repairs_before(story: Story, event: Event) -> int:
    return sum(e.seq < event.seq for e in story.live("repair"))


def in_results(story: Story, told: Told) -> str:
    """Return a complaint as its results in words."""
    return "; ".join(result_text(story.network, str(r)) for _, r in told.rows)


def stands(story: Story, event: Event, result: Result) -> str:
    """Return how one result of a complaint stands now: gone, still there, or not looked at again under its own conditions."""
    again = looked_at_again(story, event, result)
    repaired = [e.seq for e in story.live("repair") if e.seq > event.seq]
    if not repaired:
        return "nothing repaired since it was told"
    if any(c.gone and c.result.subject == result.subject for c in complaints(story.trouble.looks)):
        return f"gone: looked at again and normal ({numbers(again[-1:])})"
    still = [e for e in again if any(not r.normal for r in story.read(story.result(e)))]
    since = [e for e in again if e.seq > repaired[-1]]
    told = [f"still there ({numbers(still[-1:])})"] if still else []
    if not since:
        told.append(f"not looked at again under its own conditions since the repair of entry {repaired[-1]}")
    return "; ".join(told) or f"looked at again only in part ({numbers(since)})"


def stands_together(story: Story, told: Told) -> str:
    """Return how a complaint stands, what holds of several of its results once."""
    if told.gone:
        seen = [again[-1] for e, r in told.rows if (again := looked_at_again(story, e, r))]
        return f"gone: looked at again and normal ({numbers(seen)})"
    return "; ".join(dict.fromkeys(stands(story, e, r) for e, r in told.rows))
