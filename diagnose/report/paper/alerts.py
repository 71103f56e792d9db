"""What a reader must know before trusting the rest of any paper: a broken chain first, then what can hurt, then the rest."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.case.chain import ACCEPTED
from diagnose.report.paper.aircraft import dangers, live_warnings
from diagnose.report.paper.model import NOT_RECORDED, Block, para
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import field_text, made_by

BROKEN = "THE CASE FILE WAS CHANGED OUTSIDE THIS PROGRAM"
MARK = 44  # characters of a file's name on each printed page


def alerts(story: Story, always: bool = False) -> Iterator[Block]:
    """Yield the lead of a paper; `always`: also what holds where no danger is recorded, as for a sheet read at the aircraft."""
    yield from broken_chain(story)
    yield from (para(text, "alert") for text in (live_warnings(story) if always else dangers(story)))
    yield from invented(story)


def broken_chain(story: Story) -> Iterator[Block]:
    """Yield that the chain of the file is broken, where, and who went on in spite of it."""
    breaks = [p for p in story.problems if p.code != "torn"]
    if not breaks:
        return
    first, more = breaks[0], len(breaks) - 1
    where = f"line {first.line}: {first.message}{f', and {more} more' if more else ''}"
    yield para(f"{BROKEN}. {where}. What stands below may not be what was recorded: {first.fix}.", "alert")
    for event in story.of(ACCEPTED):
        yield para(f"{field_text(event.data.get('note')) or NOT_RECORDED} ({made_by(event)})", "alert")


def invented(story: Story) -> Iterator[Block]:
    """Yield the warning that a case is made up, where its opening says so."""
    if story.case.opening.get("invented"):
        yield para("Invented: this case is a demonstration and no aircraft.", "alert")


def file_notes(story: Story) -> Iterator[Block]:
    """Yield what else is to be said of the file: another rule base, a torn line, entries set aside."""
    for warning in story.case.warnings:
        if not (story.case.text.breaks and warning == story.case.warnings[0]):  # the first tells of the breaks
            yield para(warning[0].upper() + warning[1:], "alert")


def mark(story: Story) -> str:
    """Return what every printed page of a paper bears: the name of the case and the head hash of its file."""
    name = story.case.path.name
    return f"{name if len(name) <= MARK else name[: MARK - 2] + '..'}  head {story.head}"
