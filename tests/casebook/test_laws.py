"""Laws of how the circuit works, which every cause of a kind must keep whatever its numbers are.

One silent plug of a four shakes the engine on that magneto, costs rpm at once, leaves that exhaust and head cold, and lets
the other plug burn slowly on BOTH: these go together. So do the signs of a dead, a late, a weak magneto, of sparks gone
astray and of a dead cylinder. Factors are estimates of how far apart such signs may stand; how the circuit works, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.trouble.network import build

SILENT = (
    "plug_lead_fouled",
    "plug_soot_fouled",
    "plug_oil_fouled",
    "plug_bridged",
    "plug_thread_compound",
    "plug_nose_cracked",
    "plug_damaged_inside",
    "plug_glazed",
    "plug_resistor_high",
    "plug_electrodes_worn",
    "plug_gap_wide",
    "plug_gap_narrow",
    "plug_wrong_type",
    "plug_overheated",
    "plug_loose_gasket",
    "plug_well_flashover",
    "lead_open",
    "lead_carbon_track",
    "lead_loose",
    "lead_spring_bad",
    "lead_burnt_at_block",
    "lead_terminal_dirty",
    "lead_scuffed",
    "lead_condensation",
    "distributor_tower_tracked",
)
REGIMES = ("runup", "idle", "cold", "cruise_lean", "high_power", "hot")
DEAD = ("capacitor_shorted", "p_lead_grounded", "p_lead_filter_shorted")
LATE = ("timing_late", "impulse_stuck_retarded")
WEAK = (
    "points_pitted",
    "points_oily",
    "points_spring_weak",
    "points_spring_strong",
    "points_gap_wide",
    "capacitor_open",
    "capacitor_leaky",
    "coil_weak",
    "coil_opens_hot",
    "e_gap_off",
    "magnet_weak",
    "distributor_finger_burnt",
    "magneto_bearing_worn",
    "magneto_oil_seal",
    "points_dirty",
    "distributor_brush_bad",
    "magneto_vent_blocked",
    "breaker_cam_bad",
)
ASTRAY = ("distributor_tracked", "distributor_bushing_worn", "magneto_gear_teeth", "magneto_gear_loose", "distributor_meshed_wrong")
DEAD_CYLINDER = ("injector_clogged", "compression_gone", "push_rod_bent", "cylinder_plugs_both", "cylinder_leads_both")


def chance(cause, node, least=1, network=None):
    """Return P(a located symptom at grade `least` or more) on opposed-4 with just this cause there, leak left out."""
    graph = (network or loaded.network_of((), "opposed-4")).graph
    none = 1.0
    for effect in graph.successors(cause):
        if graph.has_edge(effect, node):
            none *= 1 - graph.edges[cause, effect]["strength"] * sum(graph.edges[effect, node]["levels"][least:])
    return 1 - none


def alike(one, other, factor):
    """Return whether two chances stand within a factor of each other (both nearly nothing: too rare to tell)."""
    return max(one, other) < 0.04 or (min(one, other) > 0 and max(one, other) <= factor * min(one, other))


@pytest.mark.parametrize("cause", SILENT)
def test_a_silent_circuit_shows_as_one(cause):
    """Roughness, drop, pace, exhaust and head of one circuit go together, in every regime; BOTH hardly knows."""
    located = f"{cause}@3-bottom"
    for regime in REGIMES:
        exhaust = "cold_cylinder" if regime == "cold" else "egt_low"
        miss = chance(located, f"{exhaust}.{regime}@3-bottom")
        for node in (f"rough.{regime}@left", f"drop.{regime}@left", f"drop_fast.{regime}@left"):
            assert alike(miss, chance(located, node), 1.6), (node, miss)
        if regime in ("runup", "idle"):
            assert alike(miss, chance(located, f"cold_cylinder.{regime}@3-bottom"), 1.5), regime
        if regime in ("runup", "cruise_lean", "high_power", "hot"):
            slow = chance(located, f"egt_high.{regime}@3")
            assert miss < 0.04 or 0.35 * miss <= slow <= 0.8 * miss, (regime, miss, slow)
        assert chance(located, f"drop.{regime}@left", least=2) <= 0.06, regime
        assert chance(located, f"rough.{regime}@right") <= 0.1, regime


@pytest.mark.parametrize("cause", DEAD)
def test_a_dead_magneto_dies_and_is_not_missed(cause):
    """The engine dies on it, and switching it off makes no drop on the other side, in every regime that has both."""
    located = f"{cause}@left"
    for regime in ("runup", "idle", "cruise_lean"):
        dies = chance(located, f"drop.{regime}@left", least=3)
        assert dies > 0.8
        assert alike(dies, chance(located, f"no_drop.{regime}@right"), 1.25), regime
        assert chance(located, f"no_drop.{regime}@left") < 0.05
    for regime in ("cold", "high_power", "hot", "wet", "altitude"):
        assert chance(located, f"drop.{regime}@left", least=3) > 0.8


@pytest.mark.parametrize("cause", LATE)
def test_a_late_magneto_is_slow_and_smooth(cause):
    """Its drop comes slowly, is over the limit and no larger, and it does not shake."""
    located = f"{cause}@left"
    for regime in ("runup", "cruise_lean", "high_power"):
        drop = chance(located, f"drop.{regime}@left")
        assert alike(drop, chance(located, f"drop_slow.{regime}@left"), 1.4), regime
        assert chance(located, f"drop.{regime}@left", least=2) < 0.1
        assert chance(located, f"rough.{regime}@left") < 0.1
        assert 0.15 * drop <= chance(located, f"egt_high.{regime}@3-bottom") <= 0.75 * drop
        assert chance(located, f"drop.{regime}@right") < 0.1


@pytest.mark.parametrize("cause", WEAK)
def test_a_weak_magneto_misses_and_seldom_dies(cause):
    """Roughness and drop go together, part of the drops come at once, few are larger than two cylinders explain."""
    located = f"{cause}@left"
    for regime in ("runup", "idle", "cruise_lean", "high_power", "hot"):
        rough, drop = (chance(located, f"{s}.{regime}@left") for s in ("rough", "drop"))
        if rough < 0.1:
            continue
        assert 0.6 * rough <= drop <= 2.8 * rough, (regime, rough, drop)
        fast = chance(located, f"drop_fast.{regime}@left")
        assert 0.25 * rough <= fast <= rough, (regime, rough, fast)
        assert chance(located, f"drop.{regime}@left", least=2) <= 0.45 * drop, regime


@pytest.mark.parametrize("cause", [*DEAD, "coil_open", "coil_weak", "magnet_weak", "distributor_moist"])
def test_only_a_magneto_with_a_start_aid_hinders_the_start(cause):
    """Alone with its start aid it is the one to start on; beside another one it matters little; without one, not at all."""
    base = loaded.rulebase()
    sound = base.layouts["opposed-4"]
    both = build(base, replace(sound, start_aid={"left": "impulse", "right": "impulse"}))
    alone, shared = (chance(f"{cause}@left", "hard_start.start@engine", network=n) for n in (loaded.network_of((), "opposed-4"), both))
    assert alone > 0.5
    assert 0 < shared < 0.4 * alone
    assert chance(f"{cause}@right", "hard_start.start@engine") == 0


@pytest.mark.parametrize("cause", ASTRAY)
def test_sparks_gone_astray_shake_both(cause):
    """BOTH is about as rough as the bad side, better without it, and the intake hears of it; it seldom dies of that alone."""
    located = f"{cause}@left"
    for regime in ("runup", "cruise_lean", "high_power"):
        both = chance(located, f"rough.{regime}@engine")
        assert 0.6 <= chance(located, f"rough.{regime}@left") / both <= 1.7, regime
        assert 0.5 <= chance(located, f"rough_both_better_single.{regime}@left") / both <= 1.2, regime
        assert 0.4 <= chance(located, f"backfire.{regime}@engine") / both <= 1.1, regime


@pytest.mark.parametrize("cause", DEAD_CYLINDER)
def test_a_dead_cylinder_is_dead_on_each_magneto(cause):
    """BOTH, left and right are rough alike, cylinder and circuits cold alike; the drops tell nothing, manifold pressure does."""
    located = f"{cause}@3"
    for regime in ("runup", "idle"):
        both = chance(located, f"rough.{regime}@engine")
        cold = chance(located, f"cold_cylinder.{regime}@3")
        for side in ("left", "right"):
            assert alike(both, chance(located, f"rough.{regime}@{side}"), 1.25)
            assert chance(located, f"drop.{regime}@{side}") < 0.3
        for circuit in ("3-top", "3-bottom"):
            assert alike(cold, chance(located, f"cold_cylinder.{regime}@{circuit}"), 1.25)
            assert alike(cold, chance(located, f"egt_low.{regime}@{circuit}"), 1.4)
        assert alike(cold, chance(located, f"egt_low.{regime}@3"), 1.3)
        assert alike(both, cold, 1.35)
    assert 0.35 <= chance(located, "mp_high.runup@engine") / chance(located, "rough.runup@engine") <= 0.9
