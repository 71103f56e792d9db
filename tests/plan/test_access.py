"""What it costs to reach a state of the aircraft: paid once, remembered, and paid again on the way back."""

from __future__ import annotations

from itertools import permutations

import pytest

from diagnose import loaded
from diagnose.plan import access
from diagnose.rulebase.records import ACCESS, Check, Remedy

BASE = loaded.rulebase()
MINUTES = {name: entry.minutes.value for name, entry in BASE.access.items()}


def walked(needed, gained):
    """Return (minutes, states) by going through the states one at a time, written apart from the program."""
    states, total = set(gained), 0.0
    if any(name.endswith(("_off", "_out")) for name in needed) and "engine_running" not in needed:
        states.discard("engine_running")
    for name in needed:
        if name not in states:
            total += MINUTES[name]
            states = {s for s in states if s not in BASE.access[name].ends} | {name}
    return total, states


def test_paid_once_and_remembered():
    """The second check behind the same cowling pays nothing for it."""
    gained = access.after(BASE, ("cowl_off",), ())
    assert access.minutes_to_reach(BASE, ("cowl_off",), ()) == MINUTES["cowl_off"]
    assert access.minutes_to_reach(BASE, ("cowl_off",), gained) == 0
    assert access.minutes_to_reach(BASE, ("cowl_off", "engine_running"), gained) == MINUTES["engine_running"]


@pytest.mark.parametrize(("there", "back"), [("engine_hot", "engine_cold"), ("engine_cold", "engine_hot"), ("plugs_out", "engine_running")])
def test_going_back_costs_again(there, back):
    """Cold, hot and cold again: cooling down and warming up are each paid every time (minutes: estimates of the rule base)."""
    states: frozenset[str] = frozenset()
    total = 0.0
    for name in (there, back, there, back):
        total += access.minutes_to_reach(BASE, (name,), states)
        states = access.after(BASE, (name,), states)
    assert total == 2 * (MINUTES[there] + MINUTES[back])
    assert back in states
    assert there not in states


def test_running_ends_a_cold_engine_and_cooling_ends_a_running_one():
    """States that cannot be true together never stand together."""
    assert "engine_cold" not in access.after(BASE, ("engine_running",), {"engine_cold"})
    assert "engine_running" not in access.after(BASE, ("engine_cold",), {"engine_running", "cowl_off"})
    assert "cowl_off" in access.after(BASE, ("engine_cold",), {"engine_running", "cowl_off"})
    assert MINUTES["engine_cold"] > MINUTES["engine_hot"], "an engine cools more slowly than it warms (common practice, no source)"


@pytest.mark.parametrize("needed", [p for n in (1, 2, 3) for p in permutations(ACCESS, n)][::7])
def test_minutes_and_states_of_any_walk(needed):
    """Against a walk written apart, from nothing and from every single state."""
    for gained in [(), *((name,) for name in ACCESS)]:
        minutes, states = walked(needed, gained)
        assert access.minutes_to_reach(BASE, needed, gained) == pytest.approx(minutes)
        assert access.after(BASE, needed, gained) == states


def test_a_state_ended_on_the_way_is_paid_again():
    """Taking plugs out lets the engine go cold: a hot engine wanted after that is warmed up anew."""
    gained = frozenset({"engine_hot"})
    assert access.minutes_to_reach(BASE, ("plugs_out", "engine_hot"), gained) == MINUTES["plugs_out"] + MINUTES["engine_hot"]


def test_every_step_of_the_rule_base_can_hold_what_it_needs():
    """No check or remedy needs two states of which the later ends the earlier, but that a run can start from cold."""
    steps: list[Check | Remedy] = [*BASE.checks.values(), *BASE.remedies.values()]
    for entry in steps:
        held = access.after(BASE, entry.access, ())
        begun = {"engine_cold"} if entry.access[-2:] == ("engine_cold", "engine_running") else set()
        assert set(entry.access) - begun <= held, entry.id


def test_a_run_from_cold_waits_for_the_next_one():
    """What needs a cold engine and runs it ends warm: the next costs the wait again (common practice, no source)."""
    needed = ("engine_cold", "engine_running")
    warm = access.after(BASE, needed, {"engine_cold", "cowl_off"})
    assert "engine_cold" not in warm
    assert access.minutes_to_reach(BASE, needed, {"engine_cold", "cowl_off"}) == MINUTES["engine_running"]
    assert access.minutes_to_reach(BASE, needed, warm) == MINUTES["engine_cold"] + MINUTES["engine_running"]


def test_hands_on_the_engine_stop_it():
    """Common practice, no source: a plug is not pulled from a running engine, cowl off before or not; a run keeps it running."""
    for gained in ({"engine_running"}, {"engine_running", "cowl_off"}):
        assert access.after(BASE, ("cowl_off",), gained) == {"cowl_off"}
    assert access.after(BASE, ("cowl_off", "engine_running"), {"engine_running"}) == {"cowl_off", "engine_running"}
    assert access.after(BASE, (), {"engine_running"}) == {"engine_running"}
    look, run = (BASE.checks[c] for c in ("look_at_plug", "mag_check"))
    assert "engine_running" not in access.after(BASE, look.access, {"engine_running", "cowl_off"})
    again = access.minutes_to_reach(BASE, run.access, access.after(BASE, look.access, {"engine_running"}))
    assert again == sum(BASE.access[a].minutes.value for a in run.access)
