"""Hard rules: what must be said and what must not be offered, whatever the probabilities are."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.assess import assess, planned
from diagnose.assessment.steps import remedy_order
from diagnose.case.case import trouble_after
from diagnose.case.log import Event
from diagnose.plan import rules, warnings
from diagnose.plan.checks import available
from diagnose.plan.plan import Plan
from diagnose.rulebase.records import Check, Remedy
from diagnose.trouble.aircraft import turning
from diagnose.trouble.exchanges import Exchange
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import read_result
from diagnose.trouble.trouble import Trouble
from tests.plan.test_plan import looked_at, trouble

NETWORK = loaded.network_of((), "opposed-4")
BASE = NETWORK.base
BY_HAND = "turn_by_hand"  # the caution of the shipped rule base
RUNNING = [c for c in BASE.checks.values() if "engine_running" in c.access]


def read(*texts):
    """Return results."""
    return [r for t in texts for r in read_result(t, BASE, NETWORK.layout)]


@pytest.mark.parametrize("results", [(), ("drop@left=normal",), ("runs_in_off.idle@engine=no",), ("runs_in_off.idle@engine=yes",)])
def test_the_propeller_is_always_live(results):
    """A passed OFF check does not make a propeller safe (FAA-H-8083-32B p4-31)."""
    said = standing(read(*results))
    assert any("propeller as live" in text for text in said)
    assert (warnings.RUNS_IN_OFF in said) == ("runs_in_off.idle@engine=yes" in results)


def test_an_engine_that_fires_in_off_is_said_first():
    """Before all else: tag it and keep out of the arc (FAA-H-8083-32B p4-31)."""
    assert standing(read("runs_in_off.idle@engine=yes"))[0] == warnings.RUNS_IN_OFF


def test_no_check_needs_a_flight():
    """Troubles shown only at altitude are looked for on the ground; no located check asks for a flight (logic)."""
    assert not [c.id for c in BASE.checks.values() if rules.needs_flight(c)]
    assert not [n for c in available(NETWORK, (), ()) for n in c.nodes if NETWORK.symptoms[n].regime in rules.FLOWN]
    template = BASE.checks["mag_check"]
    aloft = tuple(replace(ref, regime="altitude") for ref in template.gives)
    assert rules.needs_flight(replace(template, gives=aloft)), "the rule can fail"


def test_every_run_carries_the_cautions_of_a_run():
    """Chocks, brakes, into wind, nobody near the arc (FAA-H-8083-32B p10-26)."""
    assert len(RUNNING) >= 10
    area = BASE.cautions["run_area"].label
    for check in RUNNING:
        assert area in warnings.cautions_of(BASE, check.cautions, check.access), check.id


def test_power_runs_are_named():
    """Only checks that run the engine at power get the power-run warning, not those that read what a flight showed (common practice)."""
    for check in BASE.checks.values():
        at_power = any(ref.regime in rules.POWER for ref in check.gives) and "run" in turning(BASE, check)
        assert bool(warnings.power_run_warning(BASE, check)) == at_power, check.id
    assert any(warnings.power_run_warning(BASE, c) for c in BASE.checks.values())


# Engine runs that take a second person, and what that one does outside (common practice, no source).
OUTSIDE = {
    "hot_compression": "holds the propeller",
    "cold_cylinder_check": "reads the stacks at once",
    "cold_cylinder_idle": "reads the stacks at once",
    "cold_cylinder_cold_start": "reads the stacks at once",
    "cold_cylinder_both": "reads the stacks at once",
    "cold_cylinder_both_idle": "reads the stacks at once",
    "cold_cylinder_both_cold_start": "reads the stacks at once",
    "try_p_lead_off": "keeps everybody out of the arc of a live magneto",
    "try_start_p_lead_off": "keeps everybody out of the arc of a live magneto",
    "watch_smoke_at_start": "watches the exhaust",
    "watch_exhaust_at_run_up": "watches the exhaust",
    "second_tachometer": "reads the second instrument",
    "measure_metered_fuel": "reads the gauges teed in",
}


def test_one_rule_for_the_people_of_an_engine_run():
    """One qualified at the controls; a second only where hands or eyes are needed outside."""
    runs = [c for c in BASE.checks.values() if "run" in turning(BASE, c)]
    assert {c.id for c in runs if c.people > 1} == set(OUTSIDE)


def test_two_person_work_is_named():
    """A check for two says so; turning the propeller by hand is never for one (AMT-G p11-14)."""
    for check in BASE.checks.values():
        by_hand = "hand" in turning(BASE, check)
        text = warnings.second_person_warning(BASE, check)
        assert bool(text) == (check.people > 1 or by_hand), check.id
    assert "two trained people" in BASE.cautions[BY_HAND].label
    alone = replace(BASE.checks["look_at_plug"], cautions=(BY_HAND,), people=1)
    assert "2 trained people" in warnings.second_person_warning(BASE, alone)


def plan_of(results, layout="opposed-4"):
    """Return a plan and its valued checks by check id."""
    _, seen = looked_at(results)
    return seen.plan


def test_cold_checks_come_before_a_run():
    """Where the engine is cold and a check that pays needs that, a run is warned of, with the minutes to come back."""
    plan = plan_of("rough on one side")
    cold = next(v for v in plan.checks if "engine_cold" in v.located.check.access and v.pays)
    run = next(v for v in plan.checks if "engine_running" in v.located.check.access and "engine_cold" not in v.located.check.access)
    text = warnings.cold_first_warning(BASE, run, plan, {"engine_cold"})
    assert cold.located.check.label in text
    assert f"{BASE.access['engine_cold'].minutes.value:.0f} min" in text
    assert warnings.cold_first_warning(BASE, run, plan, ()) == ""
    assert warnings.cold_first_warning(BASE, cold, plan, {"engine_cold"}) == ""
    without = Plan(tuple(v for v in plan.checks if "engine_cold" not in v.located.check.access), (), plan.cost, plan.remedy_minutes)
    assert warnings.cold_first_warning(BASE, run, without, {"engine_cold"}) == ""


def test_a_p_lead_off_is_followed_up():
    """Every step that takes a P-lead off says what must follow; a passed OFF check ends it (FAA-H-8083-32B p4-31)."""
    steps: tuple[Check | Remedy, ...] = (*BASE.checks.values(), *BASE.remedies.values())
    touching = [e for e in steps if {"p_lead_off_live", "turn_lead_off"} & set(e.cautions)]
    assert len(touching) > 40
    for entry in steps:
        off = bool({"p_lead", "p_lead_in_turn"} & set(entry.leaves))
        assert off == (entry in touching), f"{entry.id}: what it leaves off and its cautions do not go together"
        assert bool(warnings.p_lead_warning(entry)) == off


@pytest.mark.parametrize(
    ("step", "after", "due"),
    [
        ({"remedy": "mend_p_lead@left"}, [], True),
        ({"remedy": "mend_p_lead@left"}, ["runs_in_off.idle@engine=yes"], True),
        ({"remedy": "mend_p_lead@left"}, ["runs_in_off.idle@engine=unknown"], True),
        ({"remedy": "mend_p_lead@left"}, ["runs_in_off.idle@engine=no"], True),  # nobody said that the lead is back on
        ({"remedy": "mend_p_lead@left"}, ["P-lead left=on"], True),
        ({"remedy": "mend_p_lead@left"}, ["P-lead left=on", "runs_in_off.idle@engine=no"], False),
        ({"remedy": "mend_p_lead@left"}, ["runs_in_off.idle@engine=no", "P-lead left=on"], True),
        ({"remedy": "mend_p_lead@left"}, ["fires_when_turned@engine=no"], True),  # only a running engine proves the switch
        ({"remedy": "replace_magneto@left"}, [], True),  # timing work turns the propeller with the lead off
        ({"remedy": "replace_switch@engine"}, [], True),
        ({"remedy": "retime_magneto@left"}, [], True),
        ({"remedy": "clean_plug@3-bottom"}, [], False),
        ({"result": "p_lead_open@left=no", "check": "measure_p_leads@engine"}, [], True),  # a check takes leads off as well
        ({"result": "plug_lead@3-bottom=no", "check": "look_at_plug@3-bottom"}, [], False),
    ],
)
def test_the_off_check_stays_open_until_a_running_engine_passes_it(step, after, due):
    """After anything that can have disturbed the grounding (FAA-H-8083-32B p4-31)."""
    told = [("result", {"result": t}) if "@" in t else ("state", {"state": dict([t.split("=")])}) for t in after]
    steps = [("repair" if "remedy" in step else "result", step), *told]
    events = [Event(n, "", kind, "", "", data) for n, (kind, data) in enumerate(steps, 1)]
    assert (trouble_after(events, BASE, NETWORK.layout).aircraft.off_due is not None) == due


@pytest.mark.slow
def test_nobody_turns_a_propeller_known_to_be_live():
    """Firing with the switch OFF keeps every turn by hand with plugs in from being offered, also after a repair, until an OFF check passes."""
    told = (*read("hard_start@engine=yes"), *read("runs_in_off.idle@engine=yes"))
    live = LookResults(told, tuple(read("hard_start@engine=yes")))
    assert [c for c in by_hand(live) if "plugs_out" not in c.access] == []
    assert by_hand(LookResults(told[:1], live.complaint)), "the rule can fail"
    repaired = LookResults(tuple(read("hard_start@engine=yes")), (), (Repair("mend_p_lead", "left"),))
    assert [c for c in by_hand(live, repaired) if "plugs_out" not in c.access] == []
    passed = replace(repaired, results=(*repaired.results, *read("runs_in_off.idle@engine=no")))
    assert [c for c in by_hand(live, passed) if "plugs_out" not in c.access]


def test_a_broken_drive_is_not_run():
    """A cracked coupling or points that stand still: no run, no turning by the starter, and it is said (FAA AD 96-12-07)."""
    for found in ("impulse_cracked@left=yes", "points_stand_still@left=yes"):
        look = LookResults((*read("rough@left=yes"), *read(found)), tuple(read("rough@left=yes")))
        offered = [v.located.check for v in planned(NETWORK, Trouble((look,)))[3].checks]
        assert offered
        assert not [c.id for c in offered if c in RUNNING or {"run_area", "cranking"} & set(c.cautions)]
        assert warnings.NO_RUN in standing(look.results)


def test_an_open_p_lead_is_a_live_magneto():
    """Measured open in OFF: the warning stands until the OFF check passes, not merely until a repair (FAA-H-8083-32B p4-31)."""
    open_lead, passed = read("p_lead_open@left=yes"), read("runs_in_off.idle@engine=no")
    assert standing(open_lead)[0] == warnings.RUNS_IN_OFF
    assert standing([*open_lead, *passed])[0] == warnings.RUNS_IN_OFF, "nothing was mended in between"
    assert standing([*passed, *open_lead])[0] == warnings.RUNS_IN_OFF
    mended = LookResults((), (), (Repair("mend_p_lead", "left"),))
    assert standing(open_lead, mended)[0] == warnings.RUNS_IN_OFF
    assert warnings.RUNS_IN_OFF not in standing(open_lead, replace(mended, results=tuple(passed)))


def test_only_its_own_repair_lifts_the_ban_on_a_run():
    """A plug cleaned elsewhere, or another plug in the hole, does not make a cracked coupling or a shedding piston whole (logic)."""
    cracked, metal = read("impulse_cracked@left=yes"), read("plug_metal@3-bottom=yes")
    other = LookResults((), (), (Repair("clean_plug", "3-bottom"),))
    assert warnings.NO_RUN in standing(cracked, other)
    assert warnings.NO_RUN not in standing(cracked, LookResults((), (), (Repair("replace_impulse_coupling", "left"),)))
    exchanged = LookResults(tuple(read("plug_metal@3-bottom=no")), exchange=Exchange("swap_plug", "3-bottom", "1-top"))
    assert warnings.NO_RUN in standing(metal, exchanged), "the clean plug there is another one"
    assert warnings.NO_RUN not in standing(metal, exchanged, LookResults((), (), (Repair("open_cylinder", "3"),)))
    assert warnings.NO_RUN not in standing(metal, LookResults(tuple(read("plug_metal@3-bottom=no"))))


@pytest.mark.slow
def test_the_alarm_stands_on_every_screen_and_in_both_documents(capsys):
    """Ranking, next step, and what other programs read."""
    told = ["--layout", "opposed-4", "--complaint", "hard_start@engine=yes", "--result", "p_lead_open@left=yes"]
    for command in ("rank", "next"):
        assert main([command, *told]) == 0
        assert "A magneto is live with the switch OFF" in " ".join(capsys.readouterr().out.split())
        assert main([command, *told, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["warnings"][0] == warnings.RUNS_IN_OFF


def test_no_run_is_offered_as_a_remedy_or_a_confirming_run_while_a_part_is_broken():
    """Metal on a plug: leaning for the check is no remedy to offer, and the run after a repair waits (FAA AC 43.13-1B 8-16d)."""
    leaned = "lean_for_check@engine"
    look = LookResults((*read("drop@left=excessive"), *read("plug_metal@3-bottom=yes")), tuple(read("drop@left=excessive")))
    seen = assess(NETWORK, Trouble((look,)))
    assert seen.bars.broken
    running = [k for k, g in seen.groups.items() if {"run_area", "cranking"} & set(g.remedy.cautions)]
    assert leaned in running
    assert not set(running) & set(remedy_order(NETWORK, seen, len(seen.groups)))
    assert set(running) & set(remedy_order(NETWORK, replace(seen, bars=rules.Bars()), len(seen.groups)))


def standing(*looks):
    """Return what stands on every screen after these looks, or results of one look."""
    seen = [look if isinstance(look, LookResults) else LookResults(tuple(look)) for look in looks]
    return warnings.standing_warnings(rules.bars(NETWORK, Trouble(tuple(seen)), {}))


def by_hand(*looks):
    """Return the checks offered that turn the propeller by hand."""
    plan = planned(NETWORK, Trouble(looks))[3]
    return [v.located.check for v in plan.checks if "hand" in turning(BASE, v.located.check)]


def test_changing_a_part_unproven_names_the_check_and_its_minutes():
    """Below 90 % with a check that pays: the warning names it; at 90 %, or for cleaning, or with no such check, silence."""
    plan = plan_of("rough on one side")
    part, cleaning = BASE.remedies["replace_plug"], BASE.remedies["clean_plug"]
    assert part.parts
    assert not cleaning.parts
    first = plan.paying[0]
    text = warnings.part_change_warning(part, 0.4, plan)
    assert first.located.check.label in text
    assert f"{first.minutes:.0f} min" in text
    assert warnings.part_change_warning(part, 0.9, plan) == ""
    assert warnings.part_change_warning(cleaning, 0.4, plan) == ""
    assert warnings.part_change_warning(part, 0.4, Plan((), (), plan.cost, {})) == ""


@pytest.mark.parametrize(
    ("places", "warned"),
    [(("left",), False), (("left", "right"), True), (("1-bottom", "2-top"), None), (("left", "engine"), False), ((), False)],
)
def test_both_magnetos_disturbed(places, warned):
    """Work on both ignition systems by one person is called out (common practice: independent check of dual work)."""
    if warned is None:
        warned = len({NETWORK.layout.side_of[p] for p in places}) == 2
    assert bool(warnings.both_sides_warning(NETWORK, places)) == warned


def test_an_engine_that_will_not_start_bars_runs_only():
    """No start: nothing that needs it running or hot; cowling and plugs stay open."""
    barred = rules.barred_access(NETWORK, read("no_start@engine=yes"))
    assert barred == {"engine_running", "engine_hot"}
    assert rules.barred_access(NETWORK, read("no_start@engine=no")) == frozenset()


def test_step_warnings_join_each_rule_once():
    """What is said at a step is exactly what the single rules say."""
    plan = plan_of("rough on one side")
    for valued in plan.checks[:40]:
        check = valued.located.check
        said = warnings.step_warnings(BASE, valued, plan, frozenset())
        assert set(said) == {
            t
            for t in (warnings.power_run_warning(BASE, check), warnings.second_person_warning(BASE, check), warnings.p_lead_warning(check))
            if t
        }
        assert len(said) == len(set(said))


def test_the_complaint_of_both_sides_is_whole():
    """`trouble` keeps what was told as the complaint (guards lean on it)."""
    _, told = trouble("opposed-4", ("rough.runup@left=yes",))
    assert isinstance(told.looks[0], LookResults)
    assert [str(r) for r in told.looks[0].complaint] == ["rough.runup@left=yes"]
