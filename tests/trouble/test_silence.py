"""Two silent sides, reach by mechanism and what shows somehow, from the rule base into the numbers of belief."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.audit.reach import silent
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from diagnose.trouble.exchanges import Exchange, moved_links
from diagnose.trouble.network import build
from diagnose.trouble.silence import hidden, merged
from tests.fast import all_but_first_slow

LAYOUTS = ("opposed-4", "opposed-4-dual", "opposed-6-rear", "radial-18")


def network(layout="opposed-4"):
    """Return the shipped network of a layout."""
    return loaded.network_of((), layout)


def overlaid(tmp_path, text, layout="opposed-4"):
    """Return the network of the shipped rule base with one file laid over it."""
    (tmp_path / "over.yaml").write_text("format: 1\nnumbers: estimate\n" + text, encoding="utf-8")
    base, problems = read_rulebase([shipped("rulebase"), tmp_path])
    assert problems == []
    return build(base, base.layouts[layout])


def fed(net, cause):
    """Return the hidden findings a cause feeds, by all of their names."""
    return {name for name, one in net.hidden.items() if one in net.cause_nodes[cause].feeds}


def test_an_engine_without_spark_on_both_sides_stops_and_does_not_start():
    """A pair in every regime in which a side's drop is read, and at the start."""
    net = network()
    pairs = net.model.pairs
    for name in ("engine_stops.runup", "engine_stops.hot", "no_start.start", "no_start.cold", "hard_start.wet"):
        regime = name.split(".")[1]
        assert pairs[f"{name}@engine"] == ((net.hidden[hidden(regime, "left")], net.hidden[hidden(regime, "right")]),)
    assert not any(name.startswith(("rough", "drop", "power_low")) for name in pairs)


def test_what_usually_stops_a_side_silences_it_and_what_weakens_it_does_not():
    """A P-lead to ground silences its side in every regime it acts in, cranking too; a weak coil makes no side silent."""
    net = network()
    everywhere = fed(net, "p_lead_grounded@left")
    assert {hidden(r, "left") for r in ("start", "cold", "runup", "high_power", "engine_stops", "no_start")} <= everywhere
    assert not any(name.endswith("@right") for name in everywhere)
    assert fed(net, "coil_weak@left") == set()
    # Pieces of an impulse coupling stop the magneto while it runs and while it is cranked.
    assert {hidden("runup", "left"), hidden("start", "left")} <= fed(net, "impulse_breaking_up@left")


def test_silence_comes_with_the_drop_in_one_effect():
    """The sure links stand in the very effect that shows the drop, for each regime of it."""
    net = network()
    for effect in net.cause_nodes["capacitor_shorted@right"].effects:
        links = {link.finding: link.levels for link in effect.links}
        drops = {name.split("@")[0].removeprefix("drop.") for name in links if name.startswith("drop.")}
        for regime in drops:
            assert links[net.hidden[hidden(regime, "right")]] == (0.0, 1.0)


def test_what_the_same_faults_silence_is_told_apart_by_nothing():
    """A few hidden findings are left, the same on both sides: whatever is normal costs belief eight bits at most."""
    net = network()
    left = {one for name, one in net.hidden.items() if name.endswith("@left")}
    assert len(left) <= 4
    assert {one.replace("@left", "@right") for one in left} == {one for name, one in net.hidden.items() if name.endswith("@right")}
    assert net.hidden[hidden("cruise_lean", "left")] == net.hidden[hidden("high_power", "left")]
    assert net.hidden[hidden("wet", "left")] != net.hidden[hidden("runup", "left")]


def test_one_side_grounded_by_the_switch_stops_no_engine_by_itself():
    """What doubled the pair is gone: the other side carries the engine."""
    net = network()
    assert not any(name.startswith("engine_stops") for name in net.cause_nodes["switch_grounding_wrong@left"].feeds)
    assert hidden("high_power", "left") in fed(net, "switch_grounding_wrong@left")


@pytest.mark.parametrize("layout", LAYOUTS)
def test_one_pair_stands_for_all_regimes(layout):
    """Both silent in some regime, and both silent in the same: equally likely, so "in any regime" is exact with one pair."""
    net = network(layout)
    for symptom in (s for s in net.base.symptoms.values() if s.both):
        together, sometime = silent(net, symptom)
        assert together > 1e-7
        assert sometime == pytest.approx(together, rel=1e-9)
        assert merged(net.base, symptom.id, symptom.regimes) == ((hidden(symptom.id, "left"), hidden(symptom.id, "right")),)
        assert merged(net.base, symptom.id, symptom.regimes[:2]) is None


@pytest.mark.parametrize("layout", all_but_first_slow(LAYOUTS))
def test_somehow_adds_half_a_leak_to_any_squawk(layout):
    """Summed over the causes in scope that are not linked to it: at most that, and less by no more than a step of the ways (the root
    of two), but where its way would be open more than half the time."""
    net = network(layout)
    model = net.model
    added: dict[str, float] = {}
    most: dict[str, float] = {}
    for cause in model.causes:
        for finding, width in cause.somehow.open.items():
            assert 0 < width <= 0.5
            if finding not in model.written(cause) | cause.never:
                added[finding] = added.get(finding, 0.0) + cause.prior * width * cause.somehow.shows
                most[finding] = width
    assert {net.symptoms[f].symptom.kind for f in added} == {"squawk"}
    for finding, share in added.items():
        half = sum(model.leaks[finding][1:]) / 2
        assert share <= half * (1 + 1e-9), finding
        assert share > half / 2**0.5 * (1 - 1e-9) or most[finding] == 0.5, finding


def test_somehow_stays_at_the_place():
    """A plug of cylinder 3 shows nothing of cylinder 1 or of the other side; a fuel fault nothing of any one place."""
    net = network()
    plug, fuel = (set(net.cause_nodes[c].somehow.open) for c in ("plug_nose_cracked@3-bottom", "fuel_bad@engine"))
    side = net.layout.side_of["3-bottom"]
    assert {"rough.runup@engine", f"rough.runup@{side}", "egt_low.runup@3"} <= plug
    assert {net.symptoms[f].place for f in plug} == {"engine", side, "3", "3-bottom"}
    assert {net.symptoms[f].place for f in fuel} == {"engine"}


def test_never_shuts_out_what_is_known_not_to_show(tmp_path):
    """With its reason, in one regime or in all."""
    text = """causes:
  plug_nose_cracked:
    never:
      engine_stops@engine: the cylinder burns on its other plug
      kick_back.start@engine: one plug short of a spark fires nothing early
"""
    cause = overlaid(tmp_path, text).cause_nodes["plug_nose_cracked@3-bottom"]
    regimes = ("idle", "runup", "cruise_lean", "high_power", "hot", "wet")
    assert cause.never == {*(f"engine_stops.{r}@engine" for r in regimes), "kick_back.start@engine"}


ACTS = """causes:
  coil_open:
    effects:
      - {use: magneto_weak, acts: load, strength: .8}
      - shows: {coil_fail@here: .93}
        strength: .65
"""


def test_a_mechanism_makes_nested_steps_of_one_effect(tmp_path):
    """Each step shows in its own regimes, with the strength as written once the cause reaches so far."""
    net = overlaid(tmp_path, ACTS)
    cause = net.cause_nodes["coil_open@left"]
    assert cause.reach == pytest.approx((0, 0.3, 0.2, 0.3, 0.2))
    regimes = {
        e.step: {x.finding.split("@")[0].removeprefix("rough.") for x in e.links if x.finding.startswith("rough.")} for e in cause.effects
    }
    assert regimes == {1: {"high_power", "altitude"}, 2: {"cruise_lean", "hot"}, 3: {"runup"}, 4: {"idle", "cold", "wet"}, 0: set()}
    assert [e.strength for e in cause.effects if e.step] == pytest.approx([0.8] * 4)
    # What the graph says is how often it shows so whatever the reach: .8 x (1, .7, .5, .2).
    often = [d["strength"] for _, _, d in net.graph.out_edges("coil_open@left", data=True) if d["step"]]
    assert often == pytest.approx([0.8, 0.56, 0.4, 0.16])


def test_a_cause_may_reach_in_its_own_way(tmp_path):
    """Its own shares win over those of the mechanism."""
    text = ACTS + "    reach: [.1, .1, .1, .7]\n"
    assert overlaid(tmp_path, text).cause_nodes["coil_open@left"].reach == pytest.approx((0, 0.1, 0.1, 0.1, 0.7))


def test_an_exchanged_part_takes_along_what_it_shows_somehow():
    """A plug moved to another cylinder of the other side shows there what it would have shown here in ways nobody wrote."""
    net = network()
    check = next(c.id for c in net.base.checks.values() if c.moves)
    left, right = (net.layout.fires[side][0] for side in ("left", "right"))
    moved = moved_links(net, [Exchange(check, left, right)])
    cause = next(c for c in moved if c.endswith(f"@{left}") and "rough.wet@left" not in net.cause_nodes[c].feeds)
    assert moved[cause]["rough.wet@left"] == "rough.wet@right"
