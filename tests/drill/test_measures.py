"""The twelve measures of one drill, each beside the arithmetic by hand."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.drill.exercise import Exercise, Fault
from diagnose.plan.checks import available
from diagnose.stand.conditions import Weather
from diagnose.training.judged import judged
from diagnose.training.measures import SAFE_MOST, Measures
from diagnose.training.own_path import OwnPath, OwnStep
from diagnose.training.task import Task
from diagnose.training.work import MOVE, Work, begin

FOUR = loaded.network_of((), "opposed-4")
TOLD = ("drop.runup@left=excessive", "rough.runup@left=yes")
FAULT = Fault("plug.lead", "3-bottom", {"amount": 0.95})
TASK = Task("hand", "By hand", "plug", "opposed-4", "Left is bad.", Exercise(11, Weather(24, 0, 0), (FAULT,), TOLD))


def located(name):
    """Return a check of the layout by id."""
    return next(c for c in available(FOUR, (), ()) if c.id == name)


@pytest.fixture(scope="module")
def drill(tmp_path_factory):
    """A drill whose every number is known: two checks (one of them twice the same), one mark, one repair, one stop, no run, a thin entry."""
    path = tmp_path_factory.mktemp("drill") / "hand.case"
    begin(path, FOUR, TASK, "A trainee")
    work = Work(path, FOUR, TASK, "A trainee")
    work.check(located("mag_check@engine"), {"guess": "drop.runup", "sure": 0.8, "missed": ["run_area"], "named": []})
    work.check(located("mag_check@engine"), {"guess": "no_drop.runup", "sure": 0.4, "missed": [], "named": ["run_area"]})
    work.record((MOVE, {"move": "marks", "listed": ["plug_fouled_lead", "p_lead_open", "valve"], "fits": ["p_lead_open"]}))
    work.record((MOVE, {"move": "unsafe", "step": "confirm", "why": ["LIVE MAGNETO."]}))
    work.repair(FOUR.base.remedies["clean_plug"], "3-bottom", {"sure": 0.7, "missed": [], "named": []})
    fields = {"found": "left dropped 240 rpm", "done": "plug cleaned", "data": "manual"}
    work.record((MOVE, {"move": "entry", "named": ["plug_lead_fouled@3-bottom", "plug_oil_fouled@3-bottom"], "fields": fields}))
    own = (OwnStep("check", "mag_check@engine", 15.0, 1.0), OwnStep("repair", "clean_plug@3-bottom", 40.0))
    path_of_tool = OwnPath(own, True, work.assessment())
    return Measures(work, judged(work), path_of_tool)


def test_the_twelve_measures_by_hand(drill):
    base = FOUR.base
    check, clean = base.checks["mag_check"], base.remedies["clean_plug"]
    assert drill.found == (True,)
    assert drill.wrongly_named == ("plug_oil_fouled@3-bottom",)
    assert drill.checks == 2
    assert drill.count("redundant") == 1  # the second check gave nothing that was not seen
    assert drill.count("inconsistent") == 0
    assert drill.omitted == 1  # plug_fouled_lead was likely, and left out
    assert drill.kept == 1  # a ground lead that is open was ruled out by the OFF side's own drop, and kept
    assert (drill.count("early_part"), drill.count("sound_part")) == (0, 0)  # cleaning changes no part
    assert drill.count("guess") == 1  # at a few per cent, while a check would have told
    assert drill.confirmed == "no"
    assert (drill.count("unsafe"), drill.missed, drill.left_off) == (1, 1, ())
    assert drill.left_open == ("cowl: off",)  # the repair took it off, and nobody put it back
    by_hand = check.minutes.value + base.access["engine_running"].minutes.value  # first check, engine started
    by_hand += check.minutes.value  # second, still running
    by_hand += clean.minutes.value + base.access["cowl_off"].minutes.value  # repair, cowling taken off
    assert drill.minutes == by_hand
    # Foreseen at .8 and came; foreseen at .4 and did not; sure at .7 and it ended the fault.
    assert drill.brier == pytest.approx(((0.8 - 1) ** 2 + (0.4 - 0) ** 2 + (0.7 - 1) ** 2) / 3)
    assert [text.split(":")[0] for text in drill.lacking] == ["Data used", "Parts", "Confirming run", "Open items"]


def test_what_was_lost_by_hand_and_an_unsafe_step_caps_the_figure(drill):
    lost = dict(drill.lost)
    assert lost.pop("unsafe steps") == 25
    assert lost == {
        "cautions left out": 4,
        "left open at the end": 6,
        "the squawk not shown to be gone": 15,
        "named without being there": 3,
        "no whole confirming run": 12,
        "changed or mended before it was settled": 3,
        "checks that told nothing": 3,
        "wrong about what still fits": 2,
        "entry": 8,
    }
    assert drill.score == 100 - 25 - 4 - 6 - 15 - 3 - 12 - 3 - 3 - 2 - 8
    assert max(lost.values()) < 25  # nothing else weighs as much as one unsafe step
    assert SAFE_MOST < 75  # who did one has not passed, whatever else was right


def test_the_debrief_says_what_was_known_what_a_step_could_tell_and_why(drill):
    from diagnose.report.paper.as_text import paper_text
    from diagnose.report.paper.debrief import debrief

    text = " ".join(paper_text(debrief(drill)).split())
    assert "lead on the nose, conducts when hot, 3-bottom (amount 0.95 share). Found." in text
    assert "Known before:" in text
    assert "It could tell 0.00 bits." in text
    assert "Told nothing new." in text
    assert "Left out before it: Engine run - chocks" in text
    assert "STOPPED: Confirming run" in text
    assert text.index("- unsafe steps: -25") < text.index("- the squawk not shown to be gone")  # safety first
    assert text.count("Why: Lead salts insulate cold and conduct hot.") <= 1
