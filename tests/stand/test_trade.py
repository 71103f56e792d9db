"""Statements of the trade, each with its source: conditions, directions, look-alikes (the README says what was fitted)."""

from __future__ import annotations

import pytest

from diagnose.stand import bench, seen
from diagnose.stand.conditions import CRUISE, FULL_POWER, IDLE, RUN_UP, WARM_UP, Settings, Weather
from diagnose.stand.engine import Engine
from diagnose.stand.faults import put_fault
from diagnose.stand.runs import egt_picture, mag_check, off_check, power_check
from diagnose.stand.start_checks import start
from tests.stand.layouts import FOUR, FOUR_SINGLE_DRIVE, FOUR_VIBRATOR, SIX, SIX_PRESSURISED
from tests.stand.numbers import number_of


def faulty(layout, kind, place, seed=7, **sizes):
    """Return an engine with one fault."""
    engine = Engine(layout, seed)
    put_fault(engine, kind, place, **sizes)
    return engine


def runs(side):
    """Return how a side runs, in words, dead ones too."""
    return "died" if side.died else side.run.words[0]


def test_scuffed_lead_is_lost_at_take_off_only():
    """Scuffed insulation: plug lost at high manifold pressure (FAA-H-8083-32B p4-42, fault B)."""
    engine = faulty(FOUR, "lead.chafed", "1-bottom", amount=0.75)
    assert runs(mag_check(engine, RUN_UP).sides["left"]) in ("smooth", "slightly rough")
    assert "rough" in runs(mag_check(engine, FULL_POWER).sides["left"])
    assert number_of(mag_check(engine, FULL_POWER).sides["left"].egt[1]) < -100


def test_tracked_lead_fails_under_all_conditions():
    """Carbon track on the shield: flashover always (FAA-H-8083-32B p4-42, fault D)."""
    engine = faulty(FOUR, "lead.leaks", "1-bottom")
    for settings in (RUN_UP, FULL_POWER, Settings(rpm=1200.0)):
        assert "rough" in runs(mag_check(engine, settings).sides["left"])


def test_moisture_is_a_trouble_of_start_and_ground():
    """Mostly starting and ground running; rare in flight, where the magneto is hot (FAA-H-8083-32B p4-26)."""
    engine = faulty(FOUR, "distributor.damp", "left")
    engine.weather = Weather(wet=1.0)
    assert start(engine).start.words != ("starts at once",)
    cold, hot = (mag_check(engine, Settings(rpm=1750.0, heat=h)).sides["left"] for h in ("cold", "hot"))
    assert runs(cold) in ("rough", "very rough", "died")
    assert runs(hot) in ("smooth", "slightly rough")
    engine.weather = Weather()
    assert runs(mag_check(engine).sides["left"]) == "smooth"


def test_wide_gaps_make_starting_hard_and_fail_at_take_off():
    """Wide gaps raise the coming-in speed (FAA-H-8083-32B p4-35); misfire at take-off (p4-35)."""
    engine = faulty(FOUR, "plugs.all-wide", "engine", amount=0.038)
    assert start(engine).start.words != ("starts at once",)
    assert mag_check(engine, RUN_UP).sides["left"].run.words == ("smooth",)
    assert "rough" in runs(mag_check(engine, FULL_POWER).sides["left"])


def test_weak_magneto_runs_low_and_cuts_out_high():
    """Basic magneto failure: runs at low speed, cuts out at high (FAA-H-8083-32B p10-38)."""
    engine = faulty(SIX, "coil.shorted-turns", "left", amount=0.32)
    assert runs(mag_check(engine, Settings(rpm=1500.0)).sides["left"]) in ("smooth", "slightly rough")
    assert runs(mag_check(engine, FULL_POWER).sides["left"]) in ("rough", "very rough", "died")
    assert mag_check(engine, FULL_POWER).both_run.words == ("smooth",)


def test_coil_that_fails_hot_heals_cold():
    """Engine hot then rough, recovers when cool (common practice)."""
    engine = faulty(FOUR, "coil.fails-hot", "left")
    assert runs(mag_check(engine, RUN_UP).sides["left"]) == "smooth"
    assert runs(mag_check(engine, Settings(rpm=1750.0, heat="hot")).sides["left"]) in ("died", "very rough")
    cold, hot = (bench.coming_in(engine, "left", h) for h in (False, True))
    assert number_of(cold) < 220
    assert hot.number is None or hot.number > 1.5 * number_of(cold)


def test_break_in_the_secondary_is_first_a_hard_start():
    """Spark jumps the break: hard starting first, rough later (an engineer's blog); open on the meter."""
    engine = faulty(FOUR, "coil.secondary-open", "left")
    assert start(engine).start.words != ("starts at once",)
    assert runs(mag_check(engine).sides["left"]) == "smooth"
    assert bench.coil_secondary(engine, "left").number is None


@pytest.mark.parametrize(("kind", "closed_in_off"), [("p-lead.open", False), ("capacitor.through-open", True)])
def test_hot_magneto(kind, closed_in_off):
    """Open ground lead, or a capacitor's feed-through open with lead and switch good (AD 94-06-09): no drop, runs in OFF."""
    engine = faulty(FOUR, kind, "left")
    check = mag_check(engine)
    assert number_of(check.sides["right"].drop) < 15
    assert all(abs(number_of(r)) < 20 for r in check.sides["right"].egt.values())
    assert number_of(check.sides["left"].drop) > 15
    assert off_check(engine).words == ("keeps firing",)
    assert (bench.p_lead(engine, "left", "off").number is not None) is closed_in_off


def test_dead_magneto():
    """Engine dies on it; no drop on the other; BOTH smooth (FAA-H-8083-32B p10-27)."""
    for kind in ("p-lead.grounded", "capacitor.shorted", "points.never-open", "drive.sheared"):
        check = mag_check(faulty(FOUR, kind, "left"))
        assert check.sides["left"].died, kind
        assert number_of(check.sides["right"].drop) < 20, kind
        assert check.both_run.words == ("smooth",)


def test_ground_lead_table():
    """Right lead: OFF and L closed, R and BOTH open (airframe manual chapter 74-30); left by symmetry; START grounds the right."""
    engine = Engine(FOUR, 1)
    closed = {
        (s, p): bench.p_lead(engine, s, p).number is not None for s in ("left", "right") for p in ("off", "left", "right", "both", "start")
    }
    assert {key for key, shut in closed.items() if shut} == {
        ("left", "off"),
        ("left", "right"),
        ("right", "off"),
        ("right", "left"),
        ("right", "start"),
    }


def test_crossed_leads_spoil_both_and_the_other_side_alone_is_better():
    """Fired at the wrong time: backfire, roughness, large drop (FAA-H-8083-32B p4-33, p10-30)."""
    check = mag_check(faulty(FOUR, "leads.crossed", "1-bottom/4-top"))
    assert check.both_run.words[0] in ("rough", "very rough")
    assert any("intake" in w for w in check.noise.words)
    assert check.sides["right"].run.words[0] in ("smooth", "slightly rough")
    assert check.sides["left"].died or number_of(check.sides["left"].drop) > 175


def test_crossed_leads_fire_the_next_cylinder_on_its_intake_and_the_last_one_after_its_own_stroke():
    """1-4-5-2-3-6: 4 gets the spark of 1, 120 degrees early and so while its intake is open; 1 gets that of 4, too late to matter."""
    engine = faulty(SIX, "leads.crossed", "1-bottom/4-top")
    acts = engine.begin()
    both = engine.run(RUN_UP, "both", engine.throttle(RUN_UP, acts), acts)
    assert both.sparks["4-top"].btdc == pytest.approx(145, abs=4)
    assert both.sparks["1-bottom"].btdc == pytest.approx(720 - 95, abs=4)
    assert both.firings[4].backfires > 0.3
    assert both.firings[1].backfires == 0
    assert both.firings[1].lit > 0.95


def test_stray_sparks_backfire_and_selecting_the_good_side_cures_it():
    """Cracked block or broken gear teeth: backfires, random plugs (FAA-H-8083-32B p10-38; CASA AWB 74-005)."""
    check = mag_check(faulty(FOUR, "distributor.stray", "left"))
    assert any("intake" in w for w in check.noise.words)
    assert check.sides["right"].run.words[0] == "smooth"
    assert number_of(check.sides["right"].drop) < 15


def test_injector_partly_clogged_misses_when_leaned():
    """The miss appears when leaning for cruise (trade, Mar 1998); both magnetos alike."""
    engine = faulty(SIX, "injector.clogged", "3")
    run_up, cruise = mag_check(engine, RUN_UP), mag_check(engine, CRUISE)
    assert run_up.both_run.words == ("smooth",)
    assert "rough" in cruise.both_run.words[0]
    assert all("rough" in runs(side) for side in cruise.sides.values())


def test_induction_leak_is_worst_at_low_power():
    """Below atmospheric manifold pressure it leans the cylinder most (FAA-H-8083-32B p10-33)."""
    engine = faulty(SIX, "induction.leak", "3", amount=0.5)
    phi = {s.rpm: mag_check_phi(engine, s) for s in (IDLE, RUN_UP, FULL_POWER)}
    assert phi[IDLE.rpm] < phi[RUN_UP.rpm] < phi[FULL_POWER.rpm]
    assert number_of(egt_picture(engine, RUN_UP)[3]) > 40
    assert "rough" in power_check(engine, IDLE).run.words[0]


def mag_check_phi(engine, settings):
    """Return the mixture of cylinder 3 on BOTH over that of cylinder 1."""
    acts = engine.begin()
    steady = engine.run(settings, "both", engine.throttle(settings, acts), acts)
    return steady.phi[3] / steady.phi[1]


def test_sticking_valve_is_rough_cold_and_smooth_warm():
    """FAA-H-8083-32B and trade: rough cold start, smooth when warm; low compression cold."""
    engine = faulty(FOUR, "valve.sticks-cold", "2")
    assert "rough" in power_check(engine, WARM_UP).run.words[0]
    assert power_check(engine, RUN_UP).run.words == ("smooth",)
    cold, hot = (bench.compression(engine, "2", h) for h in (False, True))
    assert number_of(cold) < 60 < number_of(hot)
    assert "exhaust" in cold.words


@pytest.mark.parametrize(
    ("kind", "where"), [("valve.exhaust-burnt", "exhaust"), ("valve.intake-leaks", "intake"), ("rings.worn", "breather")]
)
def test_where_the_air_goes(kind, where):
    """Exhaust, intake, breather (FAA-H-8083-32B p10-40)."""
    found = bench.compression(faulty(FOUR, kind, "2"), "2")
    assert where in found.words
    assert number_of(found) < 62


def test_lead_conducts_hot_and_oil_shorts_cold():
    """Lead: misfire at power; oil and soot: short at start, may clear (FAA-H-8083-32B p4-34)."""
    lead = faulty(FOUR, "plug.lead", "1-bottom", amount=0.7)
    assert runs(mag_check(lead, Settings(rpm=1000.0)).sides["left"]) == "smooth"
    assert "rough" in runs(mag_check(lead, FULL_POWER).sides["left"])
    oil = Engine(FOUR, 7)
    for circuit in FOUR.fires["left"]:
        put_fault(oil, "plug.oil", circuit, amount=0.6)
    assert start(oil).start.words != ("starts at once",)
    assert runs(mag_check(oil, FULL_POWER).sides["left"]) == "smooth"


def test_leaning_at_speed_clears_soot_but_not_heavy_lead_or_a_bridge():
    """Cleaning run (trade, two versions; FAA-H-8083-32B p4-34); bridged gaps mostly stay (AC 43.13-1B 8-16c)."""
    for kind, clears in (("plug.soot", True), ("plug.lead", False), ("plug.bridged", False)):
        engine = faulty(FOUR, kind, "1-top")
        assert "rough" in runs(mag_check(engine).sides["right"])
        for _ in range(3):
            engine.clear_plugs()
        assert (runs(mag_check(engine).sides["right"]) == "smooth") is clears, kind


def test_resistance_of_fifteen_kilohm_is_hardly_felt_and_a_megohm_misses():
    """One maker scraps above 5 kilohm, another disputes that it matters; above 1 Mohm was found in badly fouled plugs (trade)."""
    assert runs(mag_check(faulty(FOUR, "plug.resistor-high", "1-top", amount=15e3)).sides["right"]) == "smooth"
    assert "rough" in runs(mag_check(faulty(FOUR, "plug.resistor-high", "1-top", amount=2e6)).sides["right"])


def test_propeller_and_mount_shake_without_a_cold_cylinder():
    """Rough running from mount or propeller (FAA-H-8083-32B fig 10-52): drops and exhaust normal."""
    for kind in ("propeller.unbalance", "mount.soft"):
        settings = FULL_POWER if kind.startswith("prop") else Settings(rpm=1900.0)
        check = mag_check(faulty(FOUR, kind, "engine"), settings)
        assert "rough" in check.both_run.words[0]
        assert all(number_of(side.drop) < 90 and all(number_of(r) > 35 for r in side.egt.values()) for side in check.sides.values())


def test_no_start_and_firing_on_release():
    """START grounds the starting magneto: fires as the key is let go, run-up perfect (owners' accounts)."""
    engine = faulty(FOUR, "switch.start-grounds", "left")
    seen = start(engine)
    assert seen.start.words[0].startswith("does not start")
    assert seen.on_release.words == ("fires as the key is let go",)
    assert all(runs(side) == "smooth" for side in mag_check(engine).sides.values())


@pytest.mark.parametrize(
    ("layout", "kind", "place"), [(SIX, "impulse.never-catches", "left"), (FOUR_VIBRATOR, "retard.stuck-open", "left")]
)
def test_kick_back(layout, kind, place):
    """Coupling not catching, or retard points that do not close (trade, Mar 1998; engine maker's answers)."""
    kicked = 0
    for seed in range(10):
        engine = faulty(layout, kind, place, seed)
        kicked += start(engine).kick_back.words == ("kicks back",)
        assert start(Engine(layout, seed)).kick_back.words == ("none",)
    assert kicked >= 5


def test_coil_that_fails_hot_makes_the_hot_start_hard():
    """A coil that fails hot heals cold (common practice): starts cold, not hot."""
    engine = faulty(FOUR, "coil.fails-hot", "left")
    assert start(engine).start.words == ("starts at once",)
    assert start(engine, heat="hot").start.words != ("starts at once",)
    assert start(Engine(FOUR, 7), heat="hot").start.words == ("starts at once",)


def test_missing_click():
    """No click, no start spark: flyweights magnetised or gummed (FAA-H-8083-32B p4-20)."""
    engine = faulty(FOUR, "impulse.magnetised", "left")
    got = start(engine)
    assert got.click.words == ("no click",)
    assert got.start.words[0].startswith("does not start")
    assert seen.impulse_look(engine, "left").words == ("flyweights magnetised",)


def test_one_drive_takes_both_sides():
    """Common drive, one housing: a single point of failure (accident report FTW99LA027)."""
    check = mag_check(faulty(FOUR_SINGLE_DRIVE, "drive.sheared", "left"))
    assert check.both_run.words == ("died",)
    late = mag_check(faulty(FOUR_SINGLE_DRIVE, "timing.late", "left", degrees=8.0))
    assert all(number_of(side.drop) > 75 for side in late.sides.values())


def test_thin_air_and_a_pressurised_magneto():
    """Flashover in the distributor comes easier with height; pressurised magnetos are the remedy (FAA-H-8083-32B p4-7)."""
    high = Settings(rpm=2400.0, lever="lean", heat="hot", manifold_inhg=29.0)
    plain, pressurised = (mag_check(Engine(layout, 3, Weather(-31, 23000)), high) for layout in (SIX, SIX_PRESSURISED))
    assert plain.both_run.words[0] != "smooth"
    assert all(runs(side) in ("rough", "very rough", "died") for side in plain.sides.values())
    assert all(runs(side) == "smooth" for side in pressurised.sides.values())
    assert pressurised.both_run.words == ("smooth",)
    assert mag_check(Engine(SIX, 3, Weather(5, 5000)), high).both_run.words == ("smooth",)


def test_sticking_tachometer_hides_a_drop():
    """A true 200 reads as 100 (FAA-H-8083-32B p10-27)."""
    engine = faulty(FOUR, "plug.shorted", "1-bottom")
    true = number_of(mag_check(engine).sides["left"].drop)
    put_fault(engine, "tachometer.sticks", "engine", amount=100.0)
    assert number_of(mag_check(engine).sides["left"].drop) == pytest.approx(true - 100, abs=20)


def test_tachometer_fed_by_a_ground_lead_falls_to_zero():
    """An instrument effect (occurrence of 30 Sep 2005)."""
    check = mag_check(faulty(FOUR, "tachometer.from-p-lead", "left"))
    assert number_of(check.sides["right"].rpm) == 0
    assert check.sides["right"].run.words == ("smooth",)
    assert number_of(check.sides["left"].rpm) > 1600


def test_lean_mixture_asks_more_of_a_weak_system():
    """In cruise, leaned, a weakening system shows before it shows on the ground (trade); need rises as mixture leans."""
    engine = Engine(FOUR, 5)
    rich, lean = (engine.voltages("1-top", Settings(rpm=2400.0, lever=lever, manifold_inhg=24.0))[0] for lever in ("rich", "lean"))
    assert lean > rich
