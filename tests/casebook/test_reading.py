"""Reading case files: every mistake is named with its place; and a wrong expectation is caught by the judge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.rulebase.casebook import Expect, read_case_file, read_cases
from tests.casebook.judging import judge, story

GOOD = """format: 1
cases:
  one:
    title: Leaded plug
    kind: table
    layout: opposed-4
    history: [long_idling@engine=yes]
    complaint: [rough.runup@left=yes]
    results: [cold_cylinder@3-bottom=yes, plug_lead@3-bottom=yes]
    expect: {first: [plug_lead_fouled@3-bottom], within: {2: [plug_lead_fouled@3-bottom]}, state: [isolated, unsettled]}
    basis: how the circuit works
"""


def read_one(text):
    """Return the only case of a text that must be right."""
    cases, problems = read_case_file("t.yaml", text.encode())
    assert problems == ()
    return cases[0]


def test_a_good_case():
    """Every field arrives, with the place it came from."""
    case = read_one(GOOD)
    assert (case.name, case.mark.line, case.mark.column) == ("t.yaml:one", 3, 3)
    assert case.complaint == ("rough.runup@left=yes",)
    assert case.expect.within == {2: ("plug_lead_fouled@3-bottom",)}
    assert case.expect.state == ("isolated", "unsettled")
    assert case.expect.unexplained_at_least is None


@pytest.mark.parametrize(
    ("old", "new", "line", "code"),
    [
        ("format: 1", "format: 2", 1, "format"),
        ("kind: table", "kind: tabel", 5, "word"),
        ("    title: Leaded plug\n", "", 4, "missing"),
        ("    basis: how the circuit works\n", "", 4, "missing"),
        ("    layout: opposed-4", "    layuot: opposed-4", 4, "missing"),
        ("results:", "result:", 9, "unknown-key"),
        ("within: {2:", "within: {0:", 10, "number"),
        ("within: {2:", "within: {two:", 10, "number"),
        ("within: {2: [plug_lead_fouled@3-bottom]}", "within: {2: plug_lead_fouled@3-bottom}", 10, "shape"),
        ("state: [isolated, unsettled]", "state: solved", 10, "word"),
        ("state: [isolated, unsettled]", "alarm: some", 10, "word"),
        ("state: [isolated, unsettled]", "unexplained_at_least: 1", 10, "number"),
        ("complaint: [rough.runup@left=yes]", "complaint: rough.runup@left=yes", 8, "shape"),
        ("    basis:", "    basis: twice\n    basis:", 12, "duplicate-key"),
    ],
)
def test_a_mistake_is_named_with_its_line(old, new, line, code):
    """The first problem stands at the line of the mistake, or of the entry that lacks something."""
    assert old in GOOD
    cases, problems = read_case_file("t.yaml", GOOD.replace(old, new).encode())
    assert (problems[0].line, problems[0].code) == (line, code), [str(p) for p in problems]
    assert code == "duplicate-key" or code == "format" or cases == ()


def test_nothing_told_and_nothing_expected():
    """A case without results, or that expects nothing, is no case."""
    text = GOOD.replace("    complaint: [rough.runup@left=yes]\n", "").replace(
        "    results: [cold_cylinder@3-bottom=yes, plug_lead@3-bottom=yes]\n", ""
    )
    assert [p.code for p in read_case_file("t.yaml", text.encode())[1]] == ["missing"]
    start = GOOD.index("expect:")
    text = GOOD[:start] + "expect: {}\n    basis: x\n"
    assert [p.code for p in read_case_file("t.yaml", text.encode())[1]] == ["missing"]


def test_a_folder_is_read_without_the_demo(tmp_path):
    """Files in order, folders within, the demo's own format left to the demo; an unreadable path is a problem."""
    (tmp_path / "demo").mkdir()
    (tmp_path / "more").mkdir()
    (tmp_path / "demo" / "x.yaml").write_text("not: this\n")
    (tmp_path / "more" / "b.yaml").write_text(GOOD)
    (tmp_path / "a.yaml").write_text(GOOD)
    cases, problems = read_cases(tmp_path)
    assert [c.name for c in cases] == ["a.yaml:one", "more/b.yaml:one"]
    assert problems == ()
    assert [p.code for p in read_cases(tmp_path / "none.yaml")[1]] == ["file"]


WRONG = {
    "first": Expect(first=("lead_open@3-bottom",)),
    "rises": Expect(rises=("p_lead_open@right",)),
    "falls": Expect(falls=("plug_lead_fouled@3-bottom",)),
    "within": Expect(within={2: ("timing_late@left",)}),
    "state": Expect(state=("unexplained",)),
    "alarm": Expect(alarm="none"),
    "unexplained": Expect(unexplained_at_least=0.5),
    "no such name": Expect(first=("plug_led_fouled@3-bottom",)),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_expectation_fails(what):
    """Each kind of expectation can fail; the story names the leader and what the results did."""
    case = replace(read_one(GOOD), expect=WRONG[what])
    network = loaded.network_of((), case.layout)
    verdict = judge(case, network)
    assert verdict.failures
    told = story(case, network, verdict)
    assert "plug_lead_fouled@3-bottom" in told
    assert "cold_cylinder.runup@3-bottom=yes x" in told


def test_a_cleared_cause_fails_kept():
    """A clean plug clears the deposit it does not show."""
    text = GOOD.replace("plug_lead@3-bottom=yes]", "plug_lead@3-bottom=no, plug_bench_fail@3-bottom=no, rough.idle@left=no]")
    network = loaded.network_of((), "opposed-4")
    kept = replace(
        read_one(
            text.replace("complaint: [rough.runup@left=yes]\n", "complaint: [kick_back@engine=yes]\n").replace(
                "cold_cylinder@3-bottom=yes", "cold_cylinder@3-bottom=no"
            )
        ),
        expect=Expect(kept=("plug_lead_fouled@3-bottom",)),
    )
    assert "is cleared" in judge(kept, network).failures[0]


def test_results_that_cannot_be_read_fail():
    """A misspelt result is a failure with the reader's own words, not a pass."""
    case = read_one(GOOD.replace("plug_lead@3-bottom=yes]", "plug_leed@3-bottom=yes]"))
    assert "no symptom is called" in judge(case, loaded.network_of((), case.layout)).failures[0]
