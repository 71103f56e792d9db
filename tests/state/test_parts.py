"""Plugs, leads and covers that a step leaves off: kept at their place, named before power turns the engine, cleared by what puts them back."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.steps import next_step, steps
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.case.kinds import TAKEN_BACK
from diagnose.case.still_open import still_open
from diagnose.plan.to_run import otherwise
from diagnose.problems import BadInput
from diagnose.trouble.aircraft import turning
from diagnose.trouble.aircraft_words import kept, recalled, said
from tests.present import present

NETWORK = loaded.network_of((), "opposed-4")
BASE, LAYOUT = NETWORK.base, NETWORK.layout
LOOKED = ("result", {"result": "plug_lead@3-bottom=yes", "check": "look_at_plug@3-bottom"})
RAN = ("result", {"result": "drop@left=normal", "check": "mag_check@engine"})
RUN = {"run"}


@pytest.fixture
def case(tmp_path):
    """Return a function that writes entries after a rough left magneto, P-leads on, and returns the case."""

    def make(*rows):
        path = tmp_path / "a.case"
        path.unlink(missing_ok=True)
        open_case(path, BASE, LAYOUT, "A", {})
        on = ("state", {"state": {"P-lead left": "on", "P-lead right": "on"}})
        log.append_all(path, "A", [("result", {"result": "rough.runup@left=yes", "complaint": True}), on, *rows])
        return load(path, BASE)

    return make


def off(found):
    """Return what has to be put back before a run: thing -> how it is."""
    return {item.thing: item.fact.now for item in otherwise(found.trouble.aircraft, RUN) if item.part}


def test_a_plug_taken_out_is_out_at_its_place_until_something_puts_it_back(case):
    """A person, a repair at that place; not a repair somewhere else, nor a result that took nothing off, nor a run that was entered."""
    out = {"plug 3-bottom": "out"}
    fact = case(LOOKED).trouble.aircraft.facts["plug 3-bottom"]
    assert (fact.now, fact.step) == ("out", "look_at_plug@3-bottom")
    assert off(case(LOOKED)) == out
    assert off(case(LOOKED, ("repair", {"remedy": "clean_plug@1-bottom"}))) == out
    assert off(case(("result", {"result": "lead_damage@3-bottom=no", "check": "look_at_harness@left"}))) == {}
    for back in (
        ("state", {"state": {"plug 3-bottom": "in"}}),
        ("state", {"state": {"plugs": "in"}}),
        ("repair", {"remedy": "clean_plug@3-bottom"}),
        ("repair", {"remedy": "change_cylinder_plugs@3"}),
        ("repair", {"remedy": "replace_plug_set@engine"}),
    ):
        assert off(case(LOOKED, back)) == {}, back
        assert off(case(LOOKED, RAN, back)) == {}, back


@pytest.mark.parametrize("row", ["a check", "no check", "access"])
def test_a_run_entered_puts_nothing_back_in_anybodys_name(case, row):
    """It stays as recorded, from the entry that took it out, with what goes against it; then the next step asks for it before a run."""
    ran = {"a check": RAN, "no check": ("result", {"result": "rough.idle@left=no"}), "access": ("access", {"now": ["engine_running"]})}[row]
    found = case(LOOKED, ran)
    fact = found.trouble.aircraft.facts["plug 3-bottom"]
    assert (fact.now, fact.stamp.entry, fact.doubted) == ("out", 4, True)
    assert "turned since (entry 5), nobody said that it is back in" in fact.words
    assert [o.entry for o in still_open(found, NETWORK) if o.thing == "plug 3-bottom"] == [4]
    said = case(LOOKED, ran, ("state", {"state": {"plug 3-bottom": "in"}})).trouble.aircraft.facts["plug 3-bottom"]
    assert (said.now, said.stamp.entry, said.doubted) == ("in", 6, False)


def test_out_of_every_cylinder_makes_nothing_harmless_after_a_run_until_it_is_said_again(case):
    """It stays open, and no propeller is turned by hand on the strength of it."""
    out = ("state", {"state": {"plugs": "out of every cylinder"}})
    assert case(out).trouble.aircraft.plugs_out
    ran = case(out, RAN).trouble.aircraft
    assert (ran.now("plugs"), ran.plugs_out) == ("out of every cylinder", False)
    assert case(out, RAN, out).trouble.aircraft.plugs_out


def test_what_was_taken_off_stays_off_when_its_result_is_withdrawn(case):
    """Until somebody says that it is back; a withdrawn look makes nothing harmless, and an answer taken back in the interview was none."""
    gone = ("correct", {"corrects": 4, "withdrawn": True, "reason": "another engine's plug"})
    fact = case(LOOKED, gone).trouble.aircraft.facts["plug 3-bottom"]
    assert (fact.now, fact.stamp.entry) == ("out", 4)
    assert "its result is withdrawn, nobody said that it is back" in fact.words
    assert off(case(LOOKED, gone, ("state", {"state": {"plug 3-bottom": "in"}}))) == {}
    assert off(case(LOOKED, ("state", {"state": {"plug 3-bottom": "in"}}), gone)) == {}
    assert off(case(LOOKED, ("correct", {"corrects": 4, "withdrawn": True, "reason": TAKEN_BACK}))) == {}
    lead = ("result", {"result": "points_burnt@left=no", "check": "open_breaker_cover@left"})
    assert case(lead, gone).trouble.aircraft.now("P-lead left") == "off"
    check = next(c for c in BASE.checks.values() if "plugs_out" in c.access and not turning(BASE, c) & {"run", "crank"})
    place = LAYOUT.places(check.at)[0]
    every = ("result", {"result": f"{check.gives[0].symptom}@{place}=unknown", "check": f"{check.id}@{place}"})
    assert case(every).trouble.aircraft.plugs_out
    assert not case(every, gone).trouble.aircraft.plugs_out


def test_correct_says_what_stays_off(tmp_path, capsys):
    """One line for each, with the entry that took it off and how to say that it is back."""
    path = tmp_path / "a.case"
    open_case(path, BASE, LAYOUT, "A", {})
    log.append_all(path, "A", [LOOKED])
    assert main(["correct", str(path), "2", "--reason", "misread"]) == 0
    told = [line for line in capsys.readouterr().err.splitlines() if "stays recorded" in line]
    assert told == [
        'cowl stays recorded as off (entry 2); if it is on: `diagnose note CASE --state "cowl=on"`',
        'plug 3-bottom stays recorded as out (entry 2); if it is in: `diagnose note CASE --state "plug 3-bottom=in"`',
    ]


def test_every_step_that_takes_a_plug_out_says_so():
    """Read off the words of the steps: what goes out, or is measured on the bench, was taken out (how the circuit works)."""
    words = ("plug out", "plugs out", "plugs of an opposed engine out", "read each plug", "as found, then set it for the test")
    bench = [c for c in BASE.checks.values() if any(w in c.how.lower() for w in words) and "plugs_out" not in c.access]
    assert len(bench) > 7
    assert [c.id for c in bench if "plug" not in c.leaves and not turning(BASE, c)] == []
    assert [c.id for c in BASE.checks.values() if "rocker covers" in c.refit.lower() and "cover" not in c.leaves] == []
    on_plugs = [r for r in BASE.remedies.values() if r.at == "circuit" and "plug" in r.id.split("_") and r.id != "clean_plug_well"]
    assert [r.id for r in on_plugs if "plug" not in r.refits] == []


@pytest.mark.slow
def test_what_is_out_comes_before_a_run_and_not_before_other_work(case):
    """The next plug is read with the first one out; the run waits until it is back in, and the OFF check too."""
    network = NETWORK
    a = loaded.assessed(network, case(LOOKED).trouble)
    kinds = [s.make_good.id if s.make_good else s.kind for s in steps(network, a)]
    assert kinds[0] == "check"
    assert not turning(BASE, present(present(next_step(network, a)).check).located.check)
    assert "back@engine" in kinds
    rows = (LOOKED, ("state", {"state": {"P-lead left": "off"}}), ("state", {"state": {"P-lead left": "on"}}))
    first, second = steps(network, loaded.assessed(network, case(*rows).trouble))[:2]
    assert present(first.make_good).states == {"plug 3-bottom": "in"}
    assert "plug 3-bottom back in" in present(first.make_good).label
    assert present(second.make_good).check == "off_check@engine"


def test_a_step_that_needs_the_plugs_out_is_not_stopped_by_them(case):
    """Spark looked for while the starter turns: its own plugs are out; they are out still before a run."""
    aircraft = case(("state", {"state": {"plugs": "out of every cylinder"}})).trouble.aircraft
    cranking = BASE.checks["look_for_spark_cranking"]
    assert otherwise(aircraft, turning(BASE, cranking), cranking.access) == ()
    assert [i.thing for i in otherwise(aircraft, RUN)] == ["plugs"]
    assert otherwise(aircraft, {"hand"}) == ()
    gives = cranking.gives[0]
    done = ("result", {"result": f"{gives.symptom}@engine=none", "check": f"{cranking.id}@{cranking.at}"})
    assert off(case(done)) == {"plugs": "some out"}


def test_what_is_opened_after_the_run_a_step_needs_is_open_still(case):
    """A coil is measured hot: run first, then the leads come off; the P-lead with them."""
    done = ("result", {"result": "coil_fails_hot@left=yes", "check": "measure_coil_hot@left"})
    found = case(done).trouble
    assert {thing: found.aircraft.now(thing) for thing in ("cowl", "leads", "P-lead left")} == dict.fromkeys(
        ("cowl", "leads", "P-lead left"), "off"
    )
    assert "leads_off" in found.access
    assert off(case(done, RAN)) == {"leads": "off"}
    assert not case(done, done).trouble.aircraft.facts["leads"].doubted, "the second result of the same check"


def test_leads_taken_off_in_turn_are_not_said_to_be_off_nor_to_be_on(case):
    """Each back on before the next: nobody has said of the last; the run waits until somebody has seen them on."""
    found = case(("result", {"result": "p_lead_open@left=no", "check": "measure_p_leads@engine"})).trouble.aircraft
    assert {side: fact.now for side, fact in found.leads_not_on.items()} == {"left": "unknown", "right": "unknown"}
    assert "one at a time" in found.facts["P-lead left"].words
    both = case(
        ("state", {"state": {"P-lead left": "off"}}), ("result", {"result": "p_lead_open@left=no", "check": "measure_p_leads@engine"})
    )
    assert both.trouble.aircraft.now("P-lead left") == "off", "what was said to be off stays off"


@pytest.mark.parametrize(
    ("text", "thing", "now"),
    [
        ("plug 3-bottom=out", "plug 3-bottom", "out"),
        ("3 bottom plug is out", "plug 3-bottom", "out"),
        ("no 3 bottom plug out", "plug 3-bottom", "out"),
        ("No. 3 bottom plug back in", "plug 3-bottom", "in"),
        ("lead 1-top off", "lead 1-top", "off"),
        ("plug 3 out", "plug 3", "out"),
        ("left cover off", "cover left", "off"),
        ("plugs=some out", "plugs", "some out"),
    ],
)
def test_one_plug_lead_or_cover_can_be_said(text, thing, now):
    """As a mechanic says it; what is written into the case reads back the same."""
    found = said([text], LAYOUT)
    assert {t: state for t, (state, _) in found.items()} == {thing: now}
    ((name, words),) = kept(found).items()
    assert recalled(name, words)[thing][0] == now


def test_a_plug_this_engine_does_not_have_is_refused():
    """Nothing of the line is taken, wherever it is typed."""
    with pytest.raises(BadInput, match="no place '9-bottom'"):
        said(["plug 9-bottom=out"], LAYOUT)


def test_a_place_is_held_against_the_layout_in_every_command(tmp_path, capsys):
    """`note --state` and `rank --state` refuse what the engine does not have."""
    path = tmp_path / "a.case"
    open_case(path, BASE, LAYOUT, "A", {})
    assert main(["note", str(path), "--state", "plug 9-bottom=out"]) == 2
    assert main(["rank", "--layout", "opposed-4", "--complaint", "rough@left=yes", "--state", "plug 9-bottom=out"]) == 2
    assert capsys.readouterr().err.count("no place '9-bottom'") == 2
    assert main(["note", str(path), "--state", "no 3 bottom plug out"]) == 0
    assert load(path, BASE).trouble.aircraft.now("plug 3-bottom") == "out"


def test_a_run_entered_with_a_p_lead_off_is_kept_with_a_warning(case, capsys):
    """Said at once, kept for the papers; what was complained of was seen before, and a look at standing parts is no run."""
    found = case(("state", {"state": {"P-lead left": "off"}}))
    path = str(found.path)
    for words in (["drop.runup@right=excessive", "--complaint"], ["plug_soot@1-bottom=no"]):
        assert main(["enter", path, *words]) == 0
    assert "warning" not in capsys.readouterr().err
    assert main(["enter", path, "drop@left=normal"]) == 0
    assert "warning: entered of a run while the record says: P-lead left off" in " ".join(capsys.readouterr().err.split())
    kept_now = log.read(found.path).events
    assert [(e.kind, e.data["about"]) for e in kept_now if e.kind == "warning"] == [("warning", kept_now[-2].seq)]
    assert main(["report", path, "--format", "text"]) == 0
    assert "entered of a run while the record says" in " ".join(capsys.readouterr().out.split())
