"""Fields of the papers by their keys, each value worked out by hand from the sample case; a new field begins with a row here."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from diagnose.cli.papers import written
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Paper
from diagnose.report.paper.story import Story
from diagnose.report.paper.worksheet import worksheet
from tests.report.samples import full, story_at

# Paper, section, key, what its value holds.
FIELDS = [
    (handover, "work", "complaint", "It shook on the left mag and nearly died."),
    (handover, "work", "last", "Confirming run under the conditions of the complaint (C. Cedar, 05-05 08:25, entry 26)"),
    (handover, "work", "next", "P-lead"),
    (handover, "work", "why", "P-lead left: off at the magneto (entry 31"),
    (handover, "work", "cautions", "propeller"),
    (handover, "work", "disproved", "(was "),
    (handover, "work", "measured", "cylinder 3 640 F"),
    (handover, "work", "run", "Done by: C. Cedar, 2026-05-05; shop tachometer T-11"),
    (handover, "work", "parts", "plug PN-5 SN-31, fouled, tag 12 (entry 24)"),
    (handover, "work", "open", "EGT probe lead of No. 2 is chafed (entry 28)"),
    (handover, "people", "people", "C. Cedar; B. Birch; A. Alder"),
    (entry_draft, "what_on", "called", "Blue trainer"),
    (worksheet, "identities", "aircraft_name", "Blue trainer"),
]


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """Return the story of the case with every field."""
    return story_at(full(tmp_path_factory.mktemp("fields") / "full.case"))


def named(story: Story, make: Callable[[Story], Paper], section: str) -> dict[str, str]:
    """Return the values of a section of a paper by their keys."""
    sections = {s["key"]: s for s in json.loads(written(make(story), "json"))["sections"]}
    blocks = [block for block in sections[section]["blocks"] if block["block"] == "values"]
    return {v["key"]: v["value"] for block in blocks for v in block["values"]}


@pytest.mark.parametrize(("make", "section", "key", "held"), FIELDS, ids=lambda x: x if isinstance(x, str) else "")
def test_a_field_says_what_the_case_says(story: Story, make: Callable[[Story], Paper], section: str, key: str, held: str) -> None:
    assert held in named(story, make, section)[key]


@pytest.mark.parametrize("section", ["work", "people"])
def test_every_field_of_the_hand_over_has_a_row(story: Story, section: str) -> None:
    assert set(named(story, handover, section)) == {key for make, where, key, _ in FIELDS if make is handover and where == section}
