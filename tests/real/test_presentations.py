"""Presentations: spread evenly, readable, plausible by the table, and without anything an answer could leak from."""

from __future__ import annotations

import re
from collections import Counter
from random import Random

import pytest

from diagnose import loaded
from diagnose.trouble.results import read_results
from tests.real import presentations as drawing
from tests.real import reading

BASE = loaded.rulebase()
LAYOUTS = ("opposed-4", "opposed-6")  # the network of eighteen cylinders takes seconds to build
PRESENTER = drawing.Presenter(BASE, Random(3))


def test_every_axis_is_spread_evenly():
    """Of 300 strata no value of an axis stands more than once oftener than another."""
    strata = drawing.strata(BASE, 300, Random(1), PRESENTER.table["vague"])
    axes = ["layout", "side", "found", "normal", "asked"]
    counts = [Counter(getattr(s, axis) for s in strata) for axis in axes]
    counts.append(Counter((s.symptom, s.regime, s.place) for s in strata))
    assert {max(c.values()) - min(c.values()) for c in counts} <= {0, 1}
    assert {s.symptom for s in strata} == {s.id for s in BASE.symptoms.values() if s.kind == "squawk"}
    assert len(counts[0]) == len(BASE.layouts)


def test_the_table_names_what_there_is():
    """Every squawk has its lists; every line of the table is a symptom or history answer of the rule base."""
    table = PRESENTER.table
    assert set(table["squawks"]) == {s.id for s in BASE.symptoms.values() if s.kind == "squawk"}
    stratum = drawing.Stratum("rough", "runup", "side", "opposed-4", "left", 0, 0, "nothing")
    layout = BASE.layouts["opposed-4"]
    places = PRESENTER._places(stratum, layout)
    for rows in (*table["squawks"].values(), table["other"]):
        assert all(PRESENTER._subject(line, stratum, layout, places) is not None for line in (*rows["found"], *rows["normal"]))
    asked = [line.replace("@side", "@left") for lines in table["asked"].values() for line in lines]
    assert all(read_results([line], BASE, layout) for line in asked)
    for pair in table["never"]:
        for name, _, grade in (text.partition("=") for text in pair):
            assert grade in (BASE.symptoms[name].names if name in BASE.symptoms else BASE.history[name].answers), name


@pytest.fixture(scope="module")
def drawn():
    """Return some drawn presentations by id."""
    return drawing.draw_all(BASE, 7, 24, LAYOUTS)[0]


def test_presentations_are_those_of_ten_minutes(drawn):
    """Two to six results, a complaint, normal results normal, nothing that takes a cover off."""
    for one in drawn.values():
        layout = BASE.layouts[one["layout"]]
        lines = [line for part in reading.PARTS for line in one.get(part, [])]
        assert drawing.LEAST <= len(lines) <= drawing.MOST
        assert all(r.abnormal for part in ("complaint", "results") for r in read_results(one.get(part, []), BASE, layout))
        assert all(r.normal for r in read_results(one.get("normal", []), BASE, layout))
        assert not {line.split("@")[0].split(".")[0] for line in lines} & {"timing_late", "points_burnt", "compression_low", "spark_weak"}


def test_the_same_seed_draws_the_same(drawn):
    """And the next one something else."""
    assert drawing.draw_all(BASE, 7, 24, LAYOUTS)[0] == drawn
    assert drawing.draw_all(BASE, 8, 3, LAYOUTS)[0] != dict(list(drawn.items())[:3])


def test_a_file_of_presentations_is_read_as_it_was_drawn(drawn, tmp_path):
    """No bet yet; marked as set aside."""
    (tmp_path / "a.yaml").write_text(drawing.written(drawn, 7, aside=True))
    found = reading.read_presentations(BASE, tmp_path)
    assert list(found) == list(drawn)
    assert all(p.aside and p.bet is None for p in found.values())
    for name, one in found.items():
        assert list(one.entry.complaint) == drawn[name]["complaint"]
        assert list(one.entry.results) == [line for part in reading.PARTS[1:] for line in drawn[name].get(part, [])]


@pytest.mark.parametrize(
    ("lines", "clash"),
    [
        (["drop.runup@left=excessive", "drop_fast.runup@left=yes"], False),
        (["drop.runup@left=normal", "drop_fast.runup@left=yes"], True),
        (["drop.runup@left=normal", "drop_fast.runup@right=yes"], False),
        (["drop.runup@left=normal", "drop_fast.idle@left=yes"], False),
        (["cold_soak@engine=yes", "icing_weather@engine=yes"], True),
    ],
)
def test_pairs_that_cannot_stand_together(lines, clash):
    """At one place and in one regime only."""
    found = drawing.Drawn(results=list(read_results(lines, BASE, BASE.layouts["opposed-4"])))
    assert PRESENTER._clash(found) is clash


def test_what_makes_another_worthless_is_thrown_away():
    """A side on which the engine dies cannot be rough as well."""
    able, not_able = drawing.Drawn(), drawing.Drawn()
    able.lines["complaint"] = ["drop@left=excessive", "rough@left=yes"]
    not_able.lines["complaint"] = ["drop@left=dies", "rough@left=yes"]
    assert [drawing.possible(d, "opposed-4") for d in (able, not_able)] == [True, False]


def test_labels_hold_no_numbers_and_no_links():
    """Every family is there; no probability, and no cause by its id (some families and remedies bear the same)."""
    text = "\n".join(drawing.labels(BASE))
    assert all(f"  {c.family}: " in text for c in BASE.causes.values())
    assert not re.search(r"\d\.\d|=|\.\d", text)
    shared = {*BASE.symptoms, *BASE.history, *BASE.remedies, *(c.family for c in BASE.causes.values())}
    assert not [c for c in BASE.causes if c not in shared and re.search(rf"\b{c}\b", text)]


def test_the_command_prints_a_file(capsys, tmp_path):
    """Standard output is the file, the count goes to the standard error."""
    assert drawing.main(["--seed", "4", "--count", "2", "--layout", "opposed-4"]) == 0
    told = capsys.readouterr()
    (tmp_path / "a.yaml").write_text(told.out)
    assert list(reading.read_presentations(BASE, tmp_path)) == ["s4_001", "s4_002"]
    assert told.err.startswith("2 presentations")
    assert drawing.main(["--layout", "opposed-5"]) == 2
    assert "layout 'opposed-5' is not known" in capsys.readouterr().err
