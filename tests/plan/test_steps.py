"""Remedies beside checks, why a step is offered, and what stands in the documents about it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.assessment.assess import assess
from diagnose.assessment.explain import why_attempt, why_check
from diagnose.assessment.steps import remedy_order
from diagnose.report.documents import next_document, rank_document
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import read_result
from diagnose.trouble.trouble import Trouble
from tests.plan.test_plan import looked_at, trouble

CLEAR = (
    "rough.runup@left=yes",
    "drop@left=excessive",
    "drop_fast@left=yes",
    "egt_low@3-bottom=yes",
    "plug_lead@3-bottom=yes",
    "plug_lead@1-bottom=no",
    "plug_lead@2-bottom=no",
    "plug_lead@4-bottom=no",
    "plug_bridged@3-bottom=no",
)


def cleared():
    """Return (network, assessment) of a leaded plug seen with the eyes."""
    network, told = trouble("opposed-4", CLEAR)
    return network, assess(network, told)


@pytest.mark.slow
def test_a_remedy_cheaper_than_any_check_stands_first():
    """A leaded plug in the hand: cleaning it is the step, as an `action` row, with what each outcome would be."""
    network, seen = cleared()
    assert seen.plan.repair_first
    assert seen.plan.paying == ()
    row = next_document(network, seen)["next"][0]
    attempt = seen.plan.attempts[0]
    assert row["action"] == attempt.group.key == "clean_plug@3-bottom"
    assert "check" not in row
    assert set(row) >= {"action", "place", "minutes", "access", "people", "value", "why", "cautions", "results"}
    gone, stays = row["results"]
    assert gone["probability"] + stays["probability"] == pytest.approx(1)
    assert gone["probability"] == pytest.approx(attempt.share, abs=1e-9)
    assert gone["results"] == ["rough.runup@left=no", "drop.runup@left=normal", "egt_low.runup@3-bottom=no"]
    assert stays["results"] == ["rough.runup@left=yes", "drop.runup@left=excessive", "egt_low.runup@3-bottom=yes"]
    for text in gone["results"] + stays["results"]:
        read_result(text, network.base, network.layout)
    assert rank_document(network, seen)["next"][0] == {k: v for k, v in row.items() if k != "results"}


@pytest.mark.slow
def test_rows_stand_by_expected_minutes():
    """Checks and remedies in one order; no action row where a check is cheaper."""
    for network, seen in (cleared(), looked_at("rough on one side"), looked_at("no start")):
        rows = next_document(network, seen)["next"]
        kinds = ["action" in r for r in rows]
        assert kinds == sorted(kinds, reverse=True)
        if not any(kinds):
            assert seen.plan.attempts[0].cost > seen.plan.checks[0].cost


def test_a_remedy_counts_its_retest_and_access():
    """Work, access not yet there and the run after it, each once (rule base numbers, estimates)."""
    network, seen = cleared()
    base = network.base
    for attempt in seen.plan.attempts:
        remedy = attempt.group.remedy
        reach = sum(base.access[a].minutes.value for a in remedy.access if a not in ("cowl_off", "plugs_out"))  # seen to be open
        assert attempt.minutes == pytest.approx(remedy.minutes.value + reach + base.settings.retest_minutes)
        assert attempt.cost >= attempt.minutes


def test_a_part_is_not_changed_while_a_check_pays():
    """Changing a part may be the cheapest bet and still waits for a check that pays, until it is settled."""
    _, seen = cleared()
    first = seen.plan.attempts[0]
    part = replace(first, group=replace(first.group, remedy=replace(first.group.remedy, parts=True)), share=0.6)
    assert not replace(seen.plan, attempts=(part,)).repair_first
    assert replace(seen.plan, attempts=(replace(part, share=0.95),)).repair_first


def test_why_compares_in_minutes():
    """The sentence holds the minutes of both, and the difference between the two ways to a fixed engine."""
    _, seen = looked_at("rough on one side")
    first = seen.plan.checks[0]
    second = next(v for v in seen.plan.checks if v.cost >= first.cost + 0.5)  # a gentler first check may cost more than the next
    text = why_check(first, second)
    gap = second.cost - first.cost
    assert gap >= 0.5
    assert f"takes {first.minutes:.0f} min" in text
    assert f"about {first.cost:.0f} min to a fixed engine" in text
    assert f"{gap:.0f} min less than starting with {second.located.check.label.lower()} ({second.located.place})" in text
    assert f"{gap:.0f} min more than starting with" in why_check(second, first)
    assert "as good:" in why_check(first, replace(second, cost=first.cost + 0.1))
    assert "starting with" not in why_check(first, None)


def test_why_a_remedy_comes_before_a_check():
    """It names the minutes, the share it ends, and the check it beats."""
    _, seen = cleared()
    attempt, check = seen.plan.attempts[0], seen.plan.checks[0]
    text = why_attempt(attempt, check)
    assert f"{attempt.share:.0%}" in text
    assert check.located.check.label.lower() in text
    assert why_attempt(attempt, None).endswith("no check is left")


@pytest.mark.slow
def test_a_partial_improvement_keeps_a_second_fault_alive():
    """After the plug is cleaned the drop is normal but the roughness stays: something else is responsible, and is looked for."""
    network, told = trouble("opposed-4", CLEAR)
    before = assess(network, told)
    again = tuple(r for t in ("drop@left=normal", "rough.runup@left=yes") for r in read_result(t, network.base, network.layout))
    later = LookResults(again, again[1:], (Repair("clean_plug", "3-bottom"),))
    after = assess(network, Trouble((*told.looks, later)))
    top = next(r for r in after.finding.causes)
    assert after.finding.state != "confirmed"
    assert before.finding.group_shares["clean_plug@3-bottom"] > 0.9
    assert after.finding.group_shares["clean_plug@3-bottom"] < 0.2
    assert not top.id.startswith("plug_lead_fouled@3-bottom")
    assert after.plan.checks, "the complaint is looked at again, and checks are offered"


@pytest.mark.slow
def test_gone_after_the_remedy_is_confirmed():
    """Every part of the complaint normal under its own conditions after the remedy: confirmed, nothing more to do."""
    network, told = trouble("opposed-4", CLEAR)
    again = tuple(
        r for t in ("drop@left=normal", "rough.runup@left=no", "egt_low@3-bottom=no") for r in read_result(t, network.base, network.layout)
    )
    later = LookResults(again, (), (Repair("clean_plug", "3-bottom"),))
    assert assess(network, Trouble((*told.looks, later))).finding.state == "confirmed"


def test_ambiguous_names_its_remedies_cheapest_first():
    """The order shown costs no more than any swap of two neighbours in it (expected minutes of trying, worked here)."""
    network, seen = looked_at("rough on one side")
    ambiguous = replace(seen, finding=replace(seen.finding, state="ambiguous"))
    order = remedy_order(network, ambiguous)
    shares, minutes = seen.finding.group_shares, seen.plan.remedy_minutes

    def cost(keys):
        left, total = 1.0, 0.0
        for key in keys:
            total += left * minutes[key]
            left -= shares[key]
        return total

    assert len(order) >= 2
    for i in range(len(order) - 1):
        swapped = [*order[:i], order[i + 1], order[i], *order[i + 2 :]]
        assert cost(order) <= cost(swapped) + 1e-9


def test_unexplained_names_the_two_results_that_clash():
    """No drop on the left, yet the engine stops in OFF: an open P-lead would show both, so these two are named.

    The limit is lowered for the test: the shipped one calls only results unexplained that clash twice as hard.
    """
    network, told = trouble("opposed-4", ("no_drop.runup@left=yes", "runs_in_off.idle@engine=no", "no_start@engine=no"))
    strict = replace(network.base, settings=replace(network.base.settings, conflict_limit=1.0))
    network = replace(network, base=strict)
    seen = assess(network, told)
    assert seen.finding.state == "unexplained"
    assert set(seen.finding.conflict) == {"no_drop.runup@left=yes", "runs_in_off.idle@engine=no"}
    assert rank_document(network, seen)["conflict"] == list(seen.finding.conflict)
