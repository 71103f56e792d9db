"""Look-alikes: some check's result is at least three times as likely under the one as under the other."""

from __future__ import annotations

import pytest

from diagnose import session

PAIRS = [
    ("plug_lead_fouled@3-bottom", "plug_soot_fouled@3-bottom"),
    ("plug_lead_fouled@3-bottom", "lead_scuffed@3-bottom"),
    ("plug_soot_fouled@3-bottom", "plug_oil_fouled@3-bottom"),
    ("plug_gap_wide@3-bottom", "lead_scuffed@3-bottom"),
    ("plug_resistor_high@3-bottom", "lead_open@3-bottom"),
    ("lead_terminal_dirty@3-bottom", "plug_well_flashover@3-bottom"),
    ("capacitor_open@left", "coil_weak@left"),
    ("coil_open@left", "p_lead_grounded@left"),
    ("p_lead_open@left", "switch_off_only@switch"),
    ("p_lead_open@left", "capacitor_feedthrough_open@left"),
    ("timing_late@left", "impulse_stuck_retarded@left"),
    ("impulse_not_engaging@left", "switch_grounds_in_start@switch"),
    ("injector_part_clogged@3", "valve_sticking@3"),
    ("mixture_rich_run@engine", "timing_late@left"),
    ("mount_worn@engine", "injector_clogged@3"),
    ("plug_oil_fouled@3-bottom", "rings_worn@3"),
    ("compression_gone@3", "cylinder_plugs_both@3"),
]


def shows(network, cause, node):
    """Return P(abnormal at a located symptom) with just this cause there."""
    normal = network.graph.nodes[node]["leak"][0]
    for effect in network.graph.successors(cause):
        if network.graph.has_edge(effect, node):
            adds = network.graph.edges[cause, effect]["strength"] * (1 - network.graph.edges[effect, node]["levels"][0])
            normal *= 1 - adds
    return 1 - normal


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_some_check_tells_them_apart(one, other):
    """Over every result that a check of the rule base can give."""
    network = session.network_of((), "opposed-4")
    given = {r.symptom for c in network.base.checks.values() for r in c.gives}
    linked = {n for c in (one, other) for e in network.graph.successors(c) for n in network.graph.successors(e)}
    best = 1.0
    for node in linked:
        if network.symptoms[node].symptom.id in given:
            p, q = shows(network, one, node), shows(network, other, node)
            best = max(best, p / q, q / p, (1 - p) / (1 - q), (1 - q) / (1 - p))
    assert best >= 3
