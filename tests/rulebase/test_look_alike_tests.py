"""Look-alike causes, and the test that a practitioner would tell them apart by, read off the rules themselves.

Each row names a pair, the result that decides and which of the two it speaks for. The chance of that result
with one cause alone is worked out here from the YAML records, not from the network, and the network must agree.
"""

from __future__ import annotations

import pytest

from diagnose import loaded

# one, other, the result that is likelier under `one`, why
PAIRS = [
    ("plug_lead_fouled@3-bottom", "plug_soot_fouled@3-bottom", "plug_lead.static@3-bottom", "grey beads, FAA-H-8083-32B p4-34"),
    ("plug_soot_fouled@3-bottom", "plug_oil_fouled@3-bottom", "plug_soot.static@3-bottom", "dry black, FAA-H-8083-32B p4-33"),
    ("plug_oil_fouled@3-bottom", "plug_soot_fouled@3-bottom", "plug_oil.static@3-bottom", "wet and shiny, FAA-H-8083-32B p4-34"),
    ("plug_lead_fouled@3-bottom", "lead_scuffed@3-bottom", "plug_lead.static@3-bottom", "a lead leaves the plug clean"),
    (
        "lead_scuffed@3-bottom",
        "plug_lead_fouled@3-bottom",
        "lead_leakage.static@3-bottom",
        "high-voltage lead test, common practice, no source",
    ),
    (
        "lead_open@3-bottom",
        "plug_resistor_high@3-bottom",
        "lead_open.static@3-bottom",
        "continuity of the lead, common practice, no source",
    ),
    (
        "plug_resistor_high@3-bottom",
        "lead_open@3-bottom",
        "plug_resistance_high.static@3-bottom",
        "ohmmeter on the plug, common practice, no source",
    ),
    ("plug_gap_wide@3-bottom", "plug_nose_cracked@3-bottom", "plug_gap_wide.static@3-bottom", "gap gauge, common practice, no source"),
    ("p_lead_open@left", "switch_not_grounding@left", "p_lead_damage.static@left", "the lead itself is sound when the switch is at fault"),
    ("switch_not_grounding@left", "p_lead_open@left", "switch_worn.static@switch", "NTSB SA-080"),
    ("p_lead_grounded@left", "coil_open@left", "fires_p_lead_off.runup@left", "fires once the P-lead is off, NTSB NYC01LA156"),
    (
        "switch_grounds_in_start@switch",
        "impulse_not_engaging@left",
        "fires_on_release.start@engine",
        "fires as the key springs back, common practice, no source",
    ),
    (
        "impulse_not_engaging@left",
        "switch_grounds_in_start@switch",
        "impulse_silent.static@left",
        "no click when turned by hand, FAA-H-8083-32B p4-20",
    ),
    ("timing_late@left", "coil_weak@left", "timing_late.static@left", "timing light, FAA-H-8083-32B p4-30"),
    ("capacitor_open@left", "coil_weak@left", "points_burnt.static@left", "coarse frosted points, FAA-H-8083-32B p4-40"),
    ("compression_gone@3", "cylinder_plugs_both@3", "compression_low.static@3", "differential compression, FAA AC 43.13-1B 8-14"),
    ("injector_clogged@3", "compression_gone@3", "nozzle_flow_low.static@3", "nozzles compared, common practice, no source"),
    ("switch_off_only@switch", "p_lead_open@left", "switch_worn.static@switch", "FAA AD 76-07-12"),
    ("switch_off_only@switch", "p_lead_open@left", "fires_past_off.idle@engine", "turned on past OFF to the stop, FAA AD 76-07-12"),
    (
        "p_lead_grounded@left",
        "p_lead_filter_shorted@left",
        "p_lead_damage.static@left",
        "the filter's lead is sound to look at, from memory",
    ),
    (
        "capacitor_shorted@left",
        "p_lead_grounded@left",
        "primary_stays_grounded.static@left",
        "light on the bare stud, FAA-H-8083-32B p4-28",
    ),
    ("breaker_cam_bad@left", "follower_worn@left", "cam_bad.static@left", "FAA AC 43.13-1B 8-19j"),
    ("magneto_drive_cushions@left", "magneto_loose@left", "drive_cushion_bad.static@left", "common practice, no source"),
    ("magneto_loose@left", "timing_late@left", "magneto_loose.static@left", "tried by hand on its mount, common practice, no source"),
    (
        "accessory_gear_failed@engine",
        "p_leads_both_grounded@engine",
        "points_stand_still.static@left",
        "the drive is gone, logic of the circuit",
    ),
    ("p_leads_both_grounded@engine", "accessory_gear_failed@engine", "p_lead_grounded.static@left", "NTSB NYC01LA156"),
    ("distributor_tower_tracked@3-bottom", "lead_open@3-bottom", "block_tracked.static@left", "FAA AC 43.13-1B 8-19a"),
    (
        "lead_set_out_of_order@left",
        "distributor_tracked@left",
        "lead_order_wrong.static@3-bottom",
        "traced from block to plug, FAA-H-8083-32B p4-33",
    ),
    (
        "plug_thread_damaged@3-bottom",
        "plug_loose_gasket@3-bottom",
        "plug_thread_bad.static@3-bottom",
        "runs down by the fingers or not, FAA-H-8083-32B p4-38",
    ),
    ("rings_broken@3", "rings_worn@3", "metal_in_filter.static@engine", "common practice, no source"),
    ("rings_worn@3", "rings_not_seated@3", "compression_low.static@3", "common practice, no source"),
    ("cam_lobe_worn@3", "valve_clearance_wrong@3", "valve_lift_low.static@3", "common practice, no source"),
    ("fuel_pump_weak@engine", "fuel_vent_blocked@engine", "boost_pump_cures.high_power@engine", "common practice, no source"),
    ("fuel_vent_blocked@engine", "fuel_pump_weak@engine", "other_tank_cures.high_power@engine", "common practice, no source"),
    ("fuel_not_on@engine", "fuel_starved@engine", "no_fuel_on.static@engine", "the tank is dipped, FAA-H-8083-32B p10-36"),
    ("carburettor_ice@engine", "carburettor_fault@engine", "cleared_by_heat.runup@engine", "common practice, no source"),
    ("carburettor_fault@engine", "carburettor_ice@engine", "carburettor_wet.static@engine", "common practice, no source"),
    ("battery_weak@engine", "starter_circuit_bad@engine", "battery_low.static@engine", "load test, common practice, no source"),
    ("engine_ground_bad@engine", "starter_circuit_bad@engine", "ground_strap_bad.static@engine", "common practice, no source"),
    ("manifold_gauge_wrong@engine", "tachometer_wrong@engine", "gauge_off_at_rest.static@engine", "common practice, no source"),
    ("pitch_or_governor_off@engine", "exhaust_restricted@engine", "pitch_not_low.static@engine", "common practice, no source"),
    ("impulse_magnetised@left", "impulse_not_engaging@left", "impulse_magnetised.static@left", "a paper clip, FAA-H-8083-32B fig 10-52"),
    ("engine_touches_airframe@engine", "mount_worn@engine", "rub_marks.static@engine", "common practice, no source"),
    ("mount_worn@engine", "propeller_off@engine", "engine_sagged.static@engine", "common practice, no source"),
    ("propeller_off@engine", "mount_worn@engine", "propeller_track_off.static@engine", "common practice, no source"),
    ("baffle_bad@3", "timing_early@left", "baffle_off.static@3", "one hot head, common practice, no source"),
    ("probe_wrong@3", "injector_part_clogged@3", "probe_follows.runup@3", "the oddness moves with the probe, common practice, no source"),
]


def alone(cause, node):
    """Return P(abnormal) of a located symptom with only `cause` there, from the records."""
    base, layout = loaded.rulebase(), loaded.network_of((), "opposed-4").layout
    ident, place = cause.split("@")
    what, where = node.split("@")
    name, regime = what.split(".")
    symptom = base.symptoms[name]
    leak = symptom.leak_in.get(regime, symptom.leak)
    normal = 1 - sum(n.at(layout.cylinders) for n in leak.values())
    for rule in base.causes[ident].effects:
        for spot in layout.related(place, rule.for_each) if rule.for_each else (place,):
            misses = 1.0
            for show in rule.shows:
                regimes = [show.ref.regime] if show.ref.regime else symptom.regimes if len(symptom.regimes) == 1 else rule.regimes
                if show.ref.symptom == name and regime in regimes and where in layout.related(spot, show.ref.relation):
                    misses *= 1 - sum(n.at(layout.cylinders) for n in show.levels.values())
            normal *= 1 - rule.strength.value * (1 - misses)
    return 1 - normal


def by_network(cause, node):
    """Return the same chance from the links of the network."""
    graph = loaded.network_of((), "opposed-4").graph
    normal = graph.nodes[node]["leak"][0]
    for effect in graph.successors(cause):
        if graph.has_edge(effect, node):
            normal *= 1 - graph.edges[cause, effect]["strength"] * (1 - graph.edges[effect, node]["levels"][0])
    return 1 - normal


@pytest.mark.parametrize(("one", "other", "node", "why"), PAIRS, ids=lambda v: v if "@" in v else "")
def test_the_deciding_test_speaks_for_the_right_one(one, other, node, why):
    """At least three times as likely under the one, some check gives it, and both ways of counting agree."""
    network = loaded.network_of((), "opposed-4")
    assert node in network.symptoms, why
    located = network.symptoms[node]
    assert any(r.symptom == located.symptom.id for c in network.base.checks.values() for r in c.gives)
    for cause in (one, other):
        assert alone(cause, node) == pytest.approx(by_network(cause, node), rel=1e-9), cause
    assert alone(one, node) >= 3 * alone(other, node), (why, alone(one, node), alone(other, node))
    assert alone(one, node) > 0.3


def test_an_impulse_coupling_and_a_vibrator_are_never_confused():
    """An engine has one or the other (FAA-H-8083-32B p4-20 to p4-22, from memory of the pages): so have its causes."""
    impulse, vibrator = (loaded.network_of((), name) for name in ("opposed-4", "opposed-6"))
    of = lambda network: {c.cause.id: c.place for c in network.causes.values()}
    assert of(impulse)["impulse_not_engaging"] == "left"
    assert of(vibrator)["vibrator_dead"] == "start"
    assert "vibrator_dead" not in of(impulse)
    assert "impulse_not_engaging" not in of(vibrator)


def test_a_dead_vibrator_is_silent_and_stuck_retard_points_are_not():
    """The ear decides between two causes of a hard start on the six-cylinder layout."""
    graph = loaded.network_of((), "opposed-6").graph
    chances = {}
    for cause in ("vibrator_dead@start", "retard_points_stuck_closed@left", "coil_weak@left"):
        normal = graph.nodes["vibrator_silent.static@start"]["leak"][0]
        for effect in graph.successors(cause):
            if graph.has_edge(effect, "vibrator_silent.static@start"):
                levels = graph.edges[effect, "vibrator_silent.static@start"]["levels"]
                normal *= 1 - graph.edges[cause, effect]["strength"] * (1 - levels[0])
        chances[cause] = 1 - normal
    assert chances["vibrator_dead@start"] >= 3 * chances["retard_points_stuck_closed@left"]
    assert chances["vibrator_dead@start"] >= 3 * chances["coil_weak@left"]
