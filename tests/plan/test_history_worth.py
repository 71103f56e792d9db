"""Which questions about the past are worth asking: compared with the belief worked out in full for every answer."""

from __future__ import annotations

from math import log2

import pytest

from diagnose import loaded
from diagnose.assessment.finding import rank
from diagnose.plan.history_worth import LEAST, moved, safety_questions, worth_asking

STORIES = (("rough.runup@left=yes", "drop.runup@left=excessive"), ("no_start@engine=yes",), ("runs_in_off.idle@engine=yes",))


@pytest.fixture(scope="module")
def network():
    """Return the network of the four-cylinder engine."""
    return loaded.network_of((), "opposed-4")


def assessed(network, told, more=()):
    """Return the assessment of a complaint and what else is known."""
    return loaded.assessed(network, loaded.trouble_from(network.base, network.layout, told, list(more), frozenset()))


def shares_of(a):
    """Return the share of every cause."""
    return {r.id: r.share for r in a.finding.causes}


def exact(network, told, history):
    """Return the information of an answer about the repair groups: belief and likelihood of each answer worked out in full."""
    chances, left = {}, {}
    for answer, number in history.probability.items():
        then = assessed(network, told, [f"{history.id}@engine={answer}"])
        chances[answer] = number.value * rank(network, then.prepared)[0].likelihood
        left[answer] = entropy(then)
    whole = sum(chances.values())
    return entropy(assessed(network, told)) - sum(chances[x] / whole * left[x] for x in chances)


def entropy(a):
    """Return the bits of the repair groups, each by the summed shares of its causes."""
    shares = [sum(shares_of(a)[c] for c in g.causes) for g in a.groups.values()]
    return -sum(s / sum(shares) * log2(s / sum(shares)) for s in shares if s > 0)


@pytest.mark.slow
@pytest.mark.parametrize("told", STORIES[:2])
def test_the_cheap_worth_orders_questions_as_the_full_belief_does(network, told):
    """The question the factors put first is among the first three by the full belief, and what stands last is worth less there too."""
    a = assessed(network, told)
    cheap = worth_asking(network, a.groups, shares_of(a), {})
    picked = [*cheap[:4], *cheap[-3:]]
    full = {w.history.id: exact(network, told, w.history) for w in picked}
    order = sorted(full, key=lambda k: -full[k])
    assert cheap[0].history.id in order[:3]
    assert full[cheap[0].history.id] > max(full[w.history.id] for w in cheap[-3:])


def test_what_moves_a_suspect_is_worth_more_than_what_moves_none(network):
    """A cold night is asked for a bad start and not for an engine that keeps firing; shares without a fault it acts on: nothing."""
    start, off = (assessed(network, told) for told in (STORIES[1], STORIES[2]))
    of = {name: {w.history.id: w for w in worth_asking(network, a.groups, shares_of(a), {})} for name, a in (("s", start), ("o", off))}
    assert of["s"]["cold_soak"].notable
    assert not of["o"]["cold_soak"].notable
    only = {"plug_lead_fouled@1-bottom": 1.0}
    assert all(w.information < 1e-9 for w in worth_asking(network, off.groups, only, {}))
    assert 0 < LEAST < 0.1


def test_the_narrower_question_waits_for_the_wider(network):
    """Nothing of the ignition was touched: none of its parts is asked; touched: they are; what is answered is not asked again."""
    a = assessed(network, STORIES[0])
    answered: tuple[dict[str, str], ...] = ({}, said("no"), said("yes"))
    found = [{w.history.id for w in worth_asking(network, a.groups, shares_of(a), s)} for s in answered]
    assert ["recent_plug_work" in ids for ids in found] == [False, False, True]
    assert "recent_ignition_work" not in found[1]
    assert not {h.id for h in safety_questions(network)} & found[0]


def said(answer):
    """Return one answer to the question on the ignition as a whole."""
    return {"recent_ignition_work": answer}


def test_shares_move_with_an_answer_and_keep_their_sum(network):
    """By the factors of the rule base, rounding apart; an answer that is not known moves nothing."""
    history = network.base.history["recent_ignition_work"]
    shares = {"p_lead_open@left": 0.1, "plug_lead_fouled@1-bottom": 0.3}
    new = moved(network, history, "just", shares)
    assert sum(new.values()) == pytest.approx(0.4)
    assert new["p_lead_open@left"] / new["plug_lead_fouled@1-bottom"] == pytest.approx(0.1 * 6.7 / (0.3 * 0.49))
    assert moved(network, history, "unknown", shares) == shares


def test_safety_is_asked_whatever_it_tells(network):
    """The question whether it was struck or kicked back holds the role."""
    assert [h.role for h in safety_questions(network)] == ["inspect_first"]
