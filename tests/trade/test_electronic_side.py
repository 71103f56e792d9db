"""An electronic side: its small drop accuses no magneto once somebody said what fires it, and its inside is judged no further."""

from __future__ import annotations

from diagnose import loaded

BASE = loaded.rulebase()


def shares(complaint, results):
    """Return cause -> responsible share on a four with separate magnetos."""
    layout = BASE.layouts["opposed-4"]
    trouble = loaded.trouble_from(BASE, layout, [complaint], results, frozenset(), {})
    return {r.id: r.share for r in loaded.assessed(loaded.network_of((), layout.id), trouble).finding.causes}


def test_a_small_drop_of_its_own_is_not_read_as_a_live_magneto():
    """Common practice, no source: not said, the live magneto leads as ever; said, it falls behind, and stays on the list."""
    silent, said = shares("no_drop@right=yes", []), shares("no_drop@right=yes", ["electronic_side@right=yes"])
    assert silent["p_lead_open@left"] > silent.get("electronic_drop_small@right", 0)
    assert said["electronic_drop_small@right"] > 3 * said["p_lead_open@left"]
    assert said["p_lead_open@left"] > 0.02  # the OFF check is still to be made


def test_a_side_without_a_magneto_has_no_points_to_suspect():
    said = shares("drop@right=excessive", ["electronic_side@right=yes", "electronic_side@left=no"])
    assert said["electronic_unit_bad@right"] > 10 * said["points_pitted@right"]
    assert said.get("electronic_unit_bad@left", 0) < 0.001


def test_low_feed_names_the_unit():
    said = shares("drop@right=dies", ["electronic_side@right=yes", "electronic_feed_low@right=yes"])
    assert max(said, key=lambda c: said[c]) == "electronic_unit_bad@right"
