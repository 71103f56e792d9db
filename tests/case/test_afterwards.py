"""What a step leaves to be made good: parts to refit stay open until somebody says how, and stand in the draft as work."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.case import log
from diagnose.case.open_steps import refit_item
from diagnose.case.standing import open_items
from tests.review.test_library import SUSPECT, made, run

BASE = loaded.rulebase()
BENCH = "bench_magneto@left"


def events(path):
    """Return the entries of a case."""
    return log.read(path).events


def test_every_check_that_opens_or_takes_off_a_magneto_says_what_is_made_good():
    """Removing and refitting is maintenance and is recorded (14 CFR 43.9): no check with a lead or magneto off leaves it out."""
    off = [c for c in BASE.checks.values() if {"p_lead_off_live", "turn_lead_off"} & set(c.cautions)]
    assert len(off) > 12
    assert [c.id for c in off if not c.refit] == []
    assert [c.id for c in off if "OFF check" not in c.refit] == []


@pytest.mark.slow
def test_a_check_that_took_the_magneto_off_leaves_one_open_item(tmp_path, capsys):
    """It stands once, on the hand-over and in the draft, until it is closed; closed, it is work done; done again, it is open again."""
    path = made(tmp_path / "a.case", SUSPECT)
    assert run(capsys, "enter", path, "spark_weak@left=no", "--check", BENCH)[0] == 0
    assert run(capsys, "enter", path, "drive_cushion_bad@left=no", "--check", BENCH)[0] == 0
    (seq, text), *rest = open_items(events(path)).items()
    assert rest == []
    assert "new gasket" in text
    assert "timing as left in degrees" in text
    assert "To make good after" in run(capsys, "handover", path)[1]
    rows = json.loads(run(capsys, "next", path, "--json")[1])["next"]
    assert (rows[0]["kind"], rows[0]["closes"]) == ("make_good", seq)
    assert rows[0]["label"] == "Refit the left P-lead, then OFF check at idle"
    assert "timing as left in degrees" in rows[0]["why"]
    assert not [c for c in rows if "engine_running" in c.get("access", [])], "no run with the magneto off its pad"
    draft = run(capsys, "record", path)[1]
    assert "No repair is recorded" in draft
    assert "No OFF check passed since the grounding can have been disturbed" in draft
    assert run(capsys, "note", path, "Refitted, 25 degrees, gasket new, leads in order", "--closes", seq, "--person", "anna")[0] == 0
    draft = run(capsys, "record", path)[1]
    assert "Done: Refitted, 25 degrees, gasket new, leads in order (anna" in draft
    assert "No repair is recorded" not in draft
    rows = json.loads(run(capsys, "next", path, "--json")[1])["next"]
    assert [(r["kind"], r.get("check")) for r in rows[:1]] == [("make_good", "off_check")]
    assert not [c for c in rows if "To make good" in str(c["cautions"])]
    assert [c for c in rows if "engine_running" in c.get("access", [])]
    assert open_items(events(path)) == {}
    assert refit_item(BASE, events(path), BENCH) is not None
    assert run(capsys, "enter", path, "runs_in_off.idle@engine=no")[0] == 0
    assert "No OFF check passed" not in run(capsys, "record", path)[1]


def test_a_check_that_takes_nothing_off_leaves_nothing(tmp_path, capsys):
    """Nor does one the rule base does not know."""
    path = made(tmp_path / "a.case", SUSPECT)
    run(capsys, "enter", path, "plug_lead@3-bottom=no", "--check", "look_at_plug@3-bottom")
    assert open_items(events(path)) == {}
    assert refit_item(BASE, events(path), "no_such_check@left") is None


def test_an_off_check_corrected_to_failed_did_not_pass(tmp_path, capsys):
    """What an entry says now counts, not what it said first."""
    path = made(tmp_path / "a.case", SUSPECT)
    run(capsys, "enter", path, "p_lead_open@left=no", "--check", "measure_p_leads@engine")
    run(capsys, "enter", path, "runs_in_off.idle@engine=no")
    assert "No OFF check passed" in run(capsys, "record", path)[1], "a check with the leads off proves nothing"
    (seq,) = open_items(events(path))
    run(capsys, "note", path, "both back on", "--closes", seq)
    run(capsys, "enter", path, "runs_in_off.idle@engine=no")
    passed = events(path)[-1].seq
    assert "No OFF check passed" not in run(capsys, "record", path)[1]
    assert run(capsys, "correct", path, passed, "--result", "runs_in_off.idle@engine=yes", "--reason", "it fired once")[0] == 0
    for paper in ("record", "handover"):
        assert "No OFF check passed" in run(capsys, paper, path)[1]
