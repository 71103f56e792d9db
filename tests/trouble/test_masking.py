"""Results that another result makes worthless: what is set aside, what is turned round, and when not.

A side without a drop may never have been alone (the other magneto was still firing), FAA-H-8083-32B p4-31
and p10-26; a side on which the engine dies cannot be seen running (follows from how the circuit works).
"""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.trouble.masking import mask
from diagnose.trouble.results import default_complaint, read_results


def masked(*texts, complaint=()):
    """Return what belief takes {result: places}, the ignored {result: reason}, and the complaint."""
    base = loaded.rulebase()
    layout = base.layouts["opposed-4"]
    results = read_results([*complaint, *texts], base, layout)
    named = read_results(complaint, base, layout) or default_complaint(results, base)
    seen, ignored = mask(results, named, base, layout)
    taken = {str(s.result): {place for _, _, place in s.nodes} for s in seen}
    return taken, {str(i.result): i.reason for i in ignored}, {str(s.result) for s in seen if s.complaint}


def test_without_a_mark_nothing_is_touched():
    """Results of both sides stand as they are."""
    taken, ignored, _ = masked("drop@left=dies", "rough@right=no", "no_drop@right=no", "egt_low@3-bottom=no", complaint=["drop@left=dies"])
    assert "rough.runup@right=no" in taken
    assert set(ignored) == {"egt_low.runup@3-bottom=no"}
    taken, ignored, complaint = masked("drop@left=excessive", "rough@left=yes", "rough@right=no")
    assert ignored == {}
    assert complaint == {"drop.runup@left=excessive", "rough.runup@left=yes"}
    assert all(len(places) == 1 for places in taken.values())


def test_unknown_and_cannot_are_set_aside_and_told():
    """They move nothing, and the reason says which it was."""
    taken, ignored, _ = masked("rough@left=unknown", "rough@right=cannot")
    assert taken == {}
    assert ignored == {"rough.runup@left=unknown": "not known", "rough.runup@right=cannot": "could not be checked"}


def test_no_drop_makes_normal_results_of_its_side_worthless():
    """On that side, its circuits, in that regime; nothing else."""
    taken, ignored, complaint = masked(
        "no_drop@left=yes",
        "rough@left=no",
        "drop@left=normal",
        "egt_low@3-bottom=no",
        "cold_cylinder@1-bottom=no",
        "rough@right=no",
        "rough@engine=no",
        "rough.cruise_lean@left=no",
        "egt_low@3-top=no",
        "egt_low@3=no",
        "plug_lead@3-bottom=no",
    )
    assert set(ignored) == {"rough.runup@left=no", "drop.runup@left=normal", "egt_low.runup@3-bottom=no", "cold_cylinder.runup@1-bottom=no"}
    assert all("no drop on left" in reason for reason in ignored.values())
    assert set(taken) == {
        "no_drop.runup@left=yes",
        "rough.runup@right=no",
        "rough.runup@engine=no",
        "rough.cruise_lean@left=no",
        "egt_low.runup@3-top=no",
        "egt_low.runup@3=no",
        "plug_lead.static@3-bottom=no",
    }
    assert complaint == {"no_drop.runup@left=yes"}


def test_no_drop_widens_abnormal_results_to_both():
    """Roughness on left may have been roughness on BOTH; a circuit's cold cylinder may have been the cylinder's."""
    taken, ignored, complaint = masked("no_drop@left=yes", "rough@left=yes", "egt_low@3-bottom=yes", "rough@right=yes")
    assert taken["rough.runup@left=yes"] == {"left", "engine"}
    assert taken["egt_low.runup@3-bottom=yes"] == {"3-bottom", "3"}
    assert taken["rough.runup@right=yes"] == {"right"}
    assert set(ignored) == {"rough.runup@left=yes", "egt_low.runup@3-bottom=yes"}
    assert "rough.runup@left=yes" in complaint


@pytest.mark.parametrize("proof", ["drop@right=dies", "runs_in_off@engine=no", "egt_no_rise@left=no"])
def test_what_shows_that_the_side_was_alone_lifts_the_doubt(proof):
    """The other side is dead, OFF stops the engine, or EGT rose: the results of that side count."""
    taken, ignored, _ = masked("no_drop@left=yes", "rough@left=no", proof)
    assert "rough.runup@left=no" in taken
    assert ignored == {}


@pytest.mark.parametrize(
    "other",
    [
        "drop@left=excessive",
        "drop@right=severe",
        "runs_in_off@engine=yes",
        "egt_no_rise@right=no",
        "egt_no_rise@left=yes",
        "drop.idle@right=dies",
        "no_drop@right=no",
    ],
)
def test_nothing_else_lifts_it(other):
    """Close to the exceptions, but none of them."""
    _, ignored, _ = masked("no_drop@left=yes", "rough@left=no", other)
    assert "rough.runup@left=no" in ignored


def test_no_drop_on_a_side_not_known_doubts_both():
    """`some`: either may be the one, so normal results of both are worthless; BOTH stands."""
    taken, ignored, _ = masked("no_drop@some=yes", "rough@left=no", "rough@right=no", "rough@engine=no")
    assert set(ignored) == {"rough.runup@left=no", "rough.runup@right=no"}
    assert set(taken) == {"no_drop.runup@some=yes", "rough.runup@engine=no"}
    _, ignored, _ = masked("no_drop@some=yes", "rough@left=no", "rough@right=no", "egt_no_rise@left=no")
    assert set(ignored) == {"rough.runup@right=no"}


def test_a_result_of_normal_drop_masks_nothing():
    """`no_drop=no` says that the side did drop."""
    assert masked("no_drop@left=no", "rough@left=no")[1] == {}


def test_a_side_that_dies_cannot_be_seen():
    """Roughness, EGT, cold cylinder and the pace of the drop there are set aside; static tests are not."""
    taken, ignored, _ = masked(
        "drop@left=dies",
        "rough@left=no",
        "egt_high.runup@3-bottom=no",
        "cold_cylinder@3-bottom=no",
        "drop_fast@left=no",
        "drop_slow@left=no",
        "rough@right=no",
        "rough.idle@left=no",
        "plug_lead@3-bottom=no",
    )
    assert set(ignored) == {
        "rough.runup@left=no",
        "egt_high.runup@3-bottom=no",
        "cold_cylinder.runup@3-bottom=no",
        "drop_fast.runup@left=no",
        "drop_slow.runup@left=no",
    }
    assert all("dies on left" in reason for reason in ignored.values())
    assert {"rough.runup@right=no", "rough.idle@left=no", "plug_lead.static@3-bottom=no", "drop.runup@left=dies"} <= set(taken)


def test_with_one_side_dead_both_is_the_other_side():
    """What was seen on BOTH, normal or not, was seen on the other magneto; other regimes and symptoms stay."""
    taken, ignored, complaint = masked("drop@left=dies", "rough@engine=yes", "egt_low@3=no", "rough.idle@engine=yes", "power_low@engine=no")
    assert taken["rough.runup@engine=yes"] == {"right"}
    assert taken["egt_low.runup@3=no"] == {"3-top"}
    assert taken["rough.idle@engine=yes"] == {"engine"}
    assert set(ignored) == {"rough.runup@engine=yes", "egt_low.runup@3=no"}
    assert "rough.runup@engine=yes" in complaint


def test_a_masked_complaint_is_replaced_by_what_masked_it():
    """The trouble does not vanish with the result that named it."""
    taken, ignored, complaint = masked("drop@left=dies", complaint=["rough@left=yes"])
    assert "rough.runup@left=yes" in ignored
    assert "rough.runup@left=yes" not in taken
    assert complaint == {"drop.runup@left=dies"}


def test_the_difference_of_two_drops_is_no_third_reading():
    """Set aside beside a drop over its limit; as a complaint it leaves the abnormal drop in its place."""
    taken, ignored, _ = masked("drop@left=excessive", "drop@right=normal", "drop_difference@engine=yes")
    assert set(ignored) == {"drop_difference.runup@engine=yes"}
    assert set(taken) == {"drop.runup@left=excessive", "drop.runup@right=normal"}
    assert masked("drop@left=excessive", "drop_difference@engine=yes")[1].keys() == {"drop_difference.runup@engine=yes"}
    assert masked("drop@left=normal", "drop_difference@engine=yes")[1] == {}
    _, _, complaint = masked("drop@left=excessive", "drop@right=normal", complaint=["drop_difference@engine=yes"])
    assert complaint == {"drop.runup@left=excessive"}


def test_drops_of_two_regimes_are_not_the_two_drops_of_one_difference():
    """The difference is of the drops at run-up; a drop at idle does not replace one of them."""
    for texts in (("drop.idle@left=excessive", "drop@right=normal"), ("drop@left=normal", "drop.idle@right=normal")):
        for grade in ("yes", "no"):
            taken, _, _ = masked(*texts, f"drop_difference@engine={grade}")
            assert f"drop_difference.runup@engine={grade}" in taken


def test_both_sides_dying_leaves_nothing_to_see_and_keeps_the_complaint():
    """Neither side can be seen; BOTH is read somewhere, not lost twice."""
    taken, _, complaint = masked("drop@left=dies", "drop@right=dies", "rough@left=no", "rough@right=no")
    assert set(taken) == {"drop.runup@left=dies", "drop.runup@right=dies"}
    assert complaint == set(taken)


def test_two_drops_within_the_limit_do_not_contain_their_difference():
    """55 and 140 rpm, limits 175 and 50: each is normal, the difference is not and stays (FAA-H-8083-32B p10-27)."""
    taken, ignored, _ = masked("drop@left=normal", "drop@right=normal", "drop_difference@engine=yes")
    assert "drop_difference.runup@engine=yes" not in ignored
    assert "drop_difference.runup@engine=yes" in taken
    assert "drop_difference.runup@engine=no" in masked("drop@left=normal", "drop@right=normal", "drop_difference@engine=no")[1]


def test_the_drop_after_leaning_is_read_once():
    """Judged over or within the limit after leaning, its size leaned says nothing more (logic)."""
    assert (
        "drop.cruise_lean@left=excessive"
        in masked("drop@left=excessive", "drop_stays_leaned@left=yes", "drop.cruise_lean@left=excessive")[1]
    )
    assert masked("drop@left=excessive", "drop_stays_leaned@right=yes", "drop.cruise_lean@left=excessive")[1] == {}
