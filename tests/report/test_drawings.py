"""Drawings that go with the principles: they fit, they hold their numbers, and the numbers agree with another way to them."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from diagnose.loaded import rulebase
from diagnose.report.drawings import flux, made
from diagnose.report.drawings.as_svg import svg_of
from diagnose.report.drawings.as_text import text_of
from diagnose.report.drawings.made import LAG, MAKERS, RUNNING
from diagnose.rulebase.records import DRAWINGS

BASE = rulebase()
ON = [BASE.layouts[name] for name in ("opposed-4", "opposed-6-dual", "radial-9")]


def test_every_drawing_of_the_format_can_be_made():
    assert set(MAKERS) == set(DRAWINGS)


@pytest.mark.parametrize("layout", ON, ids=lambda x: x.id)
@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_fits_the_screen_and_says_where_its_numbers_come_from(name, layout):
    drawing = MAKERS[name](layout)
    for width in (60, 80, 120):
        lines = text_of(drawing, width)
        assert [line for line in lines if len(line) > width or not line.isprintable()] == []
    assert re.search(r"estimate|handbook|trade|manual|worked out", drawing.basis)
    root = ET.fromstring(svg_of(drawing, name))
    assert root.tag.endswith("svg")
    assert drawing.title.split(",")[0].split()[0] in "".join(root.itertext())


def test_the_flux_changes_most_where_the_handbook_has_the_e_gap():
    """FAA-H-8083-32B p4-29: 10 degrees past neutral on the magneto it shows; opening anywhere else lets less go."""
    best = flux.best_angle()
    assert best == pytest.approx(10, abs=1)
    assert all(flux.let_go(best + off) < flux.let_go(best) for off in (-20, -10, -4, 4, 10, 20))
    # Points closed, the winding holds back: the flux in the core is never past that of the magnet alone.
    assert all(held >= flux.magnet_alone(angle) for angle, held in flux.held())


def test_lag_is_magnet_degrees_and_fewer_of_the_crank_on_six():
    """Airframe manuals and P66-M16: 25 of the magnet are 25 of the crank on four cylinders and 16.7 on six."""
    rows = {row.label: row.spots[0][0] for row in made.start_spark_axis(ON[0]).rows}
    assert rows["running"] == -RUNNING
    assert rows["start, 4 cylinders"] == pytest.approx(-RUNNING + LAG)
    assert rows["start, 6 cylinders"] == pytest.approx(-RUNNING + LAG * 2 / 3)


def test_sparks_in_start_begin_with_the_second_set_and_end_with_the_first():
    """FAA-H-8083-32B p4-22: only while main and retard points are both open."""
    first, second, sparks = (row.spans[0] for row in made.retard_axis(BASE.layouts["opposed-6"]).rows)
    assert sparks[:2] == (max(first[0], second[0]), min(first[1], second[1]))
    assert first[0] < second[0] <= 0


def test_the_switch_grounds_what_a_manual_says():
    """An airframe manual's 74-30: right lead to ground in OFF and L, open in R and BOTH; left by symmetry."""
    rows = {row[0]: row[1:3] for row in made.switch_table(ON[0]).rows}
    assert {name for name, (_, right) in rows.items() if right == "to ground"} == {"OFF", "LEFT", "START"}
    assert {name for name, (left, _) in rows.items() if left == "to ground"} == {"OFF", "RIGHT"}


def test_exhaust_rises_as_published_and_falls_on_the_dead_plug():
    """A trade article: 50 to 100 F on healthy cylinders; a late side rises more."""
    cases: dict[str, list[float]] = {}
    for bar in made.egt(ON[0]).bars:
        if bar.value is None:
            name = bar.label
        else:
            cases.setdefault(name, []).append(bar.value)
    well, dead, late = cases.values()
    assert all(50 <= rise <= 100 for rise in well)
    assert sum(rise < -200 for rise in dead) == 1
    assert all(b > a for a, b in zip(well, late, strict=True))


def test_plugs_swap_sign_on_the_published_pairs():
    """Owners' posts that agree, four cylinders firing 1-3-2-4: 1T with 4B, 3T with 2B."""
    text = "\n".join(text_of(made.rotation(ON[0])))
    assert re.search(r"(?m)^ +1 +\+ +4-bottom, -", text)
    assert re.search(r"(?m)^ +3 +- +2-bottom, [+]", text)
    assert "+ and -" in "\n".join(text_of(made.rotation(ON[2])))


def test_a_dead_cylinder_costs_more_than_slow_burning_and_less_on_more_cylinders():
    values = {bar.label: bar.value or 0.0 for bar in made.drops(ON[0]).bars}
    one = [values[f"{n} cylinders, one dead"] for n in (4, 6, 8)]
    assert one == sorted(one, reverse=True)
    assert all(values[f"{n} cylinders, all fire"] < 75 < values[f"{n} cylinders, one dead"] for n in (4, 6, 8))
