"""What is withdrawn is evidence of nothing: it stands under the corrections, with who, when and why, and nowhere else.

But for what was taken off to look: that is off until somebody says it is back, and its entry is named where it stands open.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from diagnose.report.paper.alternatives import alternatives, held_then, moves_of, repairs
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.figures import belief_runs
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Paper, facts
from diagnose.report.paper.story import Story
from diagnose.report.paper.worksheet import worksheet
from diagnose.report.pictures import belief_chart
from diagnose.report.pictures.columns import columns, mattered
from tests.report import samples

Entry = tuple[str, str, dict[str, Any]]
STANDS: tuple[Entry, ...] = (
    ("result", "A", {"result": "rough.runup@left=yes", "complaint": True}),
    ("result", "A", {"result": "drop.runup@left=excessive", "complaint": True}),
    ("result", "B", {"result": "plug_lead.static@3-bottom=yes", "check": "look_at_plug@3-bottom", "reading": "beads"}),
    ("repair", "B", {"remedy": "clean_plug@3-bottom"}),
    ("result", "C", {"result": "rough.runup@left=no", "check": "confirming_run"}),
)
# One entry of every kind that can be withdrawn, after the entry of `STANDS` it follows.
WITHDRAWN: tuple[tuple[int, Entry], ...] = (
    (2, ("result", "W", {"result": "plug_lead.static@1-bottom=yes", "check": "look_at_plug@1-bottom", "reading": "not so"})),
    (2, ("exchange", "W", {"exchange": "swap_plug@3-bottom,1-bottom"})),
    (2, ("unit", "W", {"unit": "harness", "text": "not the one"})),
    (3, ("repair", "W", {"remedy": "replace_lead@1-bottom", "off": ["lead one"]})),
    (3, ("state", "W", {"state": {"P-lead left": "off"}})),
    (4, ("note", "W", {"note": "to be done by nobody", "open": True})),
    (4, ("reading", "W", {"calculation": "egt", "title": "Not done", "inputs": [{"name": "egt", "value": 640, "unit": "F"}]})),
    (4, ("decline", "W", {"check": "lead_voltage_test@3-bottom", "reason": "no tester"})),
)


STILL_OFF = re.compile("its result is withdrawn|, for: Take the plug out and read it, No. 1 bottom")


def entries() -> tuple[list[Entry], list[int]]:
    """Return the entries of the case with every withdrawal at its end, and the numbers of those withdrawn."""
    made: list[Entry] = []
    numbers: list[int] = []
    for count, entry in enumerate(STANDS, 1):
        made.append(entry)
        for after, other in WITHDRAWN:
            if after == count:
                made.append(other)
                numbers.append(len(made) + 1)
    made += [("correct", "D", {"corrects": n, "withdrawn": True, "reason": f"mistake {n}"}) for n in numbers]
    return made, numbers


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Story, Story, list[int]]:
    """Return the case, the same case without what is withdrawn, and the numbers of that."""
    folder = tmp_path_factory.mktemp("withdrawn")
    made, numbers = entries()
    return (
        samples.story_at(samples.make(folder / "a.case", tuple(made))),
        samples.story_at(samples.make(folder / "b.case", STANDS)),
        numbers,
    )


def named(texts: Iterator[str]) -> set[int]:
    """Return the entries that some texts name."""
    found: set[int] = set()
    for text in texts:
        for run in re.findall(r"entr(?:y|ies) (\d[\d, -]*)", text):
            for first, last in re.findall(r"(\d+)(?:-(\d+))?", run):
                found |= set(range(int(first), int(last or first) + 1))
        found |= {int(text)} if text.isdigit() else set()
    return found


def without_corrections(paper: Paper) -> Iterator[str]:
    """Yield the texts of a paper but for the section of its corrections and its versions."""
    sections = tuple(s for s in paper.sections if s.key not in ("corrections", "versions"))
    yield from facts(Paper(paper.schema, paper.kind, paper.title, "", paper.lead, sections, ()))


@pytest.mark.slow
def test_what_is_withdrawn_is_named_under_the_corrections_and_nowhere_else(both: tuple[Story, Story, list[int]]) -> None:
    story, _, numbers = both
    gone = {*numbers, *range(max(numbers) + 2, len(story.events) + 1)}  # the corrections too
    for make in (worksheet, entry_draft, handover):
        told = [t for t in without_corrections(make(story)) if not STILL_OFF.search(t)]
        assert named(iter(told)) & gone == set(), make
        assert any("plug 1-bottom" in t and "result is withdrawn" in t for t in facts(make(story)))
        assert not any(word in text for text in told for word in ("not so", "lead one", "to be done by nobody", "Not done", "not the one"))
    (section,) = (s for s in worksheet(story).sections if s.key == "corrections")
    told = list(facts(Paper("", "", "", "", (), (section,), ())))
    assert named(iter(told)) >= gone
    for word in ("plug_lead", "not so", "lead one", "to be done by nobody", "egt 640 F", "harness", "P-lead left: off"):
        assert any(word.replace("plug_lead", "lead deposits") in text for text in told), word
    assert {f"mistake {n}" for n in numbers} <= set(told)


def test_belief_at_every_step_is_that_of_the_case_without_it(both: tuple[Story, Story, list[int]]) -> None:
    """The two are worked out from different files: the one with withdrawals must move as if they had never been made."""
    story, plain, _ = both
    moved, wanted = ([(s.event.kind, s.after) for s in each.steps if s.moved] for each in (story, plain))
    assert moved == wanted
    assert [(a.cause, a.peak, a.now) for a in alternatives(story)] == [(a.cause, a.peak, a.now) for a in alternatives(plain)]
    assert [m.causes for m in repairs(story)] == [m.causes for m in repairs(plain)]
    assert all(m.event.kind != "correct" for m in moves_of(story, "plug_lead_fouled@3-bottom"))


def test_the_picture_of_belief_shows_no_repair_that_was_withdrawn(both: tuple[Story, Story, list[int]]) -> None:
    story, plain, _ = both
    found, wanted = (columns(s.steps, belief_runs(s), mattered(s.steps), s.network) for s in (story, plain))
    assert [(c.words, c.repair, c.after) for c in found] == [(c.words, c.repair, c.after) for c in wanted]
    assert sum(c.repair for c in found) == 1
    assert "lead one" not in belief_chart(story.steps, story.network, belief_runs(story))


@pytest.mark.slow
def test_a_repair_made_on_an_answer_corrected_later_says_what_was_believed_then(tmp_path: Path) -> None:
    made = (*STANDS[:4], ("correct", "D", {"corrects": 4, "result": "plug_lead.static@3-bottom=no", "reason": "wrong plug"}))
    story = samples.story_at(samples.make(tmp_path / "a.case", made))
    (mended,) = repairs(story)
    then = samples.story_at(samples.make(tmp_path / "b.case", STANDS[:3])).last
    found = held_then(story, mended)
    assert found is not None
    assert found[0] == "plug_lead_fouled@3-bottom"
    assert found[1] == pytest.approx(then.share("plug_lead_fouled@3-bottom"))
    assert dict(mended.causes)["plug_lead_fouled@3-bottom"] < found[1] / 2
    assert any("by an answer corrected since)" in text for text in facts(worksheet(story)))
    story = samples.story_at(samples.make(tmp_path / "c.case", STANDS))
    assert [held_then(story, m) for m in repairs(story)] == [None]
