"""What a layout changes: minutes by cylinder count, remedies it cannot have, start aids of a circuit's magneto."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.case.case import read_repair
from diagnose.problems import BadInput
from diagnose.trouble.repair_groups import repair_groups
from tests.rulebase.test_layers import over

BASE = loaded.rulebase()
LAYOUTS = sorted(BASE.layouts)


def test_work_on_every_plug_grows_with_the_engine():
    """Thirty-six plugs are not read in the time of eight (common practice, no source); one plug takes the same anywhere."""
    small, large = (loaded.network_of((), name).base for name in ("opposed-4", "radial-18"))
    for kind, ident in (("checks", "all_plugs_inspection"), ("checks", "differential_compression"), ("remedies", "clean_all_plugs")):
        few, many = (getattr(base, kind)[ident].minutes.value for base in (small, large))
        assert 3 < many / few < 36 / 8, ident
    assert small.checks["look_at_plug"].minutes == large.checks["look_at_plug"].minutes
    assert small.sha256 == large.sha256 == BASE.sha256


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("{4: 90, six: 130}", "no map of cylinder count to number"),
        ("{}", "no map of cylinder count to number"),
        ("{4: 0}", "write a number above 0"),
        ("[90]", "write a number above 0"),
    ],
)
def test_minutes_that_are_no_map_of_numbers_are_refused(tmp_path, written, told):
    """With the line and how to mend it."""
    _, problems = over(tmp_path, f"format: 1\nnumbers: estimate\nchecks:\n  look_at_plug: {{minutes: {written}}}\n")
    assert any(told in f"{p.message} {p.fix}" and p.line == 4 for p in problems), problems


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_remedy_is_offered_that_the_engine_cannot_have(name):
    """A dual unit has no left magneto to change; every cause still has a remedy (logic)."""
    network = loaded.network_of((), name)
    groups = repair_groups(network)
    assert {c for g in groups.values() for c in g.causes} == set(network.causes)
    for group in groups.values():
        assert all(network.layout.has(group.place, need) for need in group.remedy.needs), group.key


def test_a_remedy_the_engine_cannot_have_is_not_recorded():
    """One line: what, where, how to mend."""
    with pytest.raises(BadInput, match=r"cannot be done on opposed-4-dual, which lacks separate_drive"):
        read_repair("replace_magneto@left", BASE, BASE.layouts["opposed-4-dual"])
    assert str(read_repair("replace_magneto@left", BASE, BASE.layouts["opposed-4"])) == "replace_magneto@left"


@pytest.mark.parametrize(
    ("layout", "place", "has"),
    [
        ("opposed-4", "left", {"start_aid", "start_aid_alone"}),
        ("opposed-4", "right", {"no_start_aid"}),
        ("opposed-4", "1-bottom", {"start_aid"}),
        ("opposed-4", "1-top", set()),
        ("opposed-6-rear", "left", {"start_aid", "start_aid_shared"}),
        ("opposed-6-rear", "right", {"start_aid", "start_aid_shared"}),
        ("opposed-4-dual", "left", {"start_aid", "start_aid_shared"}),  # the one coupling turns the shaft of both
        ("opposed-4-dual", "right", {"no_start_aid"}),
    ],
)
def test_who_starts_the_engine(layout, place, has):
    """The magneto with the aid, alone or not, and the circuits it fires (FAA-H-8083-32B p4-20, p4-22)."""
    aids = ("start_aid", "start_aid_alone", "start_aid_shared", "no_start_aid")
    assert {need for need in aids if BASE.layouts[layout].has(place, need)} == has
