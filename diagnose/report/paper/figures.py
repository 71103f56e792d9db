"""The pictures of a worksheet, each an inline SVG that stands on its own; a paper without them loses no fact."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.report.paper.model import Picture, Section
from diagnose.report.paper.story import Story


def figures_section(story: Story) -> Iterator[Section]:
    """Yield the map of the engine, the course of belief and the map of causes; nothing where there is no finding to draw."""
    if story.assessment is None or not story.complaint:
        return
    from diagnose.report import pictures

    network, assessment = story.network, story.assessment
    yield Section(
        "pictures",
        "Pictures",
        (
            Picture(pictures.engine_map(network, assessment), "Where on the engine the likely causes lie"),
            Picture(pictures.belief_chart(story.steps, network), "How likely the leading causes were after each entry"),
            Picture(pictures.cause_map(network, assessment), "Which causes would show which results"),
        ),
    )
