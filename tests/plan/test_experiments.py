"""Exchanging parts: exact against every world listed, and how near the shipped one-result checks come to it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from diagnose import loaded
from diagnose.belief import exact, reference
from diagnose.belief.model import CauseNode, Clause, Contradiction, Effect, Evidence, Link, Look, Model, newest_complaints
from tests.belief import networks, worlds
from tests.belief.test_engines import agree
from tests.plan.experiments import after_exchange, exchange, outcomes

NETWORK = loaded.network_of((), "opposed-4")
SEEN = Evidence((Look({}, (Clause((("a", 1),), True),)),), blamed=frozenset({(0, 0)}))
MOVES = {"worn": {"a": "b"}, "cracked": {"a": "b"}}


def circuit(prior_worn=0.01, prior_cracked=0.005, prior_lead=0.008, strength=0.8, leak=0.005, number=float):
    """Return two circuits: two faults of the plug in the first, one of its lead, and what shows by itself."""
    yes = (Link("a", (number(0), number(1))),)
    made = {"worn": prior_worn, "cracked": prior_cracked, "lead": prior_lead}
    levels = tuple(number(Fraction(str(p))) for p in (1 - Fraction(str(leak)), leak))
    return Model(
        tuple(CauseNode(c, number(Fraction(str(p))), (Effect(number(Fraction(str(strength))), yes),)) for c, p in made.items()),
        {"a": levels, "b": levels},
    )


def by_reading(found):
    """Return (abnormal at the first place, at the second) -> outcome."""
    return {(o.first, o.second): o for o in found}


def test_a_moving_plug_worked_by_hand():
    """Before: plug .52, lead .28. Follows: plug 1.00. Stays: lead and leak. Four readings .48 .26 .26 .007 (closed form, worked here)."""
    model = circuit()
    before = exact.believe(model, SEEN)
    plug = before.responsible["worn"] + before.responsible["cracked"]
    assert plug == pytest.approx(0.52, abs=0.01)
    assert before.responsible["lead"] == pytest.approx(0.28, abs=0.01)
    read = by_reading(outcomes(model, SEEN, MOVES, "a", "b"))
    assert sum(o.probability for o in read.values()) == pytest.approx(1)
    follows, stays = read[False, True], read[True, False]
    assert follows.responsible["worn"] + follows.responsible["cracked"] == pytest.approx(1.0, abs=0.01)
    assert follows.probability > 0.45
    assert stays.responsible["lead"] == pytest.approx(before.responsible["lead"] / (1 - plug), abs=0.03)
    assert stays.responsible["worn"] < 0.02
    assert read[True, True].probability < 0.02


@pytest.mark.parametrize("seed", range(12))
def test_every_reading_against_every_world(seed):
    """The four readings of an exchange equal the list of worlds in exact fractions, to 1e-9."""
    rng = Random(seed)
    draw = lambda low, high: Fraction(rng.randint(low, high), 100)
    worn, cracked, lead = (str(float(draw(1, 30))) for _ in range(3))
    model = circuit(worn, cracked, lead, str(float(draw(30, 95))), str(float(draw(1, 10))), number=Fraction)
    exactly: dict[str, Any] = {"show_again": Fraction(95, 100), "bad_repair": Fraction(1, 100)}
    known = replace(SEEN, **exactly)
    plain = circuit(worn, cracked, lead, float(model.causes[0].effects[0].strength), float(model.leaks["a"][1]))
    read = by_reading(outcomes(plain, SEEN, MOVES, "a", "b"))
    free = worlds.believe(model, after_exchange(known, MOVES))[0]
    for (first, second), found in read.items():
        bounds = {f: 0 for f, seen in (("a", first), ("b", second)) if not seen}
        clauses = tuple(Clause(((f, 1),)) for f, seen in (("a", first), ("b", second)) if seen)
        told = replace(known, looks=(*known.looks, Look(bounds, clauses, moved=MOVES)))
        z, _, responsible, _ = worlds.believe(model, told)
        assert found.probability == pytest.approx(float(z / free), abs=1e-9)
        for cause, share in responsible.items():
            assert found.responsible[cause] == pytest.approx(float(share), abs=1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_both_engines_agree_where_links_move(seed):
    """Random networks, two or three looks, links moved at random in the later ones."""
    rng = Random(7000 + seed)
    model = networks.network(rng, rng.randint(2, 7), 3)
    sizes = {f: len(levels) for f, levels in model.leaks.items()}
    drawn = networks.evidence(rng, model, looks=rng.choice((2, 3)))
    looks = list(drawn.looks)
    for t in range(1, len(looks)):
        moved = {}
        for cause in rng.sample([c.id for c in model.causes], 2):
            here, there = rng.sample(sorted(model.leaks), 2)
            if sizes[here] == sizes[there]:
                moved[cause] = {here: there}
        looks[t] = replace(looks[t], moved=moved)
    evidence = replace(drawn, looks=tuple(looks))
    try:
        slow = reference.believe(model, evidence)
    except Contradiction:
        with pytest.raises(Contradiction):
            exact.believe(model, evidence)
        return
    agree(exact.believe(model, evidence), slow, 1e-9)


def test_nothing_moves_nothing_changes():
    """An empty exchange is a second look at the same thing."""
    model = circuit()
    plain = replace(SEEN, looks=(*SEEN.looks, Look()))
    agree(exact.believe(model, after_exchange(SEEN, {})), exact.believe(model, plain), 1e-15)


@pytest.mark.parametrize("here", ["1-top", "3-bottom"])
def test_what_moves_on_the_shipped_network(here):
    """Only causes of the part move; from 1 to 3, circuit, cylinder and magneto go along, and back again."""
    layout = NETWORK.layout
    there = next(c for c in layout.fires[layout.side_of[here]] if c != here)
    moves = exchange(NETWORK, "swap_plug", here, there)
    assert moves
    own = {c: renamed for c, renamed in moves.items() if NETWORK.causes[c].place in (here, there)}
    assert {NETWORK.causes[c].place for c in own} == {here, there}
    for renamed in (r for c, r in moves.items() if c not in own):
        assert {f.rpartition("@")[2] for f in (*renamed, *renamed.values())} <= {here, there}, "what stays takes nothing else along"
    for cause, renamed in own.items():
        other = there if NETWORK.causes[cause].place == here else here
        twin = cause.replace(NETWORK.causes[cause].place, other)
        for finding, target in renamed.items():
            assert target.rpartition("@")[2] in (other, other.split("-")[0], layout.side_of[other], *layout.related(other, "twin"))
            assert moves[twin][target] == finding, "a change back and forth ends where it began"
    for finding, target in (pair for renamed in moves.values() for pair in renamed.items()):
        assert len(NETWORK.model.leaks[finding]) == len(NETWORK.model.leaks[target])


def test_an_exchange_of_plugs_on_the_shipped_network():
    """A cold circuit with a silent plug: following blames plugs, staying blames the lead; the shipped check says so too."""
    here, there = "1-top", "3-top"
    looks = (Look({}, (Clause((("egt_low.runup@1-top", 1),), True),)),)
    evidence = Evidence(looks, {}, NETWORK.base.settings.show_again, NETWORK.base.settings.bad_repair, newest_complaints(looks))
    moves = exchange(NETWORK, "swap_plug", here, there)
    read = by_reading(outcomes(NETWORK.model, evidence, moves, f"egt_low.runup@{here}", f"egt_low.runup@{there}"))
    plug = {c for c in moves if NETWORK.causes[c].place == here}
    share = lambda responsible: sum(p for c, p in responsible.items() if c in plug)
    before = share(exact.believe(NETWORK.model, evidence).responsible)
    follows, stays = share(read[False, True].responsible), share(read[True, False].responsible)
    assert follows > 0.9 > before > stays
    named = "fault_follows_plug.runup@1-top"
    shipped_yes = exact.believe(
        NETWORK.model, replace(evidence, looks=(replace(looks[0], clauses=(*looks[0].clauses, Clause(((named, 1),)))),))
    )
    shipped_no = exact.believe(NETWORK.model, replace(evidence, looks=(replace(looks[0], bounds={named: 0}),)))
    assert share(shipped_yes.responsible) == pytest.approx(follows, abs=0.08)
    assert share(shipped_no.responsible) < before
    print(
        f"plug: before {before:.3f}; exchange {follows:.3f} follows, {stays:.3f} stays; "
        f"check {share(shipped_yes.responsible):.3f} yes, {share(shipped_no.responsible):.3f} no"
    )
