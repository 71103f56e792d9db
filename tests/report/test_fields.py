"""Fields of the papers by their keys, each value worked out by hand from the sample case; a new field begins with a row here."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from diagnose.cli.record import written
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Paper
from diagnose.report.paper.story import Story
from diagnose.report.paper.worksheet import worksheet
from tests.report.samples import full, story_at

# Paper, section, key, value.
FIELDS = [
    (handover, "work", "complaint", "It shook on the left mag and nearly died."),
    (handover, "people", "people", "C. Cedar; B. Birch; A. Alder"),
    (entry_draft, "what_on", "called", "Blue trainer"),
    (worksheet, "identities", "aircraft_name", "Blue trainer"),
]


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """Return the story of the case with every field."""
    return story_at(full(tmp_path_factory.mktemp("fields") / "full.case"))


@pytest.mark.parametrize(("make", "section", "key", "value"), FIELDS, ids=lambda x: x if isinstance(x, str) else "")
def test_a_field_says_what_the_case_says(story: Story, make: Callable[[Story], Paper], section: str, key: str, value: str) -> None:
    sections = {s["key"]: s for s in json.loads(written(make(story), "json"))["sections"]}
    blocks = [block for block in sections[section]["blocks"] if block["block"] == "values"]
    assert {v["key"]: v["value"] for block in blocks for v in block["values"]}[key] == value
