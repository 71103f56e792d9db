"""Every case of `cases/`: what a good answer says, judged on the shipped rule base."""

from __future__ import annotations

import pytest

from diagnose import session
from diagnose.casebook import read_cases
from diagnose.rulebase.locate import shipped
from tests.cases.judging import judge, story

CASES, PROBLEMS = read_cases(shipped("cases"))


def mark(case):
    """Return the case as a test parameter; a known gap must fail, and the day it does not, it must lose its mark."""
    gap = [pytest.mark.xfail(strict=True, reason=case.known_gap)] if case.known_gap else []
    return pytest.param(case, id=case.name, marks=gap)


def test_every_case_file_is_read():
    """No file is passed over and no name stands twice."""
    assert PROBLEMS == ()
    assert len({c.name for c in CASES}) == len(CASES)
    titles = [c.title for c in CASES]
    assert [t for t in set(titles) if titles.count(t) > 1] == []


@pytest.mark.parametrize("case", [mark(c) for c in CASES])
def test_case(case):
    """What the case expects holds; a failure prints the ranking and what each result did."""
    network = session.network_of((), case.layout)
    verdict = judge(case, network)
    assert not verdict.failures, "\n" + story(case, network, verdict)
