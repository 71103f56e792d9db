"""A truthful mechanic: what he says of a sound engine and of a plain fault, twice, and after it was mended."""

from __future__ import annotations

import re

import pytest

from diagnose import loaded
from diagnose.drill.answers import answer, results
from diagnose.drill.exercise import Deck, Exercise, Fault, complaint, engine_of, look_at
from diagnose.drill.mends import mend
from diagnose.drill.readings import readings
from diagnose.plan.checks import available
from diagnose.stand.conditions import Weather

FOUR = loaded.network_of((), "opposed-4")
DEAD = Fault("plug.bridged", "3-bottom", {})


def told(faults, *names, seed=7, mended=(), wet=0.0):
    """Return the grades of located symptoms on an engine with faults, in one look."""
    exercise = Exercise(seed, Weather(wet=wet), tuple(faults))
    engine = engine_of(FOUR, exercise)
    for remedy, place in mended:
        mend(engine, remedy, place)
    look = look_at(FOUR, exercise, engine)
    located = [FOUR.symptoms[n] for n in names]
    return [answer(look, s.symptom.id, s.regime, s.place) for s in located]


MAG = ("drop.runup@left", "drop.runup@right", "rough.runup@left", "rough.runup@right", "no_drop.runup@left", "no_drop.runup@right")


@pytest.mark.slow
def test_a_sound_engine_gives_nothing_wrong():
    """Timing apart (fitted to half a degree, read to half a degree against a limit of one), nothing is abnormal on four engines."""
    nodes = sorted({n for c in available(FOUR, (), ()) for n in c.nodes if not n.startswith("timing")})
    nodes = [n for n in nodes if FOUR.symptoms[n].place in ("engine", "left", "start", "switch", "1", "2-top")]
    for seed in range(4):
        found = zip(nodes, told((), *nodes, seed=seed), strict=True)
        wrong = [f"{n}={g}" for n, g in found if g.split("|")[0] not in ("no", "normal", "unknown")]
        assert wrong == [], seed


def test_a_bridged_plug_shows_on_its_own_magneto_and_at_its_own_circuit():
    """FAA-H-8083-32B p10-26, 10-43: drop and roughness on one magneto, that cylinder cold there, no rise of its exhaust."""
    left = FOUR.layout.side_of["3-bottom"]
    other = "right" if left == "left" else "left"
    grades = told([DEAD], f"rough.runup@{left}", f"rough.runup@{other}", "cold_cylinder.runup@3-bottom", "cold_cylinder.runup@2-bottom")
    assert grades == ["yes", "no", "yes", "no"]
    assert told([DEAD], "egt_low.runup@3-bottom", "egt_low.runup@3-top", "plug_bridged.static@3-bottom") == ["yes", "no", "yes"]
    assert told([DEAD], "fault_follows_plug.runup@3-bottom", "fault_follows_lead.runup@3-bottom") == ["yes", "no"]


def test_what_is_mended_is_gone_and_what_is_not_stays():
    name = "cold_cylinder.runup@3-bottom"
    assert told([DEAD], name, mended=[("replace_plug", "3-bottom")]) == ["no"]
    assert told([DEAD], name, mended=[("replace_plug", "1-bottom"), ("replace_lead", "3-bottom")]) == ["yes"]
    assert told([DEAD], name, mended=[("clean_all_plugs", "engine")]) == ["no"]
    assert told([DEAD], "drop.runup@left", mended=[("replace_magneto", "left")]) == told([DEAD], "drop.runup@left")


@pytest.mark.parametrize(
    ("fault", "name", "grade"),
    [
        (Fault("p-lead.open", "left", {"acts": 1.0}), "p_lead_open.static@left", "yes"),
        (Fault("p-lead.open", "left", {"acts": 1.0}), "runs_in_off.idle@engine", "yes"),
        (Fault("p-lead.grounded", "right", {"acts": 1.0}), "drop.runup@right", "dies"),
        (Fault("switch.grounds", "right", {"acts": 1.0}), "fires_p_lead_off.runup@right", "yes"),
        (Fault("coil.secondary-open", "right", {"amount": 18.0}), "fires_p_lead_off.runup@right", "no"),
        (Fault("capacitor.shorted", "right", {"acts": 1.0}), "capacitor_fail.static@right", "yes"),
        (Fault("timing.late", "left", {"degrees": 6.0}), "timing_late.static@left", "yes"),
        (Fault("timing.early", "left", {"degrees": 6.0}), "timing_late.static@left", "no"),
        (Fault("valve.exhaust-burnt", "2", {"amount": 2.5}), "compression_low.static@2", "yes"),
        (Fault("valve.exhaust-burnt", "2", {"amount": 2.5}), "air_at_valve.static@2", "yes"),
        (Fault("plug.gap-wide", "1-top", {"amount": 0.03}), "plug_gap_wide.static@1-top", "yes"),
        (Fault("plug.gap-narrow", "1-top", {"amount": 0.009}), "plug_gap_narrow.static@1-top", "yes"),
        (Fault("plug.gap-narrow", "1-top", {"amount": 0.009}), "plug_gap_wide.static@1-top", "no"),
        (Fault("tachometer.off", "engine", {"amount": 0.06}), "tach_disagrees.runup@engine", "yes"),
        (Fault("leads.crossed", "1-top/2-bottom", {}), "lead_order_wrong.static@1-top", "yes"),
    ],
    ids=lambda x: x.kind if isinstance(x, Fault) else None,
)
def test_a_plain_fault_is_seen_by_the_look_that_sees_it(fault, name, grade):
    """Each is what the fault is: no other source."""
    assert told([fault], name) == [grade]


def test_the_parts_of_one_check_come_from_one_run_and_the_next_check_from_the_same_engine():
    exercise = Exercise(7, Weather(), (DEAD,))
    engine = engine_of(FOUR, exercise)
    look, again = look_at(FOUR, exercise, engine), look_at(FOUR, exercise, engine)
    nodes = [f"{n}" for n in MAG]
    assert results(FOUR, look, nodes) == results(FOUR, look, nodes)
    assert look.mag("runup") is look.mag("runup")
    assert look.mag("runup") != again.mag("runup")  # fresh readings
    assert look.mag("runup").sides["left"].run.words == again.mag("runup").sides["left"].run.words  # of the same fault


def test_an_engine_that_does_not_start_gives_nothing_that_wants_it_running():
    dead = [Fault("p-lead.grounded", side, {"acts": 1.0}) for side in ("left", "right")]
    assert told(dead, "no_start.start@engine", "drop.runup@left", "cold_cylinder.runup@1-top") == ["yes", "unknown", "unknown"]
    assert told(dead, "p_lead_grounded.static@left") == ["yes"]


def test_a_complaint_is_what_a_pilot_would_notice_first():
    exercise = Exercise(7, Weather(), (Fault("p-lead.grounded", "right", {"acts": 1.0}),))
    assert complaint(FOUR, exercise) == ("drop.runup@right=dies",)
    assert complaint(FOUR, Exercise(7, Weather(), ())) == ()


def test_a_trouble_of_a_number_is_always_the_same_and_its_faults_suit_the_layout():
    deck = Deck(FOUR)
    first, second = deck.draw(5, 1), deck.draw(5, 1)
    assert first == second
    assert first.complaint
    assert deck.draw(6, 1) != first
    assert all(w >= 0 for w in deck.weights)
    assert deck.draw(3, 1, faults=0).faults[0].kind in deck.outside
    kinds = {kind for (kind, _), w in zip(deck.pairs, deck.weights, strict=True) if w > 0}
    assert not any(k.startswith(("vibrator", "retard")) for k in kinds)


def test_the_parts_of_a_drop_come_to_the_drop_that_is_shown():
    told = []
    for seed in range(3):
        exercise = Exercise(seed, Weather(), (DEAD,))
        look = look_at(FOUR, exercise, engine_of(FOUR, exercise))
        told += readings(look, [("drop", "runup", "left"), ("e_gap_wrong", "static", "left")])
    found = [re.search(r"drop (\d+) rpm \((\d+) at once, (\d+) slowly", text) for text in told]
    assert sum(f is not None for f in found) >= 3
    assert all(int(f[1]) == int(f[2]) + int(f[3]) for f in found if f)
    assert "error from the mark, + is late, left: " in " ".join(told)
