"""The families of trouble a practitioner would look for, and what every cause must bring with it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from diagnose import loaded
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.records import Check, Remedy

BASE = loaded.rulebase()

# What somebody who worked on these engines expects to find, by where it sits (the list of the trade: FAA-H-8083-32B
# chapter 4, AC 43.13-1B 8-16 to 8-19, fig 10-52; what neither names: common practice, no source), and its causes here.
EXPECTED = {
    "plug: lead": ["plug_lead_fouled", "bottom_plugs_lead_fouled"],
    "plug: soot": ["plug_soot_fouled"],
    "plug: oil": ["plug_oil_fouled", "oil_in_low_cylinders"],
    "plug: glaze": ["plug_glazed"],
    "plug: bridged": ["plug_bridged"],
    "plug: insulator nose": ["plug_nose_cracked"],
    "plug: insulator well": ["plug_well_flashover"],
    "plug: resistor": ["plug_resistor_high"],
    "plug: wear": ["plug_electrodes_worn", "plug_set_worn"],
    "plug: gap wide, narrow": ["plug_gap_wide", "plug_gap_narrow"],
    "plug: heat range": ["heat_range_cold", "heat_range_hot", "plug_wrong_type"],
    "plug: gasket, loose, thread": ["plug_loose_gasket", "plug_thread_damaged", "plug_thread_compound"],
    "plug: iced, flooded": ["plugs_iced", "plugs_flooded"],
    "lead: insulation": ["lead_scuffed", "lead_carbon_track", "lead_condensation", "lead_to_lead_leak", "harness_aged"],
    "lead: open, shield": ["lead_open", "lead_shield_damaged"],
    "lead: terminal, nut": ["lead_terminal_dirty", "lead_spring_bad", "lead_loose", "lead_burnt_at_block"],
    "lead: crossed": ["leads_crossed", "lead_set_out_of_order"],
    "magneto: points": [
        "points_pitted",
        "points_dirty",
        "points_oily",
        "points_spring_weak",
        "points_gap_wide",
        "follower_worn",
        "breaker_cam_bad",
    ],
    "magneto: capacitor": ["capacitor_open", "capacitor_leaky", "capacitor_shorted", "capacitor_feedthrough_open"],
    "magneto: coil": ["coil_weak", "coil_opens_hot", "coil_open", "primary_wire_loose"],
    "magneto: distributor": [
        "distributor_tracked",
        "distributor_tower_tracked",
        "distributor_moist",
        "distributor_brush_bad",
        "distributor_finger_burnt",
        "distributor_bushing_worn",
        "distributor_thin_air",
    ],
    "magneto: gears, shaft, oil": [
        "magneto_gear_teeth",
        "magneto_gear_loose",
        "distributor_meshed_wrong",
        "magneto_bearing_worn",
        "magneto_oil_seal",
    ],
    "magneto: magnet, wrong unit": ["magnet_weak", "magneto_wrong"],
    "timing": ["e_gap_off", "timing_late", "timing_early", "magneto_loose", "magnetos_out_of_step", "magneto_stroke_wrong"],
    "start aid: coupling": [
        "impulse_not_engaging",
        "impulse_magnetised",
        "impulse_stuck_retarded",
        "impulse_worn_slipping",
        "impulse_breaking_up",
    ],
    "start aid: vibrator": ["vibrator_dead", "vibrator_weak", "vibrator_feed_bad", "retard_points_stuck_closed", "retard_points_open"],
    "P-lead": ["p_lead_open", "p_lead_grounded", "p_lead_intermittent", "p_lead_filter_shorted", "p_leads_crossed"],
    "switch": ["switch_off_only", "switch_not_grounding", "switch_grounding_wrong", "switch_grounds_in_start"],
    "shared": [
        "shared_unit_failed",
        "accessory_gear_failed",
        "p_leads_both_grounded",
        "ignition_wet",
        "both_magnetos_worn",
        "dual_impulse_stuck",
    ],
    "not ignition: mixture, fuel": [
        "mixture_rich_idle",
        "mixture_rich_run",
        "mixture_lean",
        "injector_part_clogged",
        "injector_clogged",
        "primer_leaking",
        "carburettor_fault",
        "carburettor_ice",
        "fuel_starved",
        "fuel_pump_weak",
        "fuel_vent_blocked",
        "fuel_bad",
        "fuel_wrong_grade",
        "fuel_not_on",
    ],
    "not ignition: induction": ["induction_leak", "intake_joint_leaking", "air_restricted"],
    "not ignition: cylinder": [
        "valve_sticking",
        "valve_leaking",
        "valve_clearance_wrong",
        "push_rod_bent",
        "cam_lobe_worn",
        "rings_worn",
        "rings_broken",
        "rings_not_seated",
        "compression_gone",
        "engine_compression_low",
    ],
    "not ignition: shakes": ["mount_worn", "engine_touches_airframe", "propeller_off", "pitch_or_governor_off"],
    "bad reading": ["tachometer_wrong", "tach_on_p_lead", "probe_wrong", "manifold_gauge_wrong", "check_done_wrong"],
}


@pytest.mark.parametrize("what", EXPECTED)
def test_the_trouble_is_there(what):
    assert [c for c in EXPECTED[what] if c not in BASE.causes] == []


def links(cause):
    """Return the (symptom, regime, relation) a cause reaches, read off its record."""
    found = set()
    for effect in cause.effects:
        for show in effect.shows:
            symptom = BASE.symptoms[show.ref.symptom]
            regimes = [show.ref.regime] if show.ref.regime else symptom.regimes if len(symptom.regimes) == 1 else effect.regimes
            found |= {(symptom.id, r, show.ref.relation) for r in regimes if r in symptom.regimes}
    return found


@pytest.mark.parametrize("ident", BASE.causes)
def test_every_cause_is_complete(ident):
    """Four links to at least four things seen, two conditions, something a check gives, a remedy, a note, a source."""
    cause = BASE.causes[ident]
    reached = links(cause)
    seen = {symptom for symptom, _, _ in reached}
    assert len(reached) >= 4
    assert len(seen) >= 4
    assert len({regime for _, regime, _ in reached}) >= 2
    given = {r.symptom for c in BASE.checks.values() for r in c.gives}
    assert seen & given & {s.id for s in BASE.symptoms.values() if s.kind == "test"}
    assert cause.remedies
    assert len(cause.note) > 40
    assert cause.source


WRITTEN = {
    "causes": {"label", "family", "jasc", "at", "remedies", "note", "source", "effects"},
    "symptoms": {"label", "ask", "kind", "at", "grades", "leak", "some", "source"},
    "checks": {"label", "at", "gives", "minutes", "access", "people", "tools", "cautions", "how", "source"},
    "remedies": {"label", "at", "minutes", "access", "people", "tools", "parts", "cautions", "how", "source"},
}


@pytest.mark.parametrize(("section", "ident"), [(s, i) for s in WRITTEN for i in getattr(BASE, s)])
def test_every_entry_is_written_out(section, ident):
    """What could be left out is written all the same, empty where there is nothing: nobody must guess whether it was forgotten."""
    assert WRITTEN[section] - set(getattr(BASE, section)[ident].marks) == set()


LAYOUT_KEYS = {"note", "source", "numbers", "pressurised", "seen_right"}  # those the loader does not ask for


@pytest.mark.parametrize("path", sorted((Path(shipped("rulebase")) / "layouts").glob("*.yaml")), ids=lambda p: p.stem)
def test_every_layout_is_written_out(path):
    """As above; and a layout stands in the file of its name."""
    written = yaml.safe_load(path.read_text(encoding="utf-8"))["layout"]
    assert LAYOUT_KEYS - set(written) == set()
    assert written["id"] == path.stem


def test_a_missing_jasc_code_says_why():
    """Codes are from memory (ATA/JASC table of 2008); where none was read the reason stands beside the null."""
    bare = [
        f"{path.name}: {line.strip()}"
        for path in sorted(Path(shipped("rulebase")).glob("*.yaml"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.match(r"\s+jasc: null\s*$", line)
    ]
    assert bare == []


# Read on the ground nowhere: what only height shows, and what happened while the propeller was moved.
NOT_ON_THE_GROUND = {
    ("rough", "altitude"),
    ("drop", "altitude"),
    ("backfire", "altitude"),
    ("power_low", "altitude"),
    ("fires_when_turned", "static"),
}


def test_every_squawk_of_the_ground_can_be_looked_at_again():
    """A repair is proved under the conditions of the complaint, so some check must give each of them."""
    given = {(r.symptom, r.regime or BASE.symptoms[r.symptom].default) for c in BASE.checks.values() for r in c.gives}
    squawks = {(s.id, regime) for s in BASE.symptoms.values() if s.kind == "squawk" for regime in s.regimes}
    assert squawks - given == NOT_ON_THE_GROUND


def test_two_people_wherever_the_propeller_is_turned():
    """FAA maintenance handbook - General p11-14; one plug out of every cylinder first when timing, FAA-H-8083-32B p4-27."""
    steps: list[Check | Remedy] = [*BASE.checks.values(), *BASE.remedies.values()]
    for entry in steps:
        if {"turn_by_hand", "turn_lead_off", "timing_prop", "compression_air"} & set(entry.cautions):
            assert entry.people >= 2, entry.id
        if {"turn_lead_off", "timing_prop"} & set(entry.cautions):
            assert "plugs_out" in entry.access, entry.id
        if {"turn_lead_off", "p_lead_off_live"} & set(entry.cautions):
            assert "prop_live" in entry.cautions, entry.id
