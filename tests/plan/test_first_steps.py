"""What comes first whatever the minutes say: what is in the hand, the trouble under its own condition, the gentler of like steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from diagnose import loaded
from diagnose.assessment.assess import assess
from diagnose.plan.checks import available
from diagnose.plan.costing import Costing
from diagnose.plan.harm import harm
from diagnose.plan.in_hand import closes, open_now, parts_in_hand
from tests.plan.test_plan import trouble

BASE = loaded.rulebase()


def next_check(results, layout="opposed-4"):
    """Return the check offered first, with its reason."""
    network, told = trouble(layout, results)
    first = assess(network, told).plan.paying[0]
    return first.located.id, first.reason


def in_hand(*results):
    """Return the parts that some findings show to be out or open."""
    network, told = trouble("opposed-4", results)
    return parts_in_hand(network, told, open_now(network, told))


def test_what_is_in_the_hand():
    """A plug read is out, a cylinder tested has both its plugs at hand; what is felt with the cowling on, or ran, is in no hand."""
    assert in_hand("rough@left=yes", "plug_oil@3-bottom=yes") == {"3-bottom"}
    assert in_hand("rough@left=yes", "compression_low@3=no") == {"3", "3-top", "3-bottom"}
    assert in_hand("rough@left=yes", "impulse_silent@left=no", "drop@left=excessive") == frozenset()
    network, told = trouble("opposed-4", ("rough@left=yes", "plug_oil@3-bottom=yes"))
    assert parts_in_hand(network, told, {"engine_running", "cowl_off"}) == frozenset()


def test_what_a_run_puts_back():
    """Whatever runs or cranks the engine wants the parts back in; a look at another plug does not."""
    network, _ = trouble("opposed-4", ("rough@left=yes",))
    gained = {"cowl_off"}
    assert all(closes(network, BASE.checks[c], gained) for c in ("mag_check", "mag_check_hot", "try_the_start"))
    assert not any(closes(network, BASE.checks[c], gained) for c in ("look_at_plug", "test_capacitor", "ask_what_was_tried"))


@pytest.mark.slow
def test_in_the_hand_before_it_goes_back():
    """Oil on one plug, good compression: the other plug of that cylinder is looked at before this one is cleaned on a guess."""
    oily = ("rough.idle@left=yes", "rough.runup@left=no", "drop@left=normal", "plug_oil@3-bottom=yes", "compression_low@3=no")
    step, why = next_check(oily)
    assert step == "look_at_plug@3-top"
    assert "open here now" in why
    # a plug that is out and looks good, after roughness leaned: its lead end is at hand, before another run
    good = [f"{s}@2-bottom=no" for s in ("plug_lead", "plug_gap_wide", "plug_worn", "plug_cracked")]
    step, why = next_check(("egt_low.cruise_lean@2-bottom=yes", "rough.cruise_lean@right=yes", "drop@right=normal", *good))
    assert step.endswith("@2-bottom")
    assert "open here now" in why


@pytest.mark.slow
def test_brought_on_under_its_own_condition():
    """Rough cold and quiet in the run-up: the first minutes after a cold start, not another warm run (trade article on valves)."""
    quiet = ("rough.runup@engine=no", "rough.runup@left=no", "rough.runup@right=no")
    network, told = trouble("opposed-4", ("rough.cold@engine=yes", *quiet))
    first = assess(network, told).plan.paying[0]
    assert {name.split("@")[0].split(".")[1] for name in first.located.nodes} >= {"cold"}
    assert "in the first minutes: it is brought on there" in first.reason
    # parts named by the complaint come off at once
    step, _ = next_check(("egt_low.hot@3-top=yes", "egt_low.idle@3=no"))
    assert step == "look_at_plug@3-top"


def test_a_question_never_stands_before_a_look_for_being_gentle():
    """It opens nothing, but a memory is no test: it stands with the looks under the cowling. With a part in the hand another one opens."""
    network, _ = trouble("opposed-4", ("rough@left=yes",))
    asked, plug, other = (
        c for n in ("ask_what_was_tried@engine", "look_at_plug@3-bottom", "look_at_plug@1-top") for c in checks(network, n)
    )
    assert rungs_of([asked, plug, other], ()) == [(0, 0, 1)] * 3
    assert rungs_of([plug, other], ("cowl_off",), {"3-bottom"}) == [(0, 0, 0), (0, 0, 1)]


def checks(network, name):
    """Return the located check of a name, alone in a list."""
    return [c for c in available(network, (), ()) if c.id == name]


def rungs_of(located, gained, hand=()):
    """Return the rungs the plan sees of some checks."""
    costing = Costing(BASE, [], located, gained, hand)
    return [costing.option(i, np.ones((1, 2))).harm for i in range(len(located))]


def test_the_ladder_of_harm():
    """Nothing opened, a cover, leads off, a run, a run at full power (common practice); leaned at check speed is no full power."""
    ladder = ("load_test_battery", "look_at_harness", "test_capacitor", "mag_check", "mag_check_high_power")
    rungs = [harm(BASE, BASE.checks[c]) for c in ladder]
    assert rungs == sorted(rungs)
    assert len(set(rungs)) == len(rungs)
    assert harm(BASE, BASE.checks["leaned_run_on_both"]) == harm(BASE, BASE.checks["mag_check"])
    assert harm(BASE, BASE.checks["test_capacitor"], {"cowl_off", "leads_off"}) == harm(BASE, BASE.checks["load_test_battery"])
    assert harm(BASE, BASE.checks["compression_one_cylinder"]) < harm(BASE, BASE.checks["check_valve_clearance"])  # a plug out, a cover off
    off = replace(BASE.checks["look_at_harness"], leaves=("magneto",))
    assert harm(BASE, off) > harm(BASE, BASE.checks["look_at_harness"])
