"""Look-alikes: some check's result is at least three times as likely under the one as under the other."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from diagnose import loaded

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
    network = loaded.network_of((), "opposed-4")
    given = {r.symptom for c in network.base.checks.values() for r in c.gives}
    linked = {n for c in (one, other) for e in network.graph.successors(c) for n in network.graph.successors(e)}
    best = 1.0
    for node in linked:
        if network.symptoms[node].symptom.id in given:
            p, q = shows(network, one, node), shows(network, other, node)
            best = max(best, p / q, q / p, (1 - p) / (1 - q), (1 - q) / (1 - p))
    assert best >= 3


@pytest.mark.parametrize("layout", ["opposed-4", "opposed-4-dual", "opposed-6-pressurised", "radial-9"])
def test_no_two_causes_look_the_same_to_every_check(layout):
    """Every pair of causes of a layout, each at one place: some result differs by a factor of three."""
    network = loaded.network_of((), layout)
    given = {r.symptom for c in network.base.checks.values() for r in c.gives}
    pick = {}
    for ident, located in network.causes.items():
        if located.cause.id not in pick or located.place in ("3-bottom", "3-front", "left", "3"):
            pick[located.cause.id] = ident
    column = {node: n for n, node in enumerate(n for n, located in network.symptoms.items() if located.symptom.id in given)}
    shown = np.tile([1 - network.graph.nodes[node]["leak"][0] for node in column], (len(pick), 1))
    for row, ident in zip(shown, pick.values(), strict=True):
        for node in {n for e in network.graph.successors(ident) for n in network.graph.successors(e)} & set(column):
            row[column[node]] = shows(network, ident, node)
    alike = [
        (a, b)
        for (i, a), (j, b) in combinations(enumerate(pick.values()), 2)
        if max(np.abs(np.log(table[i] / table[j])).max() for table in (shown, 1 - shown)) < np.log(3)
    ]
    assert alike == []
