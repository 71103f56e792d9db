"""What the handbook says a single result means, on the shipped rule base."""

from __future__ import annotations

import pytest

from diagnose import session
from diagnose.evidence import prepare
from diagnose.finding import _at_least_one, rank

MAGNETO = {"points", "capacitor", "coil", "distributor", "magneto_drive_gear", "p_lead_grounded", "ignition_switch", "timing_to_engine"}
PLUGS_LEADS = {"plug_fouled_lead", "plug_fouled_soot", "plug_fouled_oil", "plug_insulator", "plug_resistor", "plug_worn",
               "lead_insulation", "lead_open", "lead_terminal"}  # fmt: skip


def believed(layout, *results):
    """Return (network, prepared, belief, ranked) for results on a layout."""
    network = session.network_of((), layout)
    trouble = session.trouble_from(network.base, network.layout, [], results, frozenset())
    prepared = prepare(network, trouble.looks)
    return network, prepared, *rank(network, prepared)


def families(layout, *results):
    """Return the families by exact responsibility, most responsible first."""
    network, prepared, _, _ = believed(layout, *results)
    sets = {}
    for located in network.causes.values():
        sets.setdefault(located.cause.family, set()).add(located.id)
    shares = _at_least_one(network, prepared.evidence, {f: frozenset(ids) for f, ids in sets.items()})
    return sorted(shares, key=lambda f: -shares[f]), shares


@pytest.mark.parametrize("layout", ["opposed-4", "opposed-6"])
def test_narratives(layout):
    """FAA-H-8083-32B p10-26, p10-27, p4-31: one result, and the family the text names leads."""
    order, _ = families(layout, "drop_fast@left=yes")  # instant drop: plugs or harness
    assert set(order[:3]) <= PLUGS_LEADS
    order, _ = families(layout, "drop_slow@left=yes")  # slow drop: timing or valve adjustment (mixture: a trainer's text)
    assert order[0] == "timing_to_engine"
    assert "valve" in order[:3]
    order, shares = families(layout, "no_drop@left=yes")  # no drop: faulty grounding
    assert order[0] in ("p_lead_open", "ignition_switch")
    order, _ = families(layout, "drop@left=dies")  # cuts out: that side does not work
    assert set(order[:3]) <= MAGNETO
    order, _ = families(layout, "drop_difference@engine=yes")  # large difference: timing between the two
    assert order[0] == "timing_to_engine"
    order, _ = families(layout, "runs_in_off@engine=yes")  # runs in OFF: open P-lead
    assert order[:2] == ["p_lead_open", "ignition_switch"]


def test_cold_cylinder_table():
    """FAA-H-8083-32B fig 10-56: 5 and 6 dead on right, 4 and 6 dead on left, 6 dead on both; 3 weak on right."""
    cold = ["5/right", "6/right", "4/left", "6/left"]
    warm = ["1/right", "2/right", "1/left", "2/left", "3/left", "5/left"]
    results = [f"cold_cylinder.runup@{p}=yes" for p in cold] + [f"cold_cylinder.runup@{p}=no" for p in warm]
    network, _, belief, _ = believed("opposed-6", *results)
    layout = network.layout
    for cylinder, side in (("5", "right"), ("4", "left")):
        circuit = next(c for c in layout.fires[side] if c.startswith(cylinder))
        mine = sum(p for c, p in belief.responsible.items() if c.split("@")[1] == circuit)
        twin = sum(p for c, p in belief.responsible.items() if c.split("@")[1] == layout.related(circuit, "twin")[0])
        assert mine > 0.5
        assert mine > 5 * twin
    six = sum(p for c, p in belief.responsible.items() if c.split("@")[1].split("-")[0] == "6")
    assert six > 0.9
    both = sum(p for c, p in belief.responsible.items() if c.split("@")[1] == "6")
    assert both > 0.2


# Relative weight among troubles that start with a bad check or rough running: estimates, no source.
SHARES = {"plug": 55, "lead": 7, "magneto": 11, "other": 15}
GROUPS = {
    "plug": ("plug_", "heat_range"),
    "lead": ("lead_insulation", "lead_open", "lead_terminal", "leads_crossed"),
    "magneto": ("points", "capacitor", "coil", "distributor", "magneto_drive_gear", "magnet", "moisture", "drive_shared"),
    "timing": ("magneto_internal_timing", "timing_to_engine"),
    "p_lead": ("p_lead", "ignition_switch"),
    "start": ("impulse_coupling", "starting_vibrator"),
    "other": ("mixture", "injector", "induction", "valve", "rings", "compression", "fuel", "primer", "carburettor", "propeller", "other"),
}


def group_shares(*results):
    """Return each group's exact responsibility on opposed-4, and what nothing explains."""
    network, prepared, belief, _ = believed("opposed-4", *results)

    def group(family):
        # Longest name first, so that `magneto_internal_timing` is not taken for `magnet`.
        names = [(len(n), g) for g, found in GROUPS.items() for n in found if family == n or family.startswith(n)]
        return max(names)[1] if names else ""

    sets = {g: frozenset(c for c, x in network.causes.items() if group(x.cause.family) == g) for g in GROUPS}
    return _at_least_one(network, prepared.evidence, sets), belief.unexplained


def test_rough_somewhere_has_the_stated_mix():
    """Side unknown, nothing else: the groups within five points of the stated shares."""
    shares, nothing = group_shares("rough.runup@some=yes")
    whole = sum(SHARES.values()) + 3
    for name, share in SHARES.items():
        assert shares[name] == pytest.approx(share / whole, abs=0.05), name
    assert 0.02 <= nothing <= 0.04


@pytest.mark.parametrize(
    ("result", "group"),
    [("drop_slow@some=yes", "timing"), ("no_drop@some=yes", "p_lead"), ("no_start@engine=yes", "start")],
)
def test_marker_results_bring_their_group_up(result, group):
    """The group comes first or second."""
    shares, _ = group_shares(result)
    assert group in sorted(shares, key=lambda g: -shares[g])[:2]


# FAA-H-8083-32B fig 10-52: the ignition rows; each listed cause rises above its prior.
@pytest.mark.parametrize(
    ("result", "family"),
    [("no_start@engine=yes", "plug_worn"), ("no_start@engine=yes", "lead_insulation"), ("no_start@engine=yes", "points"),
     ("no_start@engine=yes", "impulse_coupling"), ("no_start@engine=yes", "plug_wet"), ("no_start@engine=yes", "ignition_switch"),
     ("rough.idle@some=yes", "plug_fouled_lead"), ("power_low@engine=yes", "timing_to_engine"),
     ("rough.runup@some=yes", "plug_fouled_lead"), ("rough.runup@some=yes", "lead_insulation"), ("rough.runup@some=yes", "points")],
)  # fmt: skip
def test_trouble_table(result, family):
    """Some cause of the family is likelier than before."""
    network, _, belief, _ = believed("opposed-4", result)
    prior = {c.id: c.prior for c in network.model.causes}
    rises = [belief.present[c] / prior[c] for c, x in network.causes.items() if x.cause.family == family]
    assert max(rises) > 1.05
