"""What is seen and heard moves belief the way the trade takes it."""

from __future__ import annotations

from diagnose import loaded

BASE = loaded.rulebase()


def shares(layout, complaint, results):
    """Return cause -> responsible share."""
    trouble = loaded.trouble_from(BASE, BASE.layouts[layout], complaint, results, frozenset(), {})
    return {r.id: r.share for r in loaded.assessed(loaded.network_of((), layout), trouble).finding.causes}


def test_a_spark_while_it_turns_speaks_for_fuel_and_none_for_the_start_aid():
    """FAA-H-8083-32B p4-33: is there a spark at all parts the two."""
    none = shares("opposed-4-vibrator", ["no_start@engine=yes"], ["no_spark_cranking@engine=none"])
    fat = shares("opposed-4-vibrator", ["no_start@engine=yes"], ["no_spark_cranking@engine=no"])
    assert none["vibrator_dead@start"] > 5 * none["plugs_flooded@engine"]
    assert fat["plugs_flooded@engine"] > 3 * fat["vibrator_dead@start"]


def test_no_spark_after_it_stopped_names_what_both_sides_share():
    """As both P-leads chafed at one place did (the regulator's report NYC01LA156)."""
    found = shares("opposed-4", ["engine_stops.high_power@engine=yes"], ["no_spark_cranking@engine=none"])
    assert max(found, key=lambda c: found[c]) == "p_leads_both_grounded@engine"


def test_no_compression_names_that_cylinder():
    """Common practice, no source: a blade without resistance is a valve held open or a hole."""
    found = shares("opposed-4", ["rough.high_power@engine=yes"], ["compression_none@2=yes"])
    leaders = sorted(found, key=lambda c: -found[c])[:3]
    assert all(c.endswith("@2") for c in leaders)
    assert {"compression_gone@2", "valve_sticking@2"} <= set(leaders)


def test_gauges_all_as_usual_take_from_the_fuel_supply():
    before = shares("opposed-4", ["power_low.high_power@engine=yes"], [])
    after = shares("opposed-4", ["power_low.high_power@engine=yes"], ["gauge_out_of_range@engine=no"])
    assert after["fuel_starved@engine"] < 0.6 * before["fuel_starved@engine"]
    assert after["air_restricted@engine"] > before["air_restricted@engine"]


def test_the_side_with_which_the_noise_stops_makes_it():
    found = shares("opposed-4", ["radio_noise@engine=yes"], ["noise_stops_without@left=yes", "noise_stops_without@right=no"])
    assert found["p_lead_shield_off@left"] > 5 * found["p_lead_shield_off@right"]
