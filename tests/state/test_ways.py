"""However it is entered, the aircraft stands the same: by results, by a calculation, as the interview writes it, and in any order."""

from __future__ import annotations

from itertools import permutations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.plan.rules import bars

BASE = loaded.rulebase()
LAYOUT = BASE.layouts["opposed-4"]
NETWORK = loaded.network_of((), "opposed-4")
CHECK = "gauge_points@left"
RESULT = "points_gap_narrow.static@left=yes"


@pytest.fixture
def case(tmp_path):
    """Return a function that makes a case with a rough left magneto."""

    def make(name):
        path = tmp_path / f"{name}.case"
        open_case(path, BASE, LAYOUT, "A", {})
        log.append(path, "result", "A", {"result": "rough.runup@left=yes", "complaint": True})
        return path

    return make


def stands(path):
    """Return what the aircraft of a case comes to: states by thing and step, access, what was left, what is forbidden."""
    trouble = load(path, BASE).trouble
    facts = {thing: (fact.now, fact.step) for thing, fact in trouble.aircraft.facts.items()}
    left = [item.step for item in trouble.aircraft.left]
    return facts, trouble.access, left, trouble.aircraft.off_due is not None, bars(NETWORK, trouble, {})


def test_by_results_by_a_calculation_and_as_the_interview_writes_it(case, capsys):
    """A check that takes the P-lead off: each leaves it off, the OFF check due, and one open item."""
    entered, worked, asked = case("entered"), case("worked"), case("asked")
    assert main(["enter", str(entered), RESULT, "--check", CHECK]) == 0
    told = ["calc", "points", "--layout", "opposed-4", "--magneto", "left", "--clearance", "0.008 in"]
    assert main([*told, "--into", str(worked), "--check", CHECK]) == 0, capsys.readouterr().err
    log.append(asked, "access", "A", {"now": ["cowl_off", "plugs_out", "second_person"], "check": CHECK})
    log.append(asked, "result", "A", {"result": RESULT, "check": CHECK})
    log.append(asked, "note", "A", {"note": "To make good after", "open": True, "refit": CHECK})
    assert stands(entered) == stands(worked) == stands(asked)
    facts, access, left, due, forbids = stands(entered)
    assert facts["P-lead left"] == ("off", CHECK)
    assert facts["plugs"][0] == "out of every cylinder"
    assert {"cowl_off", "plugs_out"} <= access
    assert (left, due, forbids.powered) == ([CHECK], True, True)


DANGEROUS = (
    ({"runs_in_off.idle@engine=yes"}, {"P-lead left": "on", "P-lead right": "on"}),
    ({"fires_when_turned@engine=yes"}, {"propeller": "tagged"}),
    ({"kick_back@engine=yes"}, {"cowl": "off"}),
    ({"struck_or_kicked_back@engine=yes"}, {"chocks": "in"}),
    ({"impulse_cracked@left=yes"}, {"P-lead right": "off"}),
    ({"points_stand_still@left=yes"}, {"switch": "off"}),
    ({"plug_metal@3-bottom=yes"}, {"cowl": "off"}),
    ({"lead_order_wrong@3-bottom=yes"}, {"parts off": "none"}),  # leads=off would not do: a run entered after it had them on
    ({"p_lead_open@right=yes"}, {"fuel": "off"}),
    ({"plug_lead@3-bottom=yes"}, {"P-lead left": "off"}),
)


@pytest.mark.parametrize(("results", "state"), DANGEROUS)
def test_danger_bars_the_same_steps_in_any_order(case, results, state):
    """The complaint, what was found and what was recorded, in every order: one state, nothing run."""
    rows = [*(("result", {"result": r}) for r in results), ("state", {"state": state}), ("result", {"result": "drop@left=excessive"})]
    found = []
    for number, order in enumerate(permutations(rows)):
        path = case(f"a{number}")
        log.append_all(path, "A", order)
        found.append(stands(path))
    assert len(found) == 6
    assert all(one == found[0] for one in found)
    assert found[0][-1].powered
