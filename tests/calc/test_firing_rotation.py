"""Firing orders by rule, terminals, crossed leads; rotation laws by following every spark."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.circuits import circuit_on, cylinder_of, position_of, rearranged, side_of
from diagnose.calc.firing import compare_map, cross, firing_interval, stroke_at, terminal_map
from diagnose.calc.polarity import signs
from diagnose.calc.rotation import judge, mirror_plan, next_plan, rotation_answer
from diagnose.problems import BadInput
from tests.calc.engines import LAYOUTS, engine

FOUR, SIX = engine("opposed-4"), engine("opposed-6")
EVEN = [name for name in LAYOUTS if engine(name).cylinders % 2 == 0]


# FAA-H-8083-32B p1-16: printed orders of single rows; 14 by +9/-5 (it prints 8,3,12,7,2), 18 by +11/-7.
@pytest.mark.parametrize(
    ("cylinders", "order"),
    [
        (5, "1-3-5-2-4"),
        (7, "1-3-5-7-2-4-6"),
        (9, "1-3-5-7-9-2-4-6-8"),
        (14, "1-10-5-14-9-4-13-8-3-12-7-2-11-6"),
        (18, "1-12-5-16-9-2-13-6-17-10-3-14-7-18-11-4-15-8"),
    ],
)
def test_radial_orders(cylinders, order):
    fires = engine(f"radial-{cylinders}").firing_order
    assert "-".join(map(str, fires)) == order
    steps = {(b - a) % cylinders for a, b in pairwise(fires)}
    assert len(steps) == 1  # one and the same step round the engine


def test_opposed_orders():
    """FAA-H-8083-32B p1-16."""
    assert FOUR.firing_order == (1, 3, 2, 4)
    assert SIX.firing_order == (1, 4, 5, 2, 3, 6)


def test_cross_firing():
    """Right magneto: upper right and lower left (airframe maintenance chapter 74-00, 30 Nov 2000)."""
    assert set(FOUR.fires["right"]) == {"1-top", "2-bottom", "3-top", "4-bottom"}
    assert set(FOUR.fires["left"]) == {"1-bottom", "2-top", "3-bottom", "4-top"}


# 720 / cylinders.
@pytest.mark.parametrize(
    ("name", "degrees"),
    [("opposed-4", 180), ("opposed-6", 120), ("radial-7", 102.9), ("radial-14", 51.4), ("radial-18", 40)],
)
def test_interval(name, degrees):
    assert round(firing_interval(engine(name)), 1) == degrees


def test_terminal_three_of_a_nine_cylinder_radial_feeds_cylinder_five():
    """FAA-H-8083-32B p4-7, fig 4-10."""
    nine = engine("radial-9")
    assert [cylinder_of(terminal_map(nine, side)[3]) for side in ("left", "right")] == [5, 5]


@pytest.mark.parametrize(
    ("after", "stroke"),
    [
        (0, "power"),
        (179, "power"),
        (180, "exhaust"),
        (400, "intake"),
        (540, "compression"),
        (719, "compression"),
    ],
)
def test_strokes(after, stroke):
    assert stroke_at(after) == stroke


def test_crossed_leads_on_the_flat_four():
    """1 and 3 are neighbours in 1-3-2-4: one spark falls on power, the other 180 early on intake - a
    backfire."""
    late, early = cross(FOUR, "left", 1, 3)
    assert (late.circuit, late.after_top, late.stroke) == ("1-bottom", 155, "power")
    assert (early.circuit, early.after_top, early.stroke) == ("3-bottom", 515, "intake")
    assert "backfire" in early.effect


@pytest.mark.parametrize("name", LAYOUTS)
def test_crossed_offsets_cancel(name):
    """What one lead gains the other loses: the two offsets make one full cycle."""
    layout = engine(name)
    for first in range(1, layout.cylinders + 1):
        for second in range(first + 1, layout.cylinders + 1):
            one, two = cross(layout, "right", first, second)
            assert one.offset + two.offset == pytest.approx(720)


@given(st.sampled_from(LAYOUTS), st.data())
def test_a_swap_is_found_by_ringing_out(name, data):
    layout = engine(name)
    right = terminal_map(layout, "left")
    a, b = data.draw(st.lists(st.sampled_from(sorted(right)), min_size=2, max_size=2, unique=True))
    found = right | {a: right[b], b: right[a]}
    assert {t for t, _, _ in compare_map(layout, "left", found)} == {a, b}
    assert compare_map(layout, "left", right) == ()


def test_lead_to_the_other_magneto_is_found():
    assert compare_map(FOUR, "left", {1: "1-top"}) == ((1, "1-bottom", "1-top"),)
    with pytest.raises(BadInput, match="two terminals"):
        compare_map(FOUR, "left", {1: "1-bottom", 2: "1-bottom"})


# Owners' posts that agree; each pair checked below for magneto, polarity and position.
PUBLISHED = {
    "opposed-4": ["1T-4B", "3T-2B", "2T-3B", "4T-1B"],
    "opposed-6": ["1T-6B", "1B-6T", "2T-5B", "2B-5T", "3T-4B", "3B-4T"],
}


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_mirror_plan_is_the_published_pairing(name):
    words = {"T": "top", "B": "bottom"}
    wanted: dict[str, str] = {}
    for pair in PUBLISHED[name]:
        a, b = (f"{half[0]}-{words[half[1]]}" for half in pair.split("-"))
        wanted |= {a: b, b: a}
    assert mirror_plan(engine(name)) == wanted


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_laws_of_the_published_pairing(name):
    moves = judge(engine(name), mirror_plan(engine(name)))
    assert all(m.polarity == "opposite" and m.same_magneto and m.swaps_position for m in moves)


def test_next_in_firing_order():
    """1-3-2-4: from 1 top to 3 bottom, from 3 bottom to 2 top (common practice, no source)."""
    plan = next_plan(FOUR)
    assert plan["1-top"] == "3-bottom"
    assert plan["3-bottom"] == "2-top"


@pytest.mark.parametrize("name", EVEN)
def test_next_plan_flips_polarity_when_the_magnetos_agree(name):
    """By parity, the second way: with an even count a neighbour in the order has the other sign."""
    layout = engine(name)
    place = {cylinder: n for n, cylinder in enumerate(layout.firing_order)}
    for start, end in next_plan(layout).items():
        assert (place[cylinder_of(start)] - place[cylinder_of(end)]) % 2 == 1
    assert {m.polarity for m in judge(layout, next_plan(layout), together=True)} == {"opposite"}


def test_across_magnetos_polarity_must_be_told():
    unknown = {m.start for m in judge(FOUR, next_plan(FOUR)) if m.polarity == "unknown"}
    crossing = {s for s, e in next_plan(FOUR).items() if side_of(FOUR, s) != side_of(FOUR, e)}
    assert unknown == crossing != set()
    opposite = {m.start for m in judge(FOUR, next_plan(FOUR), together=False) if m.polarity == "same"}
    assert opposite == crossing


@pytest.mark.parametrize("name", LAYOUTS)
def test_polarity_law_by_brute_force(name):
    """Even count: one sign for good at each plug. Odd: both by turns (owners' posts; FAA-H-8083-32B p4-8)."""
    layout = engine(name)
    for side in ("left", "right"):
        assert {len(s) for s in signs(layout, side, cycles=6).values()} == ({2} if layout.cylinders % 2 else {1})


def test_odd_radials():
    assert {m.polarity for m in judge(engine("radial-9"), next_plan(engine("radial-9")))} == {"alternates"}
    with pytest.raises(BadInput, match="use the scheme next"):
        rotation_answer(engine("radial-9"), "mirror")


@given(st.permutations(range(1, 7)))
def test_any_order_gives_a_permutation_that_swaps_positions(order):
    layout = rearranged(SIX, order, 2)
    for plan in (mirror_plan(layout), next_plan(layout)):
        assert sorted(plan.values()) == sorted(layout.circuits)
        assert all(position_of(a) != position_of(b) for a, b in plan.items())


def test_plan_that_loses_a_plug_is_refused():
    plan = mirror_plan(FOUR) | {"1-top": "1-bottom"}
    with pytest.raises(BadInput, match="exactly once"):
        judge(FOUR, plan)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_plug_has_one_magneto(name):
    layout = engine(name)
    for circuit in layout.circuits:
        side = side_of(layout, circuit)
        assert circuit_on(layout, cylinder_of(circuit), side) == circuit


@pytest.mark.parametrize(
    ("order", "poles", "told"),
    [
        ((1, 3, 3, 4), 2, "skips or repeats a cylinder"),
        ((1, 3, 2), 2, "name each of 1 to 4 once"),
        ((1, 3, 2, 5), 2, "name each of 1 to 4 once"),
        ((1, 3, 2, 4), 3, "give an even number"),
        ((1, 3, 2, 4), 0, "give an even number"),
    ],
)
def test_an_order_or_a_magnet_that_cannot_be(order, poles, told):
    with pytest.raises(BadInput, match=told):
        rearranged(FOUR, order, poles)


def test_another_order_leaves_the_layout_of_the_rule_base_alone():
    """What is asked of the changed engine must not stay with the shipped one."""
    other = rearranged(FOUR, (1, 4, 2, 3), 4)
    assert other.related("1-bottom", "next_circuit") == ("4-top",)
    assert FOUR.related("1-bottom", "next_circuit") == ("3-bottom",)
    assert (FOUR.firing_order, FOUR.poles["left"]) == ((1, 3, 2, 4), 2)
