"""What was opened, taken off or moved stands in the draft with how it was put back: P-leads, plugs, leads, covers, cowling, magneto."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.report.paper.disturbed import disturbed
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.model import facts
from tests.report import samples

Entry = tuple[str, str, dict[str, Any]]
OFF_CHECK: Entry = ("result", "C", {"result": "runs_in_off.idle@engine=no", "check": "off_check@engine"})
TIMED: Entry = ("repair", "B", {"remedy": "retime_magneto@right"})
HEAD = "Opened or disturbed, and put back:"


def told(path: Path, *entries: Entry) -> list[str]:
    """Return what the draft of a case says was opened or disturbed."""
    found = list(facts(entry_draft(samples.story_at(samples.make(path, entries)))))
    if HEAD not in found:
        return []
    start = found.index(HEAD) + 1
    return found[start : next(i for i in range(start, len(found)) if "confirming run" in found[i].lower())]


def state(who: str, **things: str) -> Entry:
    return "state", who, {"state": {name.replace("_", " "): now for name, now in things.items()}}


def test_a_p_lead_taken_off_and_put_back_is_in_the_record_with_its_off_check(tmp_path: Path) -> None:
    off, on = state("A", P_lead_left="off"), state("B", P_lead_left="on")
    assert told(tmp_path / "a.case", off, on, OFF_CHECK) == [
        "P-lead left: off (A, 2026-05-04 08:01 UTC, entry 2). Put back: B, 2026-05-04 08:02 UTC, entry 3; "
        "OFF check passed: C, 2026-05-04 08:03 UTC, entry 4."
    ]
    assert told(tmp_path / "b.case", off, on)[0].endswith("entry 3; no OFF check passed since.")
    assert told(tmp_path / "c.case", OFF_CHECK, off)[0].endswith("entry 3). Not recorded as put back.")
    assert told(tmp_path / "d.case", off, OFF_CHECK, on)[0].endswith("no OFF check passed since."), (
        "passed before it was back proves nothing"
    )
    failed: Entry = ("result", "C", {"result": "runs_in_off.idle@engine=yes", "check": "off_check@engine"})
    assert told(tmp_path / "e.case", off, on, failed)[0].endswith("no OFF check passed since.")


@pytest.mark.parametrize(
    ("away", "back"),
    [
        ({"cowl": "off"}, {"cowl": "on"}),
        ({"plugs": "some out"}, {"plugs": "in"}),
        ({"plug 3-bottom": "out"}, {"plugs": "in"}),
        ({"lead 3-bottom": "off"}, {"lead 3-bottom": "on"}),
        ({"leads": "off"}, {"leads": "on"}),
        ({"cover left": "off"}, {"cover left": "on"}),
        ({"magneto left": "grounded"}, {"magneto left": "not grounded"}),
        ({"parts off": "left magneto"}, {"parts off": "none"}),
        ({"P-lead right": "unknown"}, {"P-lead right": "on"}),
    ],
)
def test_each_thing_that_can_stand_open_is_told(tmp_path: Path, away: dict[str, str], back: dict[str, str]) -> None:
    thing = next(iter(away))
    (line,) = told(tmp_path / "a.case", ("state", "A", {"state": away}), ("state", "B", {"state": back}))
    assert line.startswith(f"{thing}: ")
    assert "entry 2). Put back: B, 2026-05-04 08:02 UTC, entry 3" in line
    (line,) = told(tmp_path / "b.case", ("state", "A", {"state": away}))
    assert line.endswith("Not recorded as put back.")


def test_what_was_on_all_along_or_is_only_for_safety_is_no_work(tmp_path: Path) -> None:
    there = state("A", P_lead_left="on", cowl="on", plugs="in", propeller="tagged", chocks="in", switch="off", fuel="off")
    assert told(tmp_path / "a.case", there, state("A", propeller="not tagged", chocks="out", fuel="on")) == []
    withdrawn: Entry = ("correct", "A", {"corrects": 2, "withdrawn": True, "reason": "other aircraft"})
    assert told(tmp_path / "b.case", state("A", P_lead_left="off"), withdrawn) == []


def test_what_a_step_opens_by_itself_is_told_with_the_step(tmp_path: Path) -> None:
    """Nobody wrote a state: reading a plug takes it out, a repair there puts it back; timing can disturb the grounding."""
    seen: Entry = ("result", "A", {"result": "plug_lead.static@3-bottom=yes", "check": "look_at_plug@3-bottom"})
    cleaned: Entry = ("repair", "B", {"remedy": "clean_plug@3-bottom"})
    lines = told(tmp_path / "a.case", seen, cleaned)
    plug = next(line for line in lines if line.startswith("plug 3-bottom and its lead: out for: "))
    assert plug.startswith("plug 3-bottom and its lead: out for: Take the plug out and read it (A, 2026-05-04 08:01 UTC, entry 2). ")
    assert "Put back: B, 2026-05-04 08:02 UTC, entry 3" in plug
    moved = [line for line in told(tmp_path / "b.case", TIMED, OFF_CHECK) if line.startswith("grounding")]
    assert moved == [
        "grounding, disturbed by: Time the magneto to the engine (B, 2026-05-04 08:01 UTC, entry 2). "
        "OFF check passed: C, 2026-05-04 08:02 UTC, entry 3."
    ]


def test_things_opened_and_closed_together_are_one_line(tmp_path: Path) -> None:
    path = samples.make(tmp_path / "a.case", (state("A", cowl="off", leads="off"), state("B", cowl="on", leads="on")))
    assert [d.things for d in disturbed(samples.story_at(path))] == [("cowl: off", "leads: off")]


LOOKED: Entry = ("result", "A", {"result": "plug_lead.static@3-bottom=yes", "check": "look_at_plug@3-bottom"})
RAN: Entry = ("result", "C", {"result": "drop.runup@left=normal", "check": "mag_check@engine"})


def test_what_was_opened_and_closed_in_one_step_is_told(tmp_path: Path) -> None:
    """A part worked on in place, and two that changed places; not a second time where the step put back what was recorded as out."""
    (line,) = [t for t in told(tmp_path / "a.case", ("repair", "B", {"remedy": "clean_plug@3-bottom"})) if "plug 3-bottom" in t]
    assert line.startswith("plug 3-bottom")
    assert "entry 2" in line
    assert line.endswith("Put back in the same step.")
    (line,) = told(tmp_path / "b.case", ("exchange", "B", {"exchange": "swap_plug@3-bottom,1-bottom"}))
    assert "bottom" in line
    assert line.endswith("entry 2). Put back in the same step.")
    found = told(tmp_path / "c.case", LOOKED, ("repair", "B", {"remedy": "clean_plug@3-bottom"}))
    (line,) = [t for t in found if "plug 3-bottom" in t]
    assert "plug 3-bottom and its lead: out" in line
    assert "Put back: B" in line


def test_a_run_puts_nothing_back_and_the_same_plug_out_again_is_told_again(tmp_path: Path) -> None:
    back = state("D", **{"plug 3-bottom": "in"})
    plugs = [t for t in told(tmp_path / "a.case", LOOKED, RAN, back) if "plug 3-bottom" in t]
    assert len(plugs) == 1
    assert "Put back: D, 2026-05-04 08:03 UTC, entry 4" in plugs[0]
    first, second = [t for t in told(tmp_path / "b.case", LOOKED, RAN, LOOKED, back) if "plug 3-bottom" in t]
    assert first.endswith("Not recorded as put back.")
    assert "entry 2" in first
    assert "entry 4" in second
    assert "Put back: D, 2026-05-04 08:04 UTC, entry 5" in second
