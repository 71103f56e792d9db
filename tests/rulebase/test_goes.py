"""How a trouble goes and what changes it: every cause answers, each question once, and belief follows the mechanism."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.audit import entries
from diagnose.belief.exact import believe
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.results import default_complaint, read_results
from tests.rulebase.test_layers import over

BASE = loaded.rulebase()
MINE = "format: 1\nnumbers: estimate\n"


@pytest.mark.parametrize("cause", BASE.causes)
def test_every_cause_goes_one_way_and_answers_each_question_once(cause):
    """Counted from the entries, not from what the loader says."""
    entry = BASE.causes[cause]
    kinds = [BASE.templates[rule.template].goes for rule in entry.goes]
    assert kinds.count("course") == 1
    answered = [show.ref.symptom for rule in entry.goes for show in rule.shows]
    assert len(answered) == len(set(answered))
    assert all(BASE.symptoms[name].kind == "course" for name in answered)


def test_every_question_and_template_is_of_use():
    """Some cause answers each question, some cause names each template, and each question is asked by one check."""
    named = {rule.template for cause in BASE.causes.values() for rule in cause.goes}
    assert named == {name for name, t in BASE.templates.items() if t.goes}
    course = {s.id for s in BASE.symptoms.values() if s.kind == "course"}
    assert {show.ref.symptom for name in named for show in BASE.templates[name].shows} == course
    asked = [ref.symptom for check in BASE.checks.values() for ref in check.gives if ref.symptom in course]
    assert sorted(asked) == sorted(course)


@pytest.mark.parametrize(
    ("goes", "says"),
    [
        ("[wears_slowly, breaks_at_once]", "goes in two ways"),
        ("[wears_slowly, eases_weak_spark, eases_lean]", "answers richer_helps by eases_weak_spark and by eases_lean"),
        ("[wears_slowely]", "did you mean wears_slowly"),
        ("[magneto_weak]", "no template for `goes:` is called"),
    ],
)
def test_what_goes_wrong_is_named_where_it_stands(tmp_path, goes, says):
    """One problem, at the line of `goes`."""
    _, problems = over(tmp_path, f"{MINE}causes:\n  coil_weak:\n    goes: {goes}\n")
    assert [p.line for p in problems] == [5]
    assert says in str(problems[0])


def test_a_cause_without_a_course_is_found_by_the_audit(tmp_path):
    """It loads, so that a folder laid over the shipped one need not know of courses."""
    base, problems = over(tmp_path, f"{MINE}causes:\n  coil_weak:\n    goes: [eases_weak_spark]\n")
    assert problems == []
    assert [f.about for f in entries.findings(base) if f.id == "no-course"] == ["coil_weak"]


@pytest.mark.parametrize(
    ("field", "says"),
    [("suffix: {sudden: yes}", "that of 'came_suddenly' too"), ("suffix: {mine: maybe}", "no grade 'maybe'")],
)
def test_a_word_after_a_result_stands_for_one_thing(tmp_path, field, says):
    """A word twice, and a grade that does not exist."""
    text = "symptoms:\n  mine: {label: M, kind: course, at: [engine], grades: {no: n, yes: y}, leak: {yes: .1}, %s}\n"
    _, problems = over(tmp_path, MINE + text % field)
    assert says in " ".join(map(str, problems))


def shares(*texts):
    """Return the responsibility of every cause of a four."""
    network = loaded.network_of((), "opposed-4")
    results = read_results(texts, network.base, network.layout)
    return believe(network.model, prepare(network, [LookResults(results, default_complaint(results, network.base))]).evidence).responsible


@pytest.mark.parametrize(
    ("told", "word", "likelier", "less_likely"),
    [
        ("rough.cruise_lean@engine=yes", "richer_gone", "mixture_lean@engine", "mount_worn@engine"),
        ("rough@engine=yes", "leaner_gone", "mixture_rich_run@engine", "leads_crossed@1-bottom"),
        ("rough.hot@left=yes", "cool_gone", "coil_opens_hot@left", "points_dirty@left"),
        ("rough.wet@left=yes", "dry_gone", "distributor_moist@left", "coil_weak@left"),
        ("drop@left=dies", "comes_and_goes", "p_lead_intermittent@left", "p_lead_grounded@left"),
        ("drop@left=dies", "steady", "p_lead_grounded@left", "p_lead_intermittent@left"),
        ("engine_stops.cruise_lean@engine=yes", "sudden", "p_leads_both_grounded@engine", "both_magnetos_worn@engine"),
        ("no_start@engine=yes", "battery_gone", "battery_weak@engine", "leads_crossed@1-bottom"),
        ("rough@left=yes", "cleaned_no", "lead_open@1-bottom", "plug_lead_fouled@1-bottom"),
        ("rough.cold@engine=yes", "warm_gone", "valve_sticking@1", "push_rod_bent@1"),
        ("drop@left=excessive", "retimed_gone", "timing_late@left", "plug_gap_wide@1-bottom"),
    ],
)
def test_belief_follows_the_mechanism(told, word, likelier, less_likely):
    """Common practice, no source: the odds between two causes move the way a mechanic would move them, by a factor of 1.5 at least."""
    before, after = shares(told), shares(f"{told}~{word}")
    assert after[likelier] / after[less_likely] > 1.5 * before[likelier] / before[less_likely]
