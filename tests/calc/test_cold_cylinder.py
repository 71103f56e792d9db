"""The cold-cylinder check against the table the handbook prints."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.calc.cold_cylinder import ColdRun, cold_answer, grades
from diagnose.problems import BadInput
from tests.calc.engines import engine

SIX = engine("opposed-6")
# FAA-H-8083-32B fig 10-56, p10-44: gauge 160 degC at shutdown both times, readings relative.
RIGHT = (180, 170, 100, 145, 70, 60)
LEFT = (170, 175, 170, 60, 155, 45)


def test_handbook_table_exactly():
    """Printed reading: 3 intermittent, 5 and 6 dead on right; 4 and 6 dead on left; so 6 dead on both."""
    got = grades({"right": ColdRun(RIGHT), "left": ColdRun(LEFT)}, 6)
    right = {n: got[n, "right"] for n in range(1, 7)}
    left = {n: got[n, "left"] for n in range(1, 7)}
    assert right == {1: "no", 2: "no", 3: "no|yes", 4: "no", 5: "yes", 6: "yes"}
    assert left == {1: "no", 2: "no", 3: "no", 4: "yes", 5: "no", 6: "yes"}


def test_handbook_table_as_results_of_circuits():
    answer = cold_answer({"right": ColdRun(RIGHT), "left": ColdRun(LEFT)}, SIX)
    # Right magneto: top of the odd cylinders, bottom of the even ones.
    bad = {r for r in answer.results if not r.endswith("=no")}
    assert bad == {
        "stays_cold.runup@3-top=no|yes",
        "stays_cold.runup@5-top=yes",
        "stays_cold.runup@6-bottom=yes",
        "stays_cold.runup@4-top=yes",
        "stays_cold.runup@6-top=yes",
    }
    assert [text for text in answer.says if "dead on both" in text] != []
    assert "Cylinder 6" in next(text for text in answer.says if "dead on both" in text)


@given(st.sampled_from(["F", "C"]), st.floats(-20, 35))
def test_scale_of_the_thermometer_does_not_matter(unit, ambient):
    """The same warmth above ambient in F and in C is read alike."""
    scale = 1.8 if unit == "F" else 1.0
    runs = {s: ColdRun(tuple(ambient + scale * r for r in rows), ambient) for s, rows in (("right", RIGHT), ("left", LEFT))}
    assert grades(runs, 6) == grades({"right": ColdRun(RIGHT), "left": ColdRun(LEFT)}, 6)


def test_not_read_is_cannot():
    got = grades({"left": ColdRun((170, None, 170, 60, 155, 45))}, 6)
    assert got[2, "left"] == "cannot"
    answer = cold_answer({"left": ColdRun(LEFT)}, SIX)
    assert any("nothing is known of the other" in text for text in answer.says)


@pytest.mark.parametrize("rows", [(float("nan"),) * 6, (None,) * 6, (10, 20), (0, 0, 0, 0, 0, 0)])
def test_bad_runs(rows):
    with pytest.raises(BadInput):
        grades({"left": ColdRun(rows)}, 6)
