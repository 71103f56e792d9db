"""The pictures of a worksheet, each an inline SVG that stands on its own; a paper without them loses no fact."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from importlib.util import find_spec

from diagnose.report.paper.model import Picture
from diagnose.report.paper.story import Story

PICTURES = "diagnose.report.pictures"


def figures(story: Story) -> Iterator[Picture]:
    """Yield the map of the engine, the course of belief and the map of causes, where they can be drawn."""
    if find_spec(PICTURES) is None or story.assessment is None or not story.complaint:
        return
    made = import_module(PICTURES)
    yield Picture(made.engine_map(story.network, story.assessment), "Where on the engine the likely causes lie")
    yield Picture(made.belief_chart(story.steps), "How likely the leading causes were after each entry")
    yield Picture(made.cause_map(story.network, story.assessment), "Which causes would show which results")
