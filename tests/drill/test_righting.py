"""What is off or open in a drill: shown, put back with its minutes, counted where it was left, and counts and fines that agree."""

from __future__ import annotations

import re

import pytest

from diagnose.training.judged import judged
from diagnose.training.measures import LEFT_OPEN, OPEN_RUN, Measures, rows
from diagnose.training.offered import every_check
from diagnose.training.own_path import OwnPath
from diagnose.training.progress import Done, line_of
from diagnose.training.righting import off_now, put_right, to_right
from diagnose.training.work import MOVE, Work, begin
from tests.drill.test_measures import FOUR, TASK

BASE = FOUR.base


@pytest.fixture
def work(tmp_path):
    """A drill begun, on an aircraft parked and whole."""
    begin(tmp_path / "d.case", FOUR, TASK, "")
    return Work(tmp_path / "d.case", FOUR, TASK)


def check(work, name):
    """Do a check in a drill."""
    work.check(next(c for c in every_check(FOUR) if c.id == name), {})


def due(work):
    """Return what is to be put right now."""
    return to_right(BASE, work.case.trouble.aircraft, False)


def test_the_cowling_taken_off_is_off_is_put_back_with_its_minutes_and_costs_again_to_open(work):
    harness = BASE.checks["look_at_harness"]
    assert due(work).told == ()
    opening = work.minutes_of(harness) - harness.minutes.value
    assert opening == BASE.access["cowl_off"].minutes.value == 15
    check(work, "look_at_harness@left")
    assert off_now(work.case.trouble.aircraft) == {"cowl": "on"}
    assert due(work).minutes == 15  # on again as long as off
    assert work.minutes_of(harness) == harness.minutes.value  # it is open
    before = work.minutes
    put_right(work, due(work))
    assert work.minutes == before + 15
    assert due(work).told == ()
    assert work.minutes_of(harness) == harness.minutes.value + 15  # it is shut again


def test_plugs_out_count_beside_the_cowling_and_an_open_item_takes_along_what_its_step_left_off(work):
    refit = BASE.settings.refit_minutes
    check(work, "check_timing@engine")
    assert off_now(work.case.trouble.aircraft) == {"plugs": "in", "cowl": "on"}
    assert due(work).minutes == 15 + refit
    put_right(work, due(work))
    check(work, "try_p_lead_off@left")  # its open item closes with its P-lead, once
    wanted = due(work)
    assert wanted.states["P-lead left"] == "on"
    assert wanted.proof
    assert len(wanted.closes) == 1
    assert wanted.minutes == refit + (15 if "cowl" in wanted.states else 0)


def test_every_safety_fine_has_its_count_and_every_count_its_fine(work):
    check(work, "look_at_harness@left")  # the cowling stays off
    work.record((MOVE, {"move": "unsafe", "step": "confirm", "why": ["plugs out"], "open": True}))
    work.record((MOVE, {"move": "entry", "named": [], "fields": {}}), (MOVE, {"move": "end"}))
    m = Measures(work, judged(work), OwnPath((), True, work.assessment()))
    assert m.safety["runs tried with plugs or parts out"] == (1, OPEN_RUN)
    assert m.safety["left open at the end"] == (1, LEFT_OPEN)
    assert all(bool(count) is bool(fine) for count, fine in m.safety.values())
    assert {name: fine for name, (_, fine) in m.safety.items() if fine} == {name: m.lost[name] for name in m.safety if name in m.lost}
    told = next(came for key, _, came in rows(m) if key == "safety")
    assert all(f"{name} {count}" in told for name, (count, _) in m.safety.items())
    line = line_of(m, "A")
    assert line["unsafe"] == 1  # the run that was tried: the table of progress says the same
    assert not Done({**line, "found": True, "score": 100}).passed


def test_on_paper_no_step_of_the_debrief_is_parted_from_its_heading(work):
    """Looked at as a printed page: a step stays whole, and a heading before it goes with it."""
    from diagnose.report.paper.as_html import paper_html
    from diagnose.report.paper.debrief import debrief

    check(work, "look_at_harness@left")
    page = paper_html(debrief(Measures(work, judged(work), OwnPath((), True, work.assessment()))))
    printed = page[page.index("@media print") :]
    assert 'class="full debrief"' in page
    assert '<section class="part" id="step1"' in page
    assert ".debrief .part, .debrief dl { break-inside: avoid; }" in printed
    assert re.search(r"h2, h3, caption[^{]*{ break-after: avoid; }", printed)
