"""Every case of `cases/`: what a good answer says, judged on the shipped rule base."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from diagnose import loaded
from diagnose.rulebase.casebook import read_cases
from diagnose.rulebase.locate import shipped
from tests.casebook.judging import judge, story
from tests.fast import every_nth_fast

CASES, PROBLEMS = read_cases(shipped("cases"))
BY_NAME = {c.name: c for c in CASES}


@cache
def verdict_on(name):
    """Return the verdict on a case, once."""
    return judge(BY_NAME[name], loaded.network_of((), BY_NAME[name].layout))


def mark(case):
    """Return the case as a test parameter; a known gap must fail, and the day it does not, it must lose its mark."""
    gap = [pytest.mark.xfail(strict=True, reason=case.known_gap)] if case.known_gap else []
    return pytest.param(case, id=case.name, marks=gap)


def test_every_case_file_is_read():
    """No file is passed over, and no case and no title stands twice."""
    assert PROBLEMS == ()
    assert len(BY_NAME) == len(CASES)
    titles = [c.title for c in CASES]
    assert [t for t in set(titles) if titles.count(t) > 1] == []


@pytest.mark.parametrize("case", [mark(c) for c in CASES])
def test_case(case):
    """What the case expects holds; a failure prints the ranking and what each result did."""
    verdict = verdict_on(case.name)
    assert not verdict.failures, "\n" + story(case, loaded.network_of((), case.layout), verdict)


@pytest.mark.parametrize("cause", loaded.rulebase().causes)
def test_every_cause_leads_some_case(cause):
    """A cause that no realistic set of findings brings to the front is dead weight, or its group's name is another's.

    Cases copied from output do not count, nor do known gaps; a repair group may stand for its members.
    """
    told = f"no case is led by {cause}: write one in cases/ with `expect: {{first: [{cause}@PLACE]}}`"
    assert any(leads(cause, case) for case in CASES if case.kind != "regression" and not case.known_gap), told


def leads(cause, case):
    """Return whether a cause comes first in a case: as its expectation alone says, else as judged."""
    causes = loaded.network_of((), case.layout).causes
    named = [{causes[name].cause.id} if name in causes else {cause} for name in case.expect.first]
    if named == [{cause}] and case.expect.first[0] in causes:
        return True  # `test_case` sees to it
    return any(cause in ids for ids in named) and causes[verdict_on(case.name).ranked[0].id].cause.id == cause


@pytest.mark.parametrize("layout", every_nth_fast(5, loaded.rulebase().layouts))
@pytest.mark.parametrize("name", ["preflight", "inspection"])
def test_a_sound_engine_of_every_layout(layout, name):
    """Where every usual check is normal nothing alarms, whatever the engine looks like."""
    case = replace(BY_NAME[f"healthy.yaml:{name}"], layout=layout)
    verdict = judge(case, loaded.network_of((), layout))
    assert not verdict.failures, "\n" + story(case, loaded.network_of((), layout), verdict)


def test_every_kind_and_basis():
    """Each kind stands for itself, and no basis is empty talk: a source, common practice, or how the circuit works."""
    sources = set(loaded.rulebase().sources)
    assert {c.kind for c in CASES} >= {"table", "look_alike", "healthy", "incomplete", "contradictory", "double", "worked"}
    plain = ("how the circuit works", "common practice, no source", "FAA-H-8083-32B")
    unfounded = [c.name for c in CASES if not c.basis.startswith(plain) and c.basis.split()[0].rstrip(",:") not in sources]
    assert unfounded == []


def test_no_published_row_rests_on_more_than_its_table():
    """Of the opposed-engine table (FAA-H-8083-32B fig 10-52) every row with a cause here has its case."""
    rows = {f"t{n:02d}" for n in range(1, 37)} - {"t03", "t12"}  # throttle set wrong, mixture left in cut-off: no cause
    here = {c.id for c in CASES if c.name.startswith("worked.yaml:")}
    assert rows <= here
    assert {f"n{n:02d}" for n in range(1, 20)} <= here
