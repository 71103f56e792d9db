"""How results read: every symptom, grade, place and regime gives one short sentence of its own."""

from __future__ import annotations

import pytest

from diagnose.loaded import network_of, rulebase
from diagnose.rulebase.records import REGIMES
from diagnose.trouble.results import NOTHING, read_result
from diagnose.trouble.sentences import question_of, sentence_of

BASE = rulebase()
LAYOUTS = ("opposed-4", "opposed-6", "radial-18")
LONGEST = 70


def every_result(layout):
    """Yield a result for every symptom, grade, place and regime, and every answer on history."""
    for symptom in BASE.symptoms.values():
        places = [p for kind in symptom.at for p in layout.places(kind)]
        for regime in symptom.regimes:
            yield from (f"{symptom.id}.{regime}@{place}={grade}" for place in places for grade in symptom.names)
    for history in BASE.history.values():
        asked = dict.fromkeys(("engine", *layout.places(history.at)))
        yield from (f"{history.id}@{place}={answer}" for place in asked for answer in history.answers)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_result_has_a_short_sentence_of_its_own(name):
    """No two results of an engine read alike, whatever they are of: a sentence is all that many screens show."""
    layout = BASE.layouts[name]
    found: dict[str, str] = {}
    for result in every_result(layout):
        told = sentence_of(BASE, layout, result)
        assert len(told) < LONGEST, told
        assert found.setdefault(told, result) == result, told
    assert len(found) > 1000


def test_nothing_of_the_rule_base_is_left_open():
    layout = BASE.layouts["opposed-4"]
    for result in every_result(layout):
        told = sentence_of(BASE, layout, result)
        assert not set("{}[]=@_") & set(told), told
        assert told == " ".join(told.split()), told
        assert "..." not in told, told


@pytest.mark.parametrize(
    ("result", "told"),
    [
        ("rough.runup@left=yes", "left magneto rough at run-up"),
        ("rough.cruise_lean@engine=no", "engine smooth in lean cruise"),
        ("rough.any@engine=yes", "engine rough at some point"),
        ("rough.runup@some=yes", "one magneto or engine rough at run-up"),
        ("drop.runup@left=normal", "left drop normal at run-up"),
        ("drop.cruise_lean@left=excessive", "left drop over the limit in lean cruise"),
        ("drop.runup@some=excessive", "one magneto's drop over the limit at run-up"),
        ("drop.runup@left=excessive|severe", "left drop over the limit or too big for two dead cylinders at run-up"),
        ("drop.runup@left=unknown", "left drop over the limit at run-up? not known"),
        ("cold_cylinder.runup@2-bottom=yes", "No. 2 ran cold on the right magneto at run-up"),
        ("egt_low.runup@2=yes", "No. 2 EGT low on both at run-up"),
        ("egt_low.runup@some/left=yes", "one cylinder EGT low on the left magneto at run-up"),
        ("egt_low.runup@some-bottom=yes", "one cylinder EGT low on its bottom plug at run-up"),
        ("egt_no_rise.runup@right=yes", "EGTs do not rise on the right magneto at run-up"),
        ("rough_both_better_single.runup@left=yes", "smoother with the left magneto off at run-up"),
        ("plug_lead.static@3-bottom=yes", "No. 3 bottom plug: lead deposits"),
        ("plug_lead.static@3-bottom=no", "No. 3 bottom plug: no lead deposits"),
        ("plug_lead.static@some-bottom=yes", "one bottom plug: lead deposits"),
        ("plug_lead.static@all=no", "each plug: no lead deposits"),
        ("plug_lead.static@some/left=yes", "one left-magneto plug: lead deposits"),
        ("plug_lead.static@3-bottom=cannot", "No. 3 bottom plug: lead deposits? could not be checked"),
        ("lead_loose.static@1-top=yes", "No. 1 top lead: nut loose"),
        ("compression_low.static@3=yes", "No. 3 compression low"),
        ("points_pitted.static@left=yes", "left points pitted"),
        ("points_pitted.static@some=yes", "one magneto's points pitted"),
        ("spark_weak.static@left=weak|none", "left magneto sparks weakly or has no spark"),
        ("hard_start.start@engine=yes", "hard to start"),
        ("hard_start.hot@engine=yes", "hard to start when hot"),
        ("recent_plug_work@engine=yes", "plugs were out in the last 25 hours"),
        ("recent_magneto_work@left=no", "left magneto not touched in the last 25 hours"),
    ],
)
def test_results_read_as_they_are_said(result, told):
    """Wording decided by hand; which magneto fires 2-bottom is the layout's (`rulebase/layouts`)."""
    layout = BASE.layouts["opposed-4"]
    assert read_result(result, BASE, layout)
    assert sentence_of(BASE, layout, result) == told


def test_a_question_is_the_first_abnormal_grade():
    layout = BASE.layouts["opposed-4"]
    assert question_of(BASE, layout, "drop.runup@left") == "left drop over the limit at run-up?"
    assert question_of(BASE, layout, "plug_oil.static@3-top") == "No. 3 top plug: oily?"
    assert question_of(BASE, layout, "uses_oil@engine") == "uses much oil?"


@pytest.mark.parametrize("grade", NOTHING)
def test_what_nobody_saw_is_no_statement(grade):
    layout = BASE.layouts["opposed-6"]
    for symptom in BASE.symptoms.values():
        place = next(p for kind in symptom.at for p in layout.places(kind))
        told = sentence_of(BASE, layout, f"{symptom.id}.{symptom.default}@{place}={grade}")
        assert "? " in told
        assert told.endswith(("not known", "could not be checked"))
        assert len(told) < LONGEST + 25


def test_every_regime_has_words():
    assert set(REGIMES) - {"static"} <= set(BASE.when)


def test_a_result_of_another_rule_base_is_an_error():
    with pytest.raises(KeyError):
        sentence_of(BASE, network_of((), "opposed-4").layout, "no_such_thing.static@left=yes")
