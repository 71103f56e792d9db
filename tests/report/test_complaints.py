"""Each complaint by itself: what was told after the confirming run is no part of it, has its own evidence, and its own state."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.report.paper.alternatives import alternatives
from diagnose.report.paper.complaints import at_its_end, own_words, stands_together, told_together
from diagnose.report.paper.confirming import run_parts
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.model import Para, Table, facts
from diagnose.report.paper.story import Story
from diagnose.report.paper.summary import summary
from tests.report import samples

Entry = tuple[str, str, dict[str, Any]]
RUN = {"check": "confirming_run"}
FIRST: tuple[Entry, ...] = (
    ("result", "A", {"result": "drop.runup@left=excessive", "complaint": True}),
    ("result", "A", {"result": "rough.runup@left=yes", "complaint": True}),
    ("result", "A", {"result": "plug_lead.static@3-bottom=yes", "check": "look_at_plug@3-bottom"}),
    ("repair", "A", {"remedy": "clean_plug@3-bottom"}),
    ("result", "B", {"result": "drop.runup@left=normal", **RUN}),
    ("result", "B", {"result": "rough.runup@left=no", **RUN}),
    ("result", "B", {"result": "drop.runup@right=normal", **RUN}),
)
SECOND: tuple[Entry, ...] = (
    ("note", "C", {"words": "right one sags now", "complaint": True}),
    ("result", "C", {"result": "drop_slow.runup@right=yes", "complaint": True}),
    ("result", "C", {"result": "drop.runup@left=normal", "check": "mag_check@engine"}),
    ("result", "C", {"result": "drop.runup@right=excessive", "check": "mag_check@engine"}),
    ("result", "C", {"result": "timing_late.static@right=yes", "check": "check_timing@engine"}),
)
TIMED: Entry = ("repair", "D", {"remedy": "retime_magneto@right"})


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """Return the story of a plug cleaned and confirmed, and of a second complaint told afterwards."""
    return samples.story_at(samples.make(tmp_path_factory.mktemp("two") / "a.case", (*FIRST, *SECOND), words="left one shakes"))


def test_what_is_told_after_the_run_is_a_second_complaint_and_no_part_of_it(story: Story) -> None:
    first, second = told_together(story)
    assert [(t.first, t.until, t.gone) for t in (first, second)] == [(2, 10, True), (10, 14, False)]
    assert (own_words(story, first), own_words(story, second)) == ("left one shakes", "right one sags now")
    looks = {p.label: p.look.seq for p in run_parts(story) if p.look is not None}
    assert sorted(looks.values()) == [6, 7, 8], "the run is what was seen before anything new was told"
    assert not any("slow" in p.label for p in run_parts(story))
    assert [(g.kind, g.events[0].seq) for g in story.groups if g.events[0].seq > 8] == [("complaint", 10), ("check", 11), ("check", 13)]
    done = list(facts(entry_draft(story)))
    assert done[done.index("Confirming run by") + 1] == "B"
    assert any(t.startswith("Second complaint, told later (right drop comes slowly at run-up, entry 10; nothing repaired") for t in done)


def test_the_draft_keeps_the_two_apart(story: Story) -> None:
    """Its checks, the repair its run followed, and the day on which the first was seen gone, while the second is open."""
    done = list(facts(entry_draft(story)))
    first, second = done.index("Checks:"), done.index("Checks since the second complaint was told:")
    assert any("entry 4)" in t for t in done[first:second])
    assert not any("entry 4)" in t or "entry 6" in t for t in done[second : done.index("Work:")])
    assert any("entry 13)" in t for t in done[second : done.index("Work:")])
    assert "Confirming run since the repair of entry 5, part by part:" in done
    assert done[done.index("First complaint gone") + 1] == "2026-05-04 (entry 7)"
    assert "Second complaint gone" not in done


def test_each_has_its_own_evidence_and_alternatives(story: Story) -> None:
    """What moved belief for one is never told of the other; the shares are those at the end of each."""
    first, second = told_together(story)
    for told in (first, second):
        for other in alternatives(story, told):
            entries = [other.peak_at.seq, *(m.event.seq for m in (*other.up, *other.down))]
            assert all(told.first <= seq < told.until for seq in entries), other
            assert other.now == at_its_end(story, told).share(other.cause)
    assert at_its_end(story, first).share("plug_lead_fouled@3-bottom") > 0.5
    assert at_its_end(story, second).share("plug_lead_fouled@3-bottom") < 0.01
    assert at_its_end(story, second) == story.last


@pytest.mark.slow
def test_the_short_answer_tells_them_apart(story: Story) -> None:
    wrong, known, *_ = summary(story).parts
    said = ["".join(s.text for s in b.words) for b in wrong.blocks if isinstance(b, Para)]
    assert said[0].startswith(
        "First complaint (left drop over the limit at run-up; left magneto rough at run-up, entries 2-3): Most likely: "
    )
    assert "the complaint did not show again" in said[0]
    assert said[1].startswith("Second complaint (right drop comes slowly at run-up, entry 10): ")
    assert "right magneto: timed late" in said[1]
    assert "No. 3 bottom" not in said[1]
    tables = [b for b in known.blocks if isinstance(b, Table)]
    assert [{"".join(s.text for s in row[0]).partition(":")[0] for row in t.rows} for t in tables] == [
        {"No. 3 bottom plug"},
        {"right magneto"},
    ]


@pytest.mark.parametrize(
    ("more", "now"),
    [
        ((), "nothing repaired since it was told"),
        ((TIMED,), "not looked at again under its own conditions since the repair of entry 14"),
        ((TIMED, ("result", "D", {"result": "drop_slow.runup@right=yes", **RUN})), "still there (entry 15)"),
        (
            (TIMED, ("result", "D", {"result": "drop.runup@left=normal", **RUN})),
            "not looked at again under its own conditions since the repair",
        ),
        ((TIMED, ("result", "D", {"result": "drop_slow.runup@right=no", **RUN})), "gone: looked at again and normal (entry 15)"),
    ],
)
def test_a_complaint_stands_as_it_was_last_seen_under_its_own_conditions(tmp_path: Path, more: tuple[Entry, ...], now: str) -> None:
    story = samples.story_at(samples.make(tmp_path / "a.case", (*FIRST, *SECOND, *more)))
    first, second = told_together(story)
    assert stands_together(story, second).startswith(now)
    assert stands_together(story, first).startswith("gone: looked at again and normal (entries ")


def test_one_complaint_has_no_number(tmp_path: Path) -> None:
    story = samples.story_at(samples.make(tmp_path / "a.case", FIRST))
    assert [t.gone for t in told_together(story)] == [True]
    assert not any("First complaint" in t for t in facts(entry_draft(story)))
