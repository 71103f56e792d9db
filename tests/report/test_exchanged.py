"""After two parts changed places the results follow the part: on the table of causes, and in what is said of where a part stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose.assessment.explain import accounts
from diagnose.assessment.finding import rank
from diagnose.report.paper.alternatives import alternatives, repairs
from diagnose.report.paper.cause_tables import Looked, cause_section, links, stretches
from diagnose.report.paper.model import Paper, facts, plain
from diagnose.report.paper.story import Story
from diagnose.report.paper.summary import event_text, summary
from diagnose.report.paper.wording import result_in_force
from diagnose.report.said import cause_now
from diagnose.report.screens import entry_words, exchanged_words
from diagnose.trouble.evidence import prepare
from diagnose.trouble.exchanges import moved_links
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.results import read_result
from tests.report import samples

HERE, THERE = "plug_lead_fouled@3-bottom", "plug_lead_fouled@1-bottom"
SEEN: tuple[tuple[str, str, dict[str, Any]], ...] = (
    ("result", "A", {"result": "drop.runup@left=excessive", "complaint": True}),
    ("result", "A", {"result": "cold_cylinder.runup@3-bottom=yes", "check": "cold_cylinder_check@left"}),
    ("exchange", "A", {"exchange": "swap_plug@3-bottom,1-bottom"}),
    ("result", "A", {"result": "cold_cylinder.runup@3-bottom=no", "check": "cold_cylinder_check@left"}),
    ("result", "A", {"result": "cold_cylinder.runup@1-bottom=yes", "check": "cold_cylinder_check@left"}),
)
FITTED = ("repair", "A", {"remedy": "replace_plug@1-bottom", "off": ["plug one"], "on": ["plug two"]})


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    """Return the story of a fault that went from No. 3 to No. 1 with its plug, which was then changed."""
    return samples.story_at(samples.make(tmp_path_factory.mktemp("exchanged") / "a.case", (*SEEN, FITTED)))


def test_a_result_after_the_exchange_speaks_of_the_plug_that_stands_there(story: Story) -> None:
    (before,) = stretches(story)
    found = {(s.result.subject, s.exchange): links(story.network, s, [HERE, THERE]) for s in before.results}
    cold_3, cold_1 = "cold_cylinder.runup@3-bottom", "cold_cylinder.runup@1-bottom"
    assert set(found) == {("drop.runup@left", 0), (cold_3, 0), (cold_3, 4), (cold_1, 4)}
    assert set(found[cold_3, 0]) == {HERE}
    assert set(found[cold_3, 4]) == {THERE}, "No. 3 warm after the exchange is about the plug from No. 1"
    assert set(found[cold_1, 4]) == {HERE}
    assert found[cold_1, 4][HERE] == pytest.approx(found[cold_3, 0][HERE])
    told = list(facts(Paper("", "", "", "", (), tuple(cause_section(story)), ())))
    assert "No. 1 ran cold on the left magneto at run-up (after the exchange of entry 4)" in told
    assert any(t.startswith("No. 3 bottom plug, then in No. 1 bottom (left): fouled with lead, ") for t in told)


def test_the_table_agrees_with_what_belief_makes_of_a_result(story: Story) -> None:
    """A normal result lowers, in the exact belief too, just the cause that the table links it with."""
    base, layout = story.network.base, story.network.layout
    complaint = read_result("drop.runup@left=excessive", base, layout)
    swap = story.troubles[3].looks[-1].exchange
    warm = read_result("cold_cylinder.runup@3-bottom=no", base, layout)

    def shares(results: tuple[Any, ...]) -> dict[str, float]:
        looks = (LookResults(complaint, complaint), LookResults(results, exchange=swap))
        return {r.id: r.responsible for r in rank(story.network, prepare(story.network, looks))[1]}

    without, seen = shares(()), shares(warm)
    fallen = {c for c in (HERE, THERE) if seen[c] < without[c] * 0.9}
    looked = Looked(warm[0], moved_links(story.network, exchanges(story.troubles[3].looks)))
    assert fallen == set(links(story.network, looked, [HERE, THERE])) == {THERE}


def test_a_part_that_was_changed_is_said_to_stand_nowhere_any_more(story: Story) -> None:
    assert exchanged_words(story.network, story.trouble.looks) == ["The plug of No. 1 bottom (left) is now in No. 3 bottom (left)."]


FOLLOWED = ("result", "A", {"result": "fault_follows_plug.runup@1-bottom=yes", "check": "swap_plug@3-bottom"})
NAMED = "plug from No. 3 bottom ({} in No. 1 bottom): fault followed the plug"


@pytest.mark.parametrize(("after", "when"), [((), "now"), ((FITTED,), "then")])
def test_every_sentence_of_a_moved_part_says_which_part(tmp_path: Path, after: tuple[Any, ...], when: str) -> None:
    """The log of the papers and `why` alike; once the plug is changed it stands there no more."""
    story = samples.story_at(samples.make(tmp_path / "a.case", (*SEEN, FOLLOWED, *after)))
    event = next(e for e in story.live("result") if e.seq == 7)
    assert event_text(story, event).startswith(NAMED.format(when))
    assert plain(result_in_force(story, event)).startswith(NAMED.format(when))
    told = accounts(story.network, story.trouble.looks, [HERE])[HERE]
    said = [entry_words(story.network, r) for r in told.reasons]
    assert any(text.startswith(NAMED.format(when)) for text in said)
    assert not any(text.startswith("No. 1 bottom plug") for text in said)


def test_a_cause_that_a_repair_ended_does_not_stand_now(tmp_path: Path) -> None:
    """Ranking and appendix tell its share as that before the repair; the first page has the exchange and a word on why."""
    story = samples.story_at(samples.make(tmp_path / "a.case", (*SEEN, FOLLOWED, FITTED)))
    assert story.assessment is not None
    assert cause_now(story.network, story.assessment, HERE) == "No. 3 bottom plug, then in 1-bottom: fouled with lead"
    mine = next(a for a in alternatives(story) if a.cause == HERE)
    (mended,) = repairs(story)
    assert mine.before == pytest.approx(mended.step.before.share(HERE))
    told = list(facts(Paper("", "", "", "", (), (summary(story),), ())))
    assert any("fault followed the plug" in t and "after entry 4: Plugs of No. 3 bottom" in t for t in told)
    assert any("Why: not recorded; likeliest of what it ends was No. 3 bottom plug, then in No. 1 bottom" in t for t in told)


def test_a_cause_met_again_after_its_repair_keeps_its_share(tmp_path: Path) -> None:
    again = ("result", "A", {"result": "drop.runup@left=excessive"})
    story = samples.story_at(samples.make(tmp_path / "a.case", (*SEEN, FITTED, again)))
    assert next(a for a in alternatives(story) if a.cause == HERE).before is None


def test_a_part_that_was_only_cleaned_still_stands_where_it_was_put(tmp_path: Path) -> None:
    path = samples.make(tmp_path / "a.case", (*SEEN, ("repair", "A", {"remedy": "clean_plug@1-bottom"})))
    story = samples.story_at(path)
    assert "The plug of No. 3 bottom (left) is now in No. 1 bottom (left)." in exchanged_words(story.network, story.trouble.looks)
