"""The bench counts right, and a small sample of it runs from the complaint to the finding."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.drill.exercise import Deck, Exercise, Fault
from diagnose.stand.conditions import Weather
from tests.stand.__main__ import kept
from tests.stand.disagree import differences
from tests.stand.figures import brier, outside_held, share, summary, tenths, wilson
from tests.stand.ranked import Work, ends, ranked, truth
from tests.stand.table import shown

FOUR = loaded.network_of((), "opposed-4")


def test_an_interval_is_that_of_wilson():
    """8 of 10: 0.490 to 0.943 (Wilson 1927, worked out by hand)."""
    assert wilson(8, 10) == pytest.approx((0.4902, 0.9433), abs=5e-4)
    assert share([True, False])["share"] == 0.5
    assert share([]) is None


def test_calibration_and_brier_by_hand():
    pairs = [(0.95, True)] * 57 + [(0.95, False)] * 3 + [(0.25, False)] * 60 + [(0.5, True)] * 2
    rows = {row["from"]: row for row in tenths(pairs)}
    assert (rows[0.9]["share"], rows[0.9]["holds"]) == (0.95, True)
    assert (rows[0.2]["share"], rows[0.2]["holds"]) == (0.0, False)
    assert rows[0.5]["holds"] is None
    assert brier([(0.5, True), (1.0, False)])["mean"] == 0.625


def test_outside_counts_what_ended_open_and_what_surely_wrong():
    rows = [{"nobody": 0.6, "cause_share": 0.2}, {"nobody": 0.1, "cause_share": 0.95}, {"nobody": 0.1, "cause_share": 0.3}]
    found = outside_held([{"kinds": ["x"], "stages": {"end": row}} for row in rows], "end")
    assert (found["held"]["share"], found["sure_and_wrong"]["share"]) == (0.333, 0.333)


def test_a_plain_trouble_is_ranked_from_complaint_to_ten_minutes():
    """A grounded P-lead that kills one magneto: the ten minutes' readings cannot lower the share of what is right below a tenth."""
    fault = Fault("p-lead.grounded", "right", {"acts": 1.0})
    record = ranked(FOUR, Exercise(7, Weather(), (fault,), ("drop.runup@right=dies",)))
    assert record["families"] == [["p_lead_grounded"]]
    assert all("refused" not in stage for stage in record["stages"].values())
    assert record["stages"]["ten_minutes"]["right_share"] > 0.1
    assert record["stages"]["ten_minutes"]["family_rank"] <= 3


def test_a_small_sample_runs_and_is_told():
    deck = Deck(FOUR)
    records = [{"number": n, **ranked(FOUR, deck.draw(n, 4))} for n in range(2)]
    records.append({"number": 2, **ranked(FOUR, deck.draw(0, 4, faults=0))})
    found = {"layout": "opposed-4", "set": "one", "seed": 4, **summary(records)}
    assert found["stages"]["complaint"]["troubles"] == 3
    assert "first ten minutes: 3 troubles" in shown(found)


def test_a_remedy_counts_as_right_only_where_it_ends_the_fault():
    exercise = Exercise(7, Weather(), (Fault("plug.bridged", "3-bottom", {}),), ("rough.runup@left=yes",))
    work = Work(FOUR, exercise)
    from diagnose.trouble.evidence import prepare
    from diagnose.trouble.repair_groups import repair_groups

    groups = repair_groups(FOUR, prepare(FOUR, work.trouble.looks).stands)
    (right,) = truth(FOUR, exercise)
    ending = {key for key, group in groups.items() if ends(FOUR, group, right)}
    assert "clean_plug@3-bottom" in ending or "replace_plug@3-bottom" in ending
    assert not any(key.endswith("@1-bottom") or key.startswith("replace_lead") for key in ending)


def test_records_kept_are_read_again_and_half_a_line_is_left_out(tmp_path):
    file = tmp_path / "kept"
    file.write_text(json.dumps({"number": 3, "x": 1}) + "\n" + '{"number": 4, "x"', encoding="utf-8")
    assert kept(file) == {3: {"number": 3, "x": 1}}
    assert kept(tmp_path / "none") == {}


@pytest.mark.slow
def test_differences_hold_the_network_against_the_stand_for_one_fault():
    rows = differences(FOUR, 10, 1, kinds=("plug.bridged",))
    signs = {row["sign"].split("@")[0]: row for row in rows}
    assert signs["plug_bridged.static"]["stand"] == 1.0
    assert all(0 <= row["stand"] <= 1 and 0 <= row["network"] <= 1 for row in rows)
    assert [abs(r["stand"] - r["network"]) for r in rows] == sorted((abs(r["stand"] - r["network"]) for r in rows), reverse=True)
