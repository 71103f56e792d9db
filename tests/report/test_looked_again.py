"""What the hand-over and the draft say of looks at the complaint, of parts off and of persons agrees with what stands beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Pairs, Paper
from tests.report import samples

Entry = tuple[str, str, dict[str, Any]]
TOLD: tuple[Entry, ...] = (
    ("state", "A", {"state": {"P-lead left": "on", "P-lead right": "on"}}),
    ("result", "A", {"result": "rough.runup@left=yes", "complaint": True}),
    ("result", "A", {"result": "drop.runup@left=excessive", "complaint": True}),
    ("result", "B", {"result": "plug_lead.static@3-bottom=yes", "check": "look_at_plug@3-bottom"}),
    ("repair", "B", {"remedy": "clean_plug@3-bottom", "off": ["plug 3-bottom, serial 77"]}),
)
AGAIN: Entry = ("result", "C", {"result": "drop.runup@left=excessive", "check": "confirming_run"})


def values(paper: Paper) -> dict[str, str]:
    """Return key -> text of every pair of a paper."""
    rows = [row for s in paper.sections for b in s.blocks if isinstance(b, Pairs) for row in b.rows]
    return {row.key: "".join(span.text for span in row.words) for row in rows}


def test_the_hand_over_says_what_of_the_complaint_was_looked_at_again_and_what_not(tmp_path: Path) -> None:
    before = values(handover(samples.story_at(samples.make(tmp_path / "a.case", TOLD))))
    assert before["why"] == "The complaint was not looked at again since the last repair"
    why = values(handover(samples.story_at(samples.make(tmp_path / "b.case", (*TOLD, AGAIN)))))["why"]
    looked, _, waits = why.partition(" Not yet: ")
    assert looked.startswith("Looked at again since the last repair: ")
    assert "drop" in looked
    assert "entry 7" in looked
    assert "rough" in waits
    assert "drop" not in waits


def test_parts_written_as_off_are_not_called_not_recorded(tmp_path: Path) -> None:
    told = values(handover(samples.story_at(samples.make(tmp_path / "a.case", TOLD))))
    assert "serial 77" in told["parts"]
    assert "parts off" not in told["missing"]
    bare = values(handover(samples.story_at(samples.make(tmp_path / "b.case", TOLD[:3]))))
    assert "parts off" in bare["missing"]


def test_checks_by_names_whoever_made_a_check_that_is_listed(tmp_path: Path) -> None:
    told = values(entry_draft(samples.story_at(samples.make(tmp_path / "a.case", (*TOLD, AGAIN)))))
    assert told["checked_by"] == "B; C"
    assert told["confirmed_by"] == "C"
