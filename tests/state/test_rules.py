"""What the state of the aircraft forbids and asks for, rule by rule."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.assessment.assess import repair_warning
from diagnose.assessment.steps import held_back, next_step, remedy_order, steps
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.plan import rules, warnings
from diagnose.plan.seeing import is_heavy, signs_of, unseen
from diagnose.report.documents import next_document
from diagnose.trouble.aircraft import turning
from diagnose.trouble.looks import Repair
from diagnose.trouble.repair_groups import repair_groups
from tests.present import present

pytestmark = pytest.mark.slow
LAYOUT = "opposed-4"
NETWORK = loaded.network_of((), LAYOUT)
BASE = NETWORK.base
ROUGH = ("result", {"result": "rough.runup@left=yes", "complaint": True})


@pytest.fixture
def case(tmp_path):
    """Return a function that writes entries (after a rough left magneto) and returns (network, case, assessment)."""

    def make(*rows, layout=LAYOUT, complaint=ROUGH):
        network = loaded.network_of((), layout)
        path = tmp_path / "a.case"
        path.unlink(missing_ok=True)
        open_case(path, network.base, network.layout, "A. Alder", {})
        log.append_all(path, "A. Alder", [complaint, *rows])
        found = load(path, network.base)
        return network, found, loaded.assessed(network, found.trouble)

    return make


def state(**said):
    """Return a state entry; `P_lead_left` is the P-lead left."""
    return ("state", {"state": {k.replace("P_", "P-").replace("_", " "): v for k, v in said.items()}})


def result(text, check=""):
    return ("result", {"result": text, "check": check})


def runs(entry):
    return bool(turning(BASE, entry) & {"run", "crank"})


@pytest.mark.parametrize("how", ["off", "unknown", "hm, see sheet"])
def test_a_p_lead_not_surely_on_bars_every_run_and_is_made_good_first(case, how):
    """FAA-H-8083-32B p4-31: a magneto whose P-lead is off is live whatever the switch says."""
    network, found, a = case(state(P_lead_left=how))
    assert not [v for v in a.plan.checks if runs(v.located.check)]
    assert not [k for k in remedy_order(network, a, 99) if runs(a.groups[k].remedy)]
    step = present(next_step(network, a))
    assert step.kind == "make_good"
    assert "left P-lead" in present(step.make_good).label
    assert present(step.make_good).label.endswith("then OFF check at idle")
    fact = found.trouble.aircraft.facts["P-lead left"]
    assert (fact.stamp.person, fact.stamp.entry, fact.words) == ("A. Alder", 3, how)
    _, _, after = case(state(P_lead_left="on", P_lead_right="on"))
    assert [v for v in after.plan.checks if runs(v.located.check)]


def test_nothing_recorded_is_asked_and_bars_nothing(case):
    """Unknown is never normal: it is said at the first step that turns the engine, and only there."""
    _, _, a = case()
    run = next(v for v in a.plan.checks if runs(v.located.check))
    look = next(v for v in a.plan.checks if not turning(BASE, v.located.check))
    said = warnings.step_warnings(BASE, run, a.plan, (), a.trouble.aircraft)
    assert any("see that P-lead left and P-lead right are on. Not recorded" in text for text in said)
    assert not any("Not recorded" in text for text in warnings.step_warnings(BASE, look, a.plan, (), a.trouble.aircraft))


def test_turning_by_hand_wants_a_plug_out_of_every_cylinder_or_the_magneto_grounded_at_itself(case):
    """AMT-G p11-14; common practice for the clip."""

    def by_hand(*rows):
        _, _, a = case(*rows, complaint=("result", {"result": "hard_start@engine=yes", "complaint": True}))
        return [v for v in a.plan.checks if "hand" in turning(BASE, v.located.check) and "plugs_out" not in v.located.check.access]

    assert by_hand()
    assert not by_hand(state(P_lead_left="off"))
    assert not by_hand(state(P_lead_left="off", plugs="out 1-top"))
    assert by_hand(state(P_lead_left="off", plugs="out of every cylinder"))
    assert by_hand(state(P_lead_left="off", magneto_left="grounded"))
    assert not by_hand(state(P_lead_left="off", magneto_right="grounded"))
    assert not by_hand(state(magneto_left="grounded"), result("runs_in_off.idle@engine=yes")), "which one is live is not known"


def test_nobody_turns_by_hand_what_may_well_be_live(case):
    """No drop on one magneto: the other may not be grounded (FAA-H-8083-32B p10-27); runs go on, which find it."""
    _, _, a = case(complaint=("result", {"result": "no_drop.runup@left=yes", "complaint": True}))
    assert a.bars.by_hand
    assert not a.bars.powered
    assert not [v for v in a.plan.checks if "hand" in turning(BASE, v.located.check) and "plugs_out" not in v.located.check.access]
    assert not case()[2].bars.by_hand


def test_an_engine_that_ran_had_its_plugs_in_and_no_clip_can_be_taken_as_still_there(case):
    """What makes a turn by hand harmless does not outlive a run (logic)."""
    given = state(P_lead_left="on", plugs="out of every cylinder", magneto_left="grounded")
    for after in (
        result("rough.idle@left=no"),
        result("rough.idle@left=no", "mag_check_idle@engine"),
        ("access", {"now": ["engine_running"]}),
    ):
        aircraft = case(given, after)[1].trouble.aircraft
        assert not aircraft.plugs_out
        assert not aircraft.grounded("left")
    assert case(given, result("plug_lead@1-top=no"))[1].trouble.aircraft.plugs_out


def test_a_step_that_takes_a_p_lead_off_sets_it_and_its_refit_clears_it(case):
    """Then the OFF check is due: the next step, until it has passed (FAA-H-8083-32B p4-31)."""
    off = result("points_burnt@left=no", "open_breaker_cover@left")
    item = ("note", {"note": "To make good after", "open": True, "refit": "open_breaker_cover@left"})
    network, found, a = case(off, item)
    fact = found.trouble.aircraft.facts["P-lead left"]
    assert (fact.now, fact.step) == ("off", "open_breaker_cover@left")
    assert present(present(next_step(network, a)).make_good).closes == 4
    closed = ("note", {"note": "back on", "closes": 4})
    network, found, a = case(off, item, closed)
    assert found.trouble.aircraft.now("P-lead left") == "on"
    step = present(next_step(network, a))
    assert (step.kind, present(step.make_good).check) == ("make_good", "off_check@engine")
    network, found, a = case(off, item, closed, result("runs_in_off.idle@engine=no", "off_check@engine"))
    assert found.trouble.aircraft.off_due is None
    assert present(next_step(network, a)).kind == "check"


@pytest.mark.parametrize("told", ["fires_p_lead_off.runup@left=yes", "points_burnt@left=yes"])
def test_what_only_shows_with_the_lead_off_says_that_it_was_off(case, told):
    """Also where no check is named (logic)."""
    aircraft = case(result(told))[1].trouble.aircraft
    assert (aircraft.now("P-lead left"), aircraft.now("P-lead right")) == ("off", "")


def test_a_check_that_takes_a_lead_off_and_runs_is_barred_while_another_is_off(case):
    """One step that ends in refit and OFF check (FAA-H-8083-32B p4-31)."""

    def offered(*rows):
        _, _, a = case(*rows, complaint=("result", {"result": "drop.runup@left=dies", "complaint": True}))
        return {v.located.id for v in a.plan.checks}

    assert {"try_p_lead_off@left", "try_p_lead_off@right"} & offered()
    assert not {"try_p_lead_off@left", "try_p_lead_off@right"} & offered(state(P_lead_right="off"))
    check = BASE.checks["try_p_lead_off"]
    assert "p_lead" in check.leaves
    assert "OFF check" in check.refit


def test_an_off_check_is_offered_for_a_live_magneto_only_once_something_was_mended(case):
    """Nothing else runs; and it proves nothing with a lead still off."""
    fires = result("runs_in_off.idle@engine=yes")
    mended = ("repair", {"remedy": "mend_p_lead@left"})
    both = state(P_lead_left="on", P_lead_right="on")

    def proofs(*rows):
        network, _, a = case(*rows)
        assert a.bars.powered
        return [s for s in steps(network, a) if s.make_good and s.make_good.check]

    assert not proofs(both, fires)
    assert not proofs(both, fires, mended), "the repair left its lead off"
    assert proofs(both, fires, mended, both)
    assert not proofs(both, fires, ("repair", {"remedy": "clean_plug@1-top"})), "no cause of it was ended"
    assert not proofs(both, fires, result("runs_in_off.idle@engine=no")), "it comes and goes"


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
@pytest.mark.parametrize(
    ("told", "line"),
    [
        ("kick_back@engine=yes", warnings.BLOW),
        ("struck_or_kicked_back@engine=yes", warnings.BLOW),
        ("runs_in_off.idle@engine=yes", warnings.RUNS_IN_OFF),
        ("fires_when_turned@engine=yes", warnings.RUNS_IN_OFF),
        ("impulse_cracked@left=yes", warnings.NO_RUN),
        ("lead_order_wrong@1-top=yes", warnings.NO_RUN),
    ],
)
def test_danger_is_said_first_and_bars_runs_in_any_order(case, told, line, order):
    """FAA SAIB NE-17-11 (look for damage after a kick-back); FAA-H-8083-32B p4-31; FAA AD 96-12-07; crossed leads: logic."""
    rows = [result(told), result("drop.runup@left=excessive")]
    _, _, a = case(*(rows[i] for i in order))
    said = warnings.standing_warnings(a.bars, a.trouble.aircraft)
    assert line in said
    assert said[0] == line or said[0].startswith("LIVE MAGNETO. Recorded P-lead left: off to see: Impulse coupling")
    assert not [v for v in a.plan.checks if runs(v.located.check)]


def test_a_blow_is_over_once_it_was_looked_at_after_it(case):
    """Recorded before it happened it is worth nothing."""
    kick, done = result("kick_back@engine=yes"), state(inspection="done")
    assert not case(kick, done)[2].bars.blow
    assert case(done, kick)[2].bars.blow
    assert case(kick, done, result("kick_back@engine=yes"))[2].bars.blow
    assert case(kick, result("kick_back@engine=no"))[2].bars.blow, "one good start does not undo it"
    network, _, a = case(kick)
    assert present(present(next_step(network, a)).make_good).states == {"inspection": "done"}


CROSSED = [result(f"{t}=yes") for t in ("rough.high_power@left", "backfire.runup@engine")] + [result("drop.runup@left=severe")]


def test_leads_that_may_be_crossed_are_traced_before_a_run(case):
    """With lead work told of: suspected, said, no run, and the check that sees it comes first (logic; `calc firing` says do not run)."""
    network, _, a = case(*CROSSED, result("recent_ignition_work@left=yes"))
    labels = {network.causes[c].cause.id for c in a.bars.suspects}
    assert "leads_crossed" in labels
    assert a.bars.powered
    step = present(next_step(network, a))
    assert present(step.check).located.id == "trace_lead_order@left"
    assert "nobody has looked yet" in next_document(network, a)["next"][0]["why"]
    traced = [result(f"lead_order_wrong@{c}=no", "trace_lead_order@left") for c in NETWORK.layout.fires["left"]]
    assert not case(*CROSSED, result("recent_ignition_work@left=yes"), *traced)[2].bars.suspects


def test_a_suspicion_is_judged_by_its_stated_thresholds(case):
    """Less is enough after work; a cause already mended is no suspicion."""
    _, found, _ = case(result("recent_ignition_work@left=yes"))
    shares = {"leads_crossed@1-bottom": BASE.settings.no_run_after_work}
    assert rules.suspected(NETWORK, found.trouble, shares)
    assert not rules.suspected(NETWORK, case()[1].trouble, shares)
    assert rules.suspected(NETWORK, case()[1].trouble, {"leads_crossed@1-bottom": BASE.settings.no_run_at})
    assert not rules.suspected(NETWORK, case()[1].trouble, {"plug_lead_fouled@1-bottom": 0.9})


@pytest.mark.parametrize(
    ("layout", "places"),
    [("opposed-4", ["left"]), ("opposed-4-dual", ["left", "right"]), ("opposed-6", []), ("radial-9", [])],
)
def test_a_start_with_the_p_lead_off_only_where_an_impulse_coupling_retards_that_magneto(layout, places):
    """A vibrator's boost comes through that very lead (FAA-H-8083-32B p4-22); one coupling on a common shaft retards both sides (logic)."""
    network = loaded.network_of((), layout)
    check = network.base.checks["try_start_p_lead_off"]
    assert [p for p in network.layout.places(check.at) if all(network.layout.has(p, n) for n in check.needs)] == places


def test_the_lead_that_start_should_silence_kicks_back_only_on_separate_drives():
    """One coupling on a common shaft retards both sides (logic)."""
    for layout, kicks in (("opposed-4", True), ("opposed-4-dual", False)):
        network = loaded.network_of((), layout)
        shown = {s for e in network.graph.successors("p_lead_open@right") for s in network.graph.successors(e)}
        assert ("kick_back.start@engine" in shown) == kicks


def test_heavy_work_waits_until_a_check_has_seen_the_fault(case):
    """Rough on BOTH and low compression: no cylinder off; the borescope or the hiss first (AC 43.13-1B 8-14)."""
    rough = ("result", {"result": "rough.runup@engine=yes", "complaint": True})
    network, _, a = case(result("compression_low@3=yes"), complaint=rough)
    assert held_back(a)[0] == "repair_cylinder@3"
    assert "repair_cylinder@3" not in remedy_order(network, a, 99)
    step = present(next_step(network, a))
    assert step.kind == "check"
    assert a.plan.inspect is None or "480 min of work" in a.plan.inspect.reason
    assert "a share alone is not enough" in repair_warning(network, Repair("repair_cylinder", "3"), a)
    network, _, a = case(result("compression_low@3=yes"), result("air_at_valve@3=yes"), complaint=rough)
    assert "repair_cylinder@3" not in a.plan.unseen
    assert "a share alone" not in repair_warning(network, Repair("repair_cylinder", "3"), a)


def test_every_heavy_repair_can_be_seen_by_some_check_or_is_known_not_to_be():
    """A rule that nothing can meet would only send for help; the faults that no check sees are named here."""
    given = {r.symptom for c in BASE.checks.values() for r in c.gives}
    blind = set()
    for group in repair_groups(NETWORK).values():
        if is_heavy(BASE, group.remedy):
            for cause in group.causes:
                if not {NETWORK.symptoms[n].symptom.id for n in signs_of(NETWORK, cause, group.remedy)} & given:
                    blind.add(NETWORK.causes[cause].cause.id)
    assert blind <= {"distributor_thin_air", "engine_compression_low"}


def test_two_hours_are_counted_from_a_closed_engine(case):
    """Opening up counts, whatever is open already: the rule must not fall away because the cowling is off."""
    coil = BASE.remedies["replace_coil"]
    assert coil.minutes.value < BASE.settings.guess_minutes
    assert is_heavy(BASE, coil)
    assert not is_heavy(BASE, BASE.remedies["clean_plug"])
    groups = [g for g in repair_groups(NETWORK).values() if g.remedy.id == "replace_coil"]
    _, found, _ = case(("access", {"now": ["cowl_off", "plugs_out"]}))
    assert unseen(NETWORK, found.trouble, groups) == {g.key for g in groups}
    assert not unseen(NETWORK, case(result("coil_fail@left=yes"))[1].trouble, [g for g in groups if g.place == "left"])


def test_what_is_open_stays_open_until_it_is_closed(case):
    """No minutes charged twice: cowling and plugs by the step that opened them, or as recorded."""
    looked = result("plug_lead@3-bottom=no", "look_at_plug@3-bottom")
    minutes = {v.located.id: v.minutes for v in case(looked)[2].plan.checks}
    assert minutes["look_at_plug@1-bottom"] == BASE.checks["look_at_plug"].minutes.value
    assert case(looked)[1].trouble.aircraft.now("cowl") == "off"
    closed = {v.located.id: v.minutes for v in case(looked, state(cowl="on"))[2].plan.checks}
    assert closed["look_at_plug@1-bottom"] == minutes["look_at_plug@1-bottom"] + BASE.access["cowl_off"].minutes.value
    said = {v.located.id: v.minutes for v in case(state(cowl="off"))[2].plan.checks}
    assert said["look_at_plug@1-bottom"] == minutes["look_at_plug@1-bottom"]


def test_what_stands_in_the_way_of_a_run_is_said_at_the_run(case):
    """Recorded plugs out, leads off, a clip, a tag, chocks, fuel: each is named before the engine is run."""
    rows = state(plugs="out of every cylinder", leads="off", magneto_left="grounded", propeller="tagged", chocks="out", fuel="off")
    aircraft = case(rows)[1].trouble.aircraft
    said = " ".join(warnings.before_turning({"run"}, aircraft))
    for words in ("plugs back in", "leads back on", "grounding clip off the left magneto", "tag off", "chocks in", "fuel on"):
        assert words in said
    assert "Before the run" not in " ".join(warnings.before_turning({"hand"}, aircraft))


def test_every_entry_of_next_has_its_kind_and_the_first_is_the_next_step(case):
    """JSON and screen name the same step."""
    repaired = ("repair", {"remedy": "clean_plug@3-bottom"})
    for rows, kind in (((), "check"), ((repaired,), "finish_run"), ((repaired, state(P_lead_left="off")), "make_good")):
        network, _, a = case(*rows)
        document = next_document(network, a)["next"]
        assert document[0]["kind"] == present(next_step(network, a)).kind == kind
        assert {r["kind"] for r in document} <= {"check", "repair", "make_good", "finish_run", "help"}
        assert all({"place", "label", "minutes", "access", "people", "value", "why", "cautions"} <= set(r) for r in document)
    network, _, a = case(repaired, result("rough.runup@left=no"))
    rest = present(next_step(network, a))
    assert (rest.kind, rest.look_at) == ("finish_run", ())
    assert rest.rest


def test_a_withdrawn_entry_does_nothing_to_the_aircraft(case):
    """A step that was not done opened nothing and left nothing off."""
    undone = ("correct", {"corrects": 3, "withdrawn": True, "reason": "other aircraft"})
    assert case(state(P_lead_left="off"), undone)[1].trouble == replace(case()[1].trouble)
    assert case(("repair", {"remedy": "mend_p_lead@left"}), undone)[1].trouble == case()[1].trouble


def test_what_moves_the_timing_waits_until_it_was_measured_there(case):
    """As found is written down before anything is moved: common practice, no source."""
    groups = [g for g in repair_groups(NETWORK).values() if g.remedy.id in ("retime_magneto", "retime_both")]
    every = {g.key for g in groups}
    rough = [result("rough@left=yes")]
    assert unseen(NETWORK, case(*rough)[1].trouble, groups) == every
    left = [result(f"{name}@left={grade}") for name, grade in (("timing_late", "no"), ("timing_early", "yes"))]
    assert unseen(NETWORK, case(*rough, *left)[1].trouble, groups) == every - {"retime_magneto@left"}
    late = result("timing_late@left=yes")  # found wrong one way it was measured, whether the other way was told of or not
    assert unseen(NETWORK, case(*rough, late)[1].trouble, groups) == every - {"retime_magneto@left"}
    unknown = [result(f"{name}@right=unknown") for name in ("timing_late", "timing_early")]
    assert "retime_magneto@right" in unseen(NETWORK, case(*rough, *left, *unknown)[1].trouble, groups)  # unknown is not measured
    right = [result(f"{name}@right=no") for name in ("timing_late", "timing_early")]
    assert unseen(NETWORK, case(*rough, *left, *right)[1].trouble, groups) == frozenset()
    assert "nobody has measured" in repair_warning(NETWORK, Repair("retime_magneto", "left"), case(*rough)[2])
    assert "nobody has measured" not in repair_warning(NETWORK, Repair("retime_magneto", "left"), case(*rough, *left)[2])
