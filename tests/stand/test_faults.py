"""Every kind of physical fault: it can be put in, it shows somewhere, and the README says how it is set."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.stand.conditions import CRUISE, FULL_POWER, IDLE, RUN_UP, WARM_UP, Settings, Weather
from diagnose.stand.engine import Engine
from diagnose.stand.faults import KINDS, places_for, put_fault
from diagnose.stand.observations import OBSERVATIONS, observe, places_of
from diagnose.stand.repairs import REPAIRS
from diagnose.stand.runs import cold_cylinder, egt_picture, mag_check, power_check
from diagnose.stand.seen import distributor_look, lead_look, plug_look, points_look
from diagnose.stand.start_checks import start
from tests.fast import every_nth_fast
from tests.stand.layouts import FOUR, FOUR_SINGLE_DRIVE, FOUR_VIBRATOR, NINE, SIX
from tests.stand.numbers import number_of

STAND = Path(__file__).parents[2] / "diagnose" / "stand"
README = (STAND / "README.md").read_text("utf-8")
SETTINGS = (RUN_UP, FULL_POWER, CRUISE, IDLE, WARM_UP, Settings(rpm=1900.0), Settings(rpm=1750.0, heat="hot"))


def engine_for(kind, seed=7):
    """Return a sound engine of a layout that has the part, and the first place there."""
    for layout in (FOUR, FOUR_VIBRATOR):
        engine = Engine(layout, seed)
        places = places_for(engine, kind)
        if places:
            return engine, places[0]
    raise AssertionError(kind.name)


def everything(engine):
    """Yield all that can be seen of an engine, parts first, then run dry and wet, as (name, text)."""
    for name in OBSERVATIONS:
        yield name, str([str(observe(engine, name, place)) for place in places_of(engine, name)])
    for weather in (Weather(), Weather(wet=1.0)):
        engine.weather = weather
        yield f"start {weather.wet}", str(start(engine))
        for number, settings in enumerate(SETTINGS):
            yield f"check {number} {weather.wet}", str(mag_check(engine, settings))
            yield f"power {number} {weather.wet}", str(power_check(engine, settings))
    yield "picture", str(egt_picture(engine))
    yield "cold", str(cold_cylinder(engine, "left"))
    engine.service(80, idle_share=0.6)
    yield "after service", str([str(plug_look(engine, c)) for c in engine.layout.circuits])


def test_there_are_enough_kinds_in_every_family():
    groups = {kind.group for kind in KINDS.values()}
    assert len(KINDS) >= 100
    wanted = "plugs leads points capacitor coil distributor drive timing impulse vibrator switch mixture injector induction valves rings fuel propeller mount instruments"
    assert set(wanted.split()) <= groups
    assert {"internal timing", "ground lead"} <= groups


@pytest.mark.parametrize("name", every_nth_fast(4, KINDS))
def test_a_fault_shows_somewhere_and_a_sound_engine_of_the_same_seed_differs_only_by_it(name):
    sound, place = engine_for(KINDS[name])
    bad, _ = engine_for(KINDS[name])
    put_fault(bad, name, place)
    if name == "impulse.catches-at-times":  # a hand turn or a try may catch: look at the parts
        assert observe(bad, "impulse-look", place) != observe(sound, "impulse-look", place)
        return
    assert any(a != b for a, b in zip(everything(sound), everything(bad), strict=True)), name


@pytest.mark.slow
@pytest.mark.parametrize("layout", [SIX, NINE, FOUR_SINGLE_DRIVE], ids=lambda x: f"{x.id}-{x.drive}")
def test_every_fault_runs_on_every_layout_at_its_least_and_most(layout):
    """A run with it is finite: rpm from 0 to 2,900, roughness and exhaust changes in numbers."""
    for kind in KINDS.values():
        for largest in (False, True):
            engine = Engine(layout, 5)
            places = places_for(engine, kind)
            if not places:
                continue
            put_fault(engine, kind.name, places[-1], **{n: s.high if largest else s.low for n, s in kind.sizes.items()})
            check = mag_check(engine)
            assert 0 <= number_of(check.both) <= 2900, kind.name
            for side in check.sides.values():
                assert side.drop.number is None or -1500 < side.drop.number < 2900, kind.name
                assert all(r.number is None or -900 < r.number < 900 for r in side.egt.values()), kind.name


@pytest.mark.parametrize(
    ("kind", "look", "words"),
    [
        ("plug.lead", plug_look, "lead"),
        ("plug.soot", plug_look, "soot"),
        ("plug.oil", plug_look, "oil"),
        ("plug.glaze", plug_look, "glaze"),
        ("plug.bridged", plug_look, "bridged"),
        ("plug.worn", plug_look, "worn"),
        ("plug.metal", plug_look, "metal"),
        ("lead.chafed", lead_look, "chafed"),
        ("lead.end-dirty", lead_look, "dirty"),
        ("distributor.track", lambda e, p: distributor_look(e, e.layout.side_of[p]), "track at the tower of 1-top"),
    ],
)
def test_looks_say_what_is_there(kind, look, words):
    """Plug appearance rows P01 to P06 of a US Army table, and the handbook's harness and block pictures."""
    engine = Engine(FOUR, 7)
    assert not any(words in w for w in look(engine, "1-top").words)
    put_fault(engine, kind, "1-top")
    assert any(words in w for w in look(engine, "1-top").words)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("capacitor.open", "coarse frosting, sooty sides"),
        ("points.pitted", "pitted, burnt crater"),
        ("points.mound", "mound with matching pit, not burnt"),
        ("points.oily", "oily and smudged"),
        ("capacitor.weak", "blue"),
    ],
)
def test_contacts_look_as_the_handbook_has_them(kind, words):
    """FAA-H-8083-32B p4-39 and 4-40; blue is excessive arcing (one airframe manual, 2003)."""
    engine = Engine(FOUR, 7)
    assert points_look(engine, "left").words == ("grey and frosted",)
    put_fault(engine, kind, "left")
    assert points_look(engine, "left").words[0] == words


def test_the_readme_lists_every_kind_observation_and_repair():
    for name in (*KINDS, *OBSERVATIONS, *REPAIRS):
        assert f"`{name}`" in README, name
    assert f"{len(KINDS)} kinds" in README
