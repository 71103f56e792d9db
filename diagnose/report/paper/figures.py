"""The pictures of a worksheet, each an inline SVG that stands on its own; a paper without them loses no fact."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.report import pictures
from diagnose.report.paper.model import Picture, Section
from diagnose.report.paper.story import EntryGroup, Story
from diagnose.report.pictures.columns import Batch, spaced


def figures_section(story: Story) -> Iterator[Section]:
    """Yield the map of the engine and the course of belief; nothing where there is no finding to draw."""
    if story.assessment is None or not story.complaint:
        return
    network = story.network
    engine = pictures.engine_map(network, story.assessment)
    chart = pictures.belief_chart(story.steps, network, belief_runs(story))
    drawn = (
        Picture(engine, "Picture: where on the engine the likely causes lie, and what was repaired"),
        Picture(chart, "Picture: how likely the leading causes were after each step"),
    )
    yield Section("pictures", "Where it lies, and how that became likely", drawn)


def belief_runs(story: Story) -> tuple[Batch, ...]:
    """Return which entries of a case are one step of its work: those of one check, one complaint, one calculation."""
    return tuple(Batch(g.events[0].seq, g.events[-1].seq, _words(g)) for g in story.groups)


def _words(group: EntryGroup) -> str:
    if group.check:
        return spaced(group.check)
    return {"history": "what happened before", "complaint": "complaint", "confirming": "looked at again"}.get(group.kind, "results")
