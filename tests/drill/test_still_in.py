"""A fault is gone where the engine has it no more, whatever one run shows; what is in plain sight is told at the start."""

from __future__ import annotations

from diagnose import loaded
from diagnose.drill.exercise import Exercise, Fault
from diagnose.stand.conditions import Weather
from diagnose.training.drawn import drawn
from diagnose.training.levels import LEVELS
from diagnose.training.plain_sight import facts, here, injected
from diagnose.training.still_in import still_in
from diagnose.training.task import Task
from diagnose.training.work import Work, begin

FOUR = loaded.network_of((), "opposed-4")
TOLD = ("drop.runup@left=excessive",)


def task(*faults, told=TOLD, seed=11):
    """Return an exercise by hand."""
    return Task("hand", "By hand", "plug", "opposed-4", "Left is bad.", Exercise(seed, Weather(24, 0, 0), faults, told))


LEADED = Fault("plug.lead", "3-bottom", {"amount": 0.95})


def test_only_a_remedy_that_reaches_the_fault_ends_it():
    one = task(LEADED)
    assert still_in(FOUR, one, [])
    assert still_in(FOUR, one, ["use_the_own_figure@left", "clean_plug@1-top", "mag_check@engine"])
    assert not still_in(FOUR, one, ["replace_plug@3-bottom"])
    assert not still_in(FOUR, one, ["clean_plug@3-bottom"])


def test_of_two_faults_each_that_shows_it_must_be_ended():
    two = task(LEADED, Fault("lead.open", "1-bottom", {}))
    assert still_in(FOUR, two, ["replace_plug@3-bottom"])
    assert not still_in(FOUR, two, ["replace_plug@3-bottom", "replace_lead@1-bottom"])


def test_two_confirming_runs_with_nothing_changed_say_the_same_and_what_is_in_shows(tmp_path):
    one = drawn((), "opposed-4", LEVELS["timing"], 7)
    assert [(f.kind, f.place) for f in one.exercise.faults] == [("timing.early", "right")]
    begin(tmp_path / "a.case", FOUR, one, "")
    work = Work(tmp_path / "a.case", FOUR, one)
    work.repair(FOUR.base.remedies["use_the_own_figure"], "right", {})
    for _ in range(2):
        _, found = work.confirm({})
        assert "no_drop.runup@right=yes" in found
    again = Work(tmp_path / "a.case", FOUR, one)  # gone on with from its file: the engine has made as many runs
    assert again.engine._runs == work.engine._runs


def test_what_stands_before_everybody_is_in_the_case(tmp_path):
    one = task(LEADED)
    begin(tmp_path / "a.case", FOUR, one, "")
    seen = {str(r) for look in Work(tmp_path / "a.case", FOUR, one).case.trouble.looks for r in look.results}
    assert set(facts(FOUR, one)) <= seen
    assert "electronic_side@engine=no" in seen
    assert injected(task(Fault("injector.clogged", "2", {"amount": 0.5})))
    without = "heat_no_change" if injected(one) else "nozzle_flow_low"
    assert here(one, [f"{without}.static@2=yes", "rough.idle@engine=yes"]) == [f"{without}.static@2=unknown", "rough.idle@engine=yes"]
