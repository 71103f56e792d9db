"""How results are written: SYMPTOM[.REGIME]@PLACE=GRADE, every rule of it, and what a wrong one is told.

Four cylinders opposed: 1-bottom, 3-bottom, 2-top, 4-top on the left magneto, the others on the right.
"""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.problems import BadInput
from diagnose.trouble.results import as_complaint, default_complaint, read_result, read_results

LEFT = ("1-bottom", "3-bottom", "2-top", "4-top")


@pytest.fixture(scope="module")
def base():
    """Return the shipped rule base."""
    return loaded.rulebase()


@pytest.fixture(scope="module")
def layout(base):
    """Return four cylinders opposed."""
    return base.layouts["opposed-4"]


@pytest.mark.parametrize(
    ("written", "canonical"),
    [
        ("drop@left=excessive", "drop.runup@left=excessive"),
        (" drop.cruise_lean@left=excessive\n", "drop.cruise_lean@left=excessive"),
        ("plug_lead@3/left=yes", "plug_lead.static@3-bottom=yes"),
        ("plug_lead@3/right=yes", "plug_lead.static@3-top=yes"),
        ("plug_lead@2/left=yes", "plug_lead.static@2-top=yes"),
        ("egt_low@3=yes", "egt_low.runup@3=yes"),
        ("rough.any@engine=yes", "rough.any@engine=yes"),
        ("drop@left=excessive|severe", "drop.runup@left=excessive|severe"),
        ("drop@left=unknown", "drop.runup@left=unknown"),
        ("drop@left=cannot", "drop.runup@left=cannot"),
        ("recent_ignition_work@engine=yes", "recent_ignition_work@engine=yes"),
    ],
)
def test_a_result_is_made_canonical_and_reads_back_as_itself(base, layout, written, canonical):
    """Default regime filled in, `3/left` named as the plug it is."""
    (result,) = read_result(written, base, layout)
    assert str(result) == canonical
    assert read_result(canonical, base, layout) == (result,)


@pytest.mark.parametrize(
    ("written", "abnormal", "normal", "low", "high"),
    [
        ("drop@left=normal", False, True, 0, 0),
        ("drop@left=excessive", True, False, 1, 1),
        ("drop@left=dies", True, False, 3, 3),
        ("drop@left=normal|excessive", False, False, 0, 1),
        ("drop@left=excessive|severe|dies", True, False, 1, 3),
        ("drop@left=unknown", False, False, -1, -1),
        ("drop@left=cannot", False, False, -1, -1),
        ("plug_hours_over_100@engine=yes", False, True, 0, 0),
        ("recent_ignition_work@left=yes", False, False, 1, 1),
        ("recent_ignition_work@left=no", False, False, 2, 2),
        ("comes_and_goes@engine=yes", True, False, 1, 1),
    ],
)
def test_what_is_abnormal(base, layout, written, abnormal, normal, low, high):
    """`a|b` only if all its grades are; not knowing is neither; history never is."""
    (result,) = read_result(written, base, layout)
    assert (result.abnormal, result.low, result.high) == (abnormal, low, high)
    if not result.history:
        assert result.normal == normal


@pytest.mark.parametrize(
    ("written", "places"),
    [
        ("rough@some=yes", {"left", "right", "engine"}),
        ("drop@some=excessive", {"left", "right"}),
        ("no_drop@some=yes", {"left", "right"}),
        ("egt_low@some=yes", {f"{c}-{p}" for c in range(1, 5) for p in ("top", "bottom")}),
        ("plug_lead@some-bottom=yes", {"1-bottom", "2-bottom", "3-bottom", "4-bottom"}),
        ("plug_lead@some/left=yes", set(LEFT)),
        ("compression_low@some=yes", {"1", "2", "3", "4"}),
    ],
)
def test_some_is_one_result_over_its_places(base, layout, written, places):
    """At least one of them, which one unknown."""
    (result,) = read_result(written, base, layout)
    assert set(result.places) == places
    assert len(result.places) == len(places)
    assert result.several


@pytest.mark.parametrize(
    ("written", "places"),
    [
        ("drop@all=normal", {"left", "right"}),
        ("plug_lead@all/left=no", set(LEFT)),
        ("plug_lead@all=cannot", {f"{c}-{p}" for c in range(1, 5) for p in ("top", "bottom")}),
        ("plug_lead@all-top=yes", {"1-top", "2-top", "3-top", "4-top"}),
    ],
)
def test_all_is_one_result_for_each_place(base, layout, written, places):
    """Any grade, expanded to single results."""
    found = read_result(written, base, layout)
    assert {r.place for r in found} == places
    assert len(found) == len(places)
    assert all(r.places == (r.place,) and not r.several for r in found)


def test_any_is_one_result_over_the_regimes(base, layout):
    """Seen, not known when."""
    (result,) = read_result("egt_low.any@3=yes", base, layout)
    assert result.regimes == base.symptoms["egt_low"].regimes
    assert result.several


@pytest.mark.parametrize(
    "written", ["rough@some=no", "rough.any@engine=no", "drop@some=normal|excessive", "drop.any@left=normal|excessive"]
)
def test_some_and_any_take_abnormal_grades_only(base, layout, written):
    """ "Not known which is normal" says nothing."""
    with pytest.raises(BadInput, match="takes an abnormal grade"):
        read_result(written, base, layout)


@pytest.mark.parametrize(
    ("written", "hints"),
    [
        ("rouhg@left=yes", ["rough"]),
        ("recent_ignition_wrk@left=yes", ["recent_ignition_work"]),
        ("rough.runnup@left=yes", ["runup"]),
        ("plug_lead.runup@3-bottom=yes", ["static"]),
        ("no_drop.hot@left=yes", ["runup"]),
        ("rough@lefft=yes", ["left"]),
        ("plug_lead@3-botom=yes", ["3-bottom"]),
        ("plug_lead@9/left=yes", ["3-bottom", "1-bottom", "known:"]),
        ("plug_lead@3=yes", ["3-bottom", "3-top"]),
        ("rough@3=yes", ["left", "engine"]),
        ("cht_high@3-top=yes", ["3"]),
        ("plug_lead@some-botom=yes", ["some-bottom"]),
        ("plug_lead@all/lefft=yes", ["some/left", "all/left"]),
        ("rough@some/left=yes", ["some"]),
        ("drop@left=exessive", ["excessive"]),
        ("drop@left=excessive|dies", ["excessive, severe, dies"]),
        ("drop@left=severe|excessive", ["excessive, severe, dies"]),
        ("drop@left=unknown|normal", ["normal, excessive"]),
        ("drop@left=excessive|", ["normal, excessive"]),
        ("drop@left", ["SYMPTOM[.REGIME]@PLACE=GRADE"]),
        ("", ["SYMPTOM"]),
        ("=", ["SYMPTOM"]),
        ("recent_ignition_work.runup@left=yes", ["recent_ignition_work@left=yes"]),
        ("recent_ignition_work@3=yes", ["engine, left, right"]),
        ("recent_ignition_work@left=maybe", ["just, yes, no"]),
        ("rough@left=yes~suden", ["sudden"]),
        ("rough@left=yes~", ["again"]),
        ("constant_speed@left=yes", ["engine"]),
    ],
)
def test_a_wrong_result_is_refused_in_one_line_that_names_what_is_near(base, layout, written, hints):
    """The text itself is in the line, and at least one of the words that would have done."""
    with pytest.raises(BadInput) as refused:
        read_result(written, base, layout)
    text = str(refused.value)
    assert "\n" not in text
    assert f"'{written}'" in text
    assert any(hint in text.replace(f"'{written}'", "", 1) for hint in hints), text


def test_a_suffix_is_told_of_the_trouble_as_a_whole(base, layout):
    """The result itself, then what each word stands for, which is what is kept; two words against each other are refused."""
    whole = read_results(["rough.cruise_lean@engine=yes~sudden~richer_gone~steady"], base, layout)
    apart = ["rough.cruise_lean@engine=yes", "came_suddenly@engine=yes", "richer_helps@engine=gone", "comes_and_goes@engine=no"]
    assert whole == read_results(apart, base, layout)
    assert [str(r).split("=")[1] for r in whole] == ["yes", "yes", "gone", "no"]
    assert len(read_results(["rough@left=yes~sudden", "drop@left=severe~sudden"], base, layout)) == 3
    with pytest.raises(BadInput, match=r"comes_and_goes\.static@engine is given as 'yes' and as 'no'"):
        read_results(["rough@left=yes~comes_and_goes~steady"], base, layout)


def test_every_word_after_a_result_reads_as_its_grade(base, layout):
    """Word by word of the rule base; an opposite (leaner is worse) reads as the same symptom."""
    words = {word: (s.id, grade) for s in base.symptoms.values() for word, grade in s.suffix.items()}
    assert len(words) > 50
    for word, (symptom, grade) in words.items():
        (told,) = read_result(f"rough@left=yes~{word}", base, layout)[1:]
        assert (told.symptom, told.grade, told.place, told.course) == (symptom, grade, "engine", True)
        assert read_result(str(told), base, layout) == (told,)
    assert words["leaner_worse"] == ("richer_helps", "better")


def test_how_it_goes_is_no_complaint(base, layout):
    """Beside a complaint it is left out of it, alone it is refused; where none is named it is never taken for one."""
    told = read_results(["drop@left=excessive~grew"], base, layout)
    assert [str(r) for r in as_complaint(told)] == ["drop.runup@left=excessive"]
    assert [str(r) for r in default_complaint(told, base)] == ["drop.runup@left=excessive"]
    alone = read_results(["grew@engine=yes"], base, layout)
    assert default_complaint(alone, base) == ()
    with pytest.raises(BadInput, match="name what is wrong as well"):
        as_complaint(alone)


def test_the_same_thing_twice(base, layout):
    """One grade counts once, two are refused, and spellings are one before duplicates are judged."""
    assert len(read_results(["plug_lead@3/left=yes", "plug_lead.static@3-bottom=yes"], base, layout)) == 1
    for other in ("plug_lead@3-bottom=no", "plug_lead@all=no", "plug_lead@3-bottom=unknown"):
        with pytest.raises(BadInput, match=r"plug_lead\.static@3-bottom is given as 'yes' and as"):
            read_results(["plug_lead@3/left=yes", other], base, layout)
    kept = read_results(["drop.runup@left=excessive", "drop.idle@left=normal", "drop@right=normal"], base, layout)
    assert [str(r) for r in kept] == ["drop.runup@left=excessive", "drop.idle@left=normal", "drop.runup@right=normal"]


def test_the_complaint_where_none_is_named(base, layout):
    """Abnormal squawks first; only without one, the abnormal test results; history and normal ones never."""
    texts = ["plug_lead@3-bottom=yes", "drop@left=excessive", "drop@right=normal", "recent_ignition_work@left=no", "rough@left=unknown"]
    assert [str(r) for r in default_complaint(read_results(texts, base, layout), base)] == ["drop.runup@left=excessive"]
    assert [str(r) for r in default_complaint(read_results(texts[:1], base, layout), base)] == ["plug_lead.static@3-bottom=yes"]
    assert default_complaint(read_results(texts[2:], base, layout), base) == ()


@pytest.mark.parametrize("text", ["drop@left=normal", "drop@left=normal|excessive", "drop@left=unknown", "recent_ignition_work@left=no"])
def test_a_complaint_must_be_abnormal(base, layout, text):
    """Something that is not wrong is no complaint."""
    with pytest.raises(BadInput, match="is not abnormal"):
        as_complaint(read_results([text], base, layout))


def test_radials_name_their_plugs_front_and_rear(base):
    """A radial's magneto fires all front or all rear plugs; each circuit has the side its layout says."""
    radial = base.layouts["radial-9"]
    (result,) = read_result("plug_lead@3-front=yes", base, radial)
    assert result.place == "3-front"
    for side in ("left", "right"):
        (result,) = read_result(f"plug_lead@3/{side}=yes", base, radial)
        assert radial.side_of[result.place] == side
    with pytest.raises(BadInput, match="3-front"):
        read_result("plug_lead@3-top=yes", base, radial)
