"""How common a cause is at one place of an engine that is looked at: three bands a mechanic would agree to.

Estimates, no source: what is met every week or month (common), now and then (uncommon), once in years (rare). The bands
overlap, so that only a number of the wrong order is caught.
"""

from __future__ import annotations

import pytest

from diagnose import loaded

BANDS = {"common": (0.0012, 0.03), "uncommon": (0.0002, 0.0028), "rare": (0.00001, 0.0007)}
COMMON = """
plug_lead_fouled bottom_plugs_lead_fouled mixture_rich_run mixture_rich_idle check_done_wrong tachometer_wrong impulse_not_engaging
impulse_worn_slipping vibrator_dead vibrator_weak vibrator_feed_bad plug_set_worn plugs_flooded overprimed timing_late probe_wrong
oil_in_low_cylinders engine_too_cold distributor_moist ignition_wet dual_timing_late
"""
UNCOMMON = """
plug_soot_fouled plug_oil_fouled plug_gap_wide plug_electrodes_worn plug_resistor_high plug_nose_cracked plug_well_flashover plugs_iced
heat_range_cold heat_range_hot lead_scuffed lead_terminal_dirty harness_aged p_lead_open p_lead_grounded p_lead_intermittent
switch_off_only switch_not_grounding switch_grounds_in_start points_pitted points_dirty points_oily points_gap_wide follower_worn
capacitor_open capacitor_leaky coil_weak coil_opens_hot coil_open e_gap_off distributor_tracked timing_early magnetos_out_of_step
magneto_loose both_timing_late mount_worn propeller_off mixture_lean injector_part_clogged induction_leak carburettor_fault carburettor_ice
fuel_starved fuel_bad air_restricted primer_leaking valve_sticking valve_clearance_wrong valve_leaking rings_worn battery_weak
starter_circuit_bad retard_points_stuck_closed retard_points_open retard_points_off_angle engine_compression_low baffle_bad fuel_not_on
distributor_thin_air magneto_pressure_lost points_spring_weak magneto_oil_seal impulse_stuck_retarded exhaust_restricted fuel_vapour
dual_timing_early dual_points_out_of_step
"""
RARE = """
plug_thread_compound plug_wrong_type plug_overheated plug_thread_damaged piston_shedding_metal cylinder_leads_both lead_carbon_track
lead_to_lead_leak leads_crossed lead_set_out_of_order lead_burnt_at_block lead_open lead_spring_bad lead_loose plug_glazed plug_gap_narrow
plug_damaged_inside plug_loose_gasket cylinder_plugs_both points_spring_strong capacitor_shorted capacitor_feedthrough_open
magneto_gear_teeth magneto_gear_loose distributor_meshed_wrong magneto_wrong magneto_stroke_wrong accessory_gear_failed p_leads_both_open
p_leads_crossed p_leads_both_grounded p_lead_filter_shorted hot_shutdown_glow dual_stroke_wrong dual_wrong impulse_breaking_up
dual_impulse_breaking_up rings_broken fuel_wrong_grade cam_lobe_worn distributor_tower_tracked breaker_cam_bad magneto_drive_cushions
retard_left_in_circuit dual_magnet_weak push_rod_bent compression_gone rings_not_seated
"""
LISTED = [(name, band) for band, names in (("common", COMMON), ("uncommon", UNCOMMON), ("rare", RARE)) for name in names.split()]


@pytest.mark.parametrize(("name", "band"), LISTED)
def test_how_common(name, band):
    """The prior at the place where the cause is most at home stands in its band."""
    cause = loaded.rulebase().causes[name]
    numbers = [cause.prior] if cause.prior is not None else list(cause.prior_by.values())
    least, most = BANDS[band]
    assert least <= max(n.value for n in numbers) <= most


def test_lower_plugs_foul_first():
    """h32b p4-34, trade-fouling: lead, oil and soot gather in the lower plugs of an opposed engine."""
    for name in ("plug_lead_fouled", "plug_oil_fouled", "plug_soot_fouled", "plug_bridged"):
        by = loaded.rulebase().causes[name].prior_by
        assert by["bottom"].value > 1.3 * by["top"].value, name
