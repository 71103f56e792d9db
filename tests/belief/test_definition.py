"""The definition of belief on examples small enough to work out by hand."""

from __future__ import annotations

import pytest

from diagnose.belief import reference
from diagnose.belief.model import CauseNode, Clause, Effect, Evidence, Link, Look, Model, Somehow, newest_complaints, prior_with_odds

LEAK = {"stops": (0.99, 0.01), "drop": (0.98, 0.02), "late": (0.999, 0.001), "rough": (0.9, 0.1)}


def dead(side, prior=0.1, strength=0.8):
    """Return a cause that silences a side, whatever the drop reads."""
    return CauseNode(side, prior, (Effect(strength, (Link("drop", (0.5, 0.5)), Link(f"{side} silent", (0.0, 1.0)))),))


BOTH = Model(
    (dead("left"), dead("right"), CauseNode("fuel", 0.05, (Effect(0.5, (Link("stops", (0.0, 1.0)),)),))),
    LEAK,
    {"stops": (("left silent", "right silent"),)},
)
STOPS = Evidence((Look({}, (Clause((("stops", 1),), True),)),), blamed=frozenset({(0, 0)}))


def test_an_engine_stops_by_one_fault_or_by_one_on_each_side():
    """Both sides silent .08 squared = .0064; fuel .025; leak .01; by inclusion."""
    belief = reference.believe(BOTH, STOPS)
    direct = 1 - 0.975 * 0.99
    assert belief.likelihood == pytest.approx(direct + (1 - direct) * 0.0064, rel=1e-12)
    assert belief.responsible["left"] == pytest.approx(0.0064 / belief.likelihood, rel=1e-12)
    assert belief.responsible["fuel"] == pytest.approx(0.025 / belief.likelihood, rel=1e-12)
    assert belief.unexplained == pytest.approx(0.975 * (1 - 0.0064) * 0.01 / belief.likelihood, rel=1e-12)
    # There, with or without guilt: it stops unless nothing stops it directly and the other side fires.
    assert belief.present["left"] == pytest.approx(0.1 * (1 - (1 - direct) * (1 - 0.8 * 0.08)) / belief.likelihood, rel=1e-12)


def test_a_running_engine_says_that_not_both_sides_are_silent():
    """A normal result takes out exactly both silent: P(runs) = .975 x .99 x (1 - .0064)."""
    belief = reference.believe(BOTH, Evidence((Look({"stops": 0}),)))
    assert belief.likelihood == pytest.approx(0.975 * 0.99 * (1 - 0.0064), rel=1e-12)
    assert belief.present["left"] == pytest.approx((0.1 - 0.08 * 0.08) / (1 - 0.0064), rel=1e-12)


def test_silence_and_drop_are_one_draw():
    """Both come with the effect: a normal drop leaves of silence what the drop misses of it, .5 each, and no more."""
    model = Model((dead("left"), dead("right")), LEAK, BOTH.pairs)
    look = Look({"drop": 0}, STOPS.looks[0].clauses)
    belief = reference.believe(model, Evidence((look,), blamed=STOPS.blamed))
    missed, quiet = (0.08 * 0.5) ** 2 * 0.98, (0.08 * 0.5 + 0.92) ** 2 * 0.98
    assert belief.likelihood == pytest.approx(missed + (quiet - missed) * 0.01, rel=1e-12)
    assert belief.responsible["left"] == pytest.approx(missed / belief.likelihood, rel=1e-12)


def test_a_quieted_cause_silences_nothing():
    """What a remedy may quiet is left out of the complaint, its hidden half too."""
    first = STOPS.looks[0]
    again = Look(first.bounds, first.clauses, quieted=frozenset({"left"}))
    belief = reference.believe(BOTH, Evidence((Look(), again), blamed=frozenset({(1, 0)})))
    assert belief.responsible["left"] == 0
    assert belief.responsible["right"] == 0


def test_reach_is_one_draw():
    """Quiet where more is demanded speaks against the fault where less is: .4 reach the first step only, .3 both."""
    effects = (Effect(0.9, (Link("late", (0.0, 1.0)),), 1), Effect(0.9, (Link("rough", (0.0, 1.0)),), 2))
    model = Model((CauseNode("coil", 0.5, effects, (0.3, 0.4, 0.3)),), LEAK)
    assert reference.believe(model, Evidence((Look({"late": 0}),))).likelihood == pytest.approx(0.999 * (1 - 0.5 * 0.7 * 0.9))
    belief = reference.believe(model, Evidence((Look({"late": 0, "rough": 0}),)))
    there = 0.5 * (0.3 + 0.4 * 0.1 + 0.3 * 0.1 * 0.1)
    assert belief.present["coil"] == pytest.approx(there / (0.5 + there), rel=1e-12)


def somehow(effects=(), never=()):
    """Return a model with one cause to which the way to a stop is open in .05 of its looks, to roughness in .2."""
    cause = CauseNode("points", 0.3, effects, somehow=Somehow({"stops": 0.05, "rough": 0.2}), never=frozenset(never))
    return Model((cause,), LEAK, BOTH.pairs)


def test_somehow_is_one_draw_for_all_results():
    """Two results nobody wrote cost the draw once; a normal one counts too."""
    both = Evidence((Look({}, (Clause((("stops", 1),), True), Clause((("rough", 1),)))),), blamed=frozenset({(0, 0)}))
    stops = 0.05 * (0.5 + 0.5 * 0.01) * (0.5 + 0.5 * 0.1) + 0.15 * 0.01 * (0.5 + 0.5 * 0.1) + 0.8 * 0.01 * 0.1
    assert reference.believe(somehow(), both).likelihood == pytest.approx(0.3 * stops + 0.7 * 0.001, rel=1e-12)
    assert reference.believe(somehow(), both).responsible["points"] == pytest.approx(
        0.3 * 0.05 * 0.5 * 0.55 / (0.3 * stops + 0.7 * 0.001), rel=1e-12
    )
    quiet = reference.believe(somehow(), Evidence((Look({"rough": 0}),)))
    assert quiet.likelihood == pytest.approx(0.9 * (0.7 + 0.3 * (1 - 0.2 * 0.5)), rel=1e-12)


def test_a_result_with_several_options_has_one_chance():
    """The largest of its options', not one each; none where the cause is linked to one of them."""
    either = Evidence((Look({}, (Clause((("stops", 1), ("rough", 1)), True),)),), blamed=frozenset({(0, 0)}))
    leaks = 1 - 0.99 * 0.9
    assert reference.believe(somehow(), either).likelihood == pytest.approx(leaks + (1 - leaks) * 0.3 * 0.2 * 0.5, rel=1e-12)
    linked = somehow((Effect(0.5, (Link("stops", (0.9, 0.1)),)),))
    assert reference.believe(linked, either).likelihood == pytest.approx(leaks + (1 - leaks) * 0.3 * 0.5 * 0.1, rel=1e-12)


@pytest.mark.parametrize("silences", [True, False])
def test_what_is_known_or_ruled_out_is_not_shown_somehow(silences):
    """A cause that feeds half of a pair is known to the finding; `never` shuts it out as well."""
    effects = (Effect(0.5, (Link("left silent", (0.0, 1.0)),)),) if silences else ()
    belief = reference.believe(somehow(effects, () if silences else ("stops",)), STOPS)
    assert belief.responsible["points"] == 0
    assert belief.likelihood == pytest.approx(0.01, rel=1e-12)


def test_each_complaint_is_blamed_in_its_own_newest_look():
    """One complaint ends with a repair, the other stays: the removed cause answers for the first, others for the second."""
    causes = tuple(CauseNode(name, 0.01, (Effect(0.9, (Link(f, (0.0, 1.0)),)),)) for name, f in (("a", "stops"), ("b", "rough")))
    stops, rough = (Clause(((f, 1),), True) for f in ("stops", "rough"))
    looks = (Look({}, (stops, rough)), Look({"stops": 0}, (rough,), removed=frozenset({"a"})))
    belief = reference.believe(Model(causes, LEAK), Evidence(looks, blamed=frozenset({(0, 0), (1, 0)})))
    # The first complaint by itself: the fault, .009, or a leak that was there and does not show again.
    lasts = 0.01 / 0.95
    leak, none = lasts * 0.95 * 0.05, 1 - lasts + lasts * 0.05**2
    assert belief.responsible["a"] == pytest.approx(0.009 * (none + leak) / (0.009 * none + leak), rel=1e-12)
    # The second: the fault in both looks, or a leak in both.
    fault, stray = 0.009 / 0.95 * 0.95**2, 0.1 / 0.95 * 0.95**2
    assert belief.responsible["b"] == pytest.approx(fault / (fault + stray), abs=0.01)


def test_what_is_gone_is_blamed_only_when_nothing_stands():
    """Newest look of each complaint; one seen normal since is left out while another stands, whatever was not looked at again."""
    stops, rough, some = (Clause(tuple((f, 1) for f in names), True) for names in (("stops",), ("rough",), ("drop", "late")))
    first = Look({}, (stops, rough))
    assert newest_complaints((first, Look({}, (rough,)))) == {(0, 0), (1, 0)}
    assert newest_complaints((first, Look({"stops": 0}, (rough,)))) == {(1, 0)}
    assert newest_complaints((first, Look({"stops": 0, "rough": 0}))) == {(0, 0), (0, 1)}
    assert newest_complaints((Look({}, (some, rough)), Look({"drop": 0}))) == {(0, 0), (0, 1)}
    assert newest_complaints((Look({}, (some, rough)), Look({"drop": 0}), Look({"late": 0}))) == {(0, 1)}


def test_numbers_past_all_bounds_are_no_nan():
    """A factor of 1e307, or of several such together, makes a cause sure; a sure link is a plain number."""
    assert prior_with_odds(0.5, 1e307) == 1.0
    assert prior_with_odds(0.5, float("inf")) == 1.0
    assert prior_with_odds(1e-300, 1e-300) == 0.0
    belief = reference.believe(BOTH, Evidence(STOPS.looks, {"left": float("inf")}, blamed=STOPS.blamed))
    assert belief.present["left"] == pytest.approx(1.0, abs=1e-15)
