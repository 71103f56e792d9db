"""An independent general-purpose engine on the shipped network with real evidence: the same posteriors to 1e-9."""

from __future__ import annotations

import pytest

from diagnose import session
from diagnose.belief import exact
from diagnose.evidence import prepare

gum = pytest.importorskip("pyagrum", reason="the extra `oracle` is not installed")

EVIDENCE = [
    ["rough@left=yes"],
    ["drop@left=excessive", "rough@right=no"],
    ["drop@left=excessive", "drop_fast@left=yes", "plug_soot@3-bottom=no", "drop@right=normal"],
    ["rough@left=yes", "drop@left=excessive", "drop_fast@left=yes", "plug_lead@3-bottom=yes", "drop@right=normal"],
    ["rough@left=yes", "egt_low@3-bottom=yes", "plug_lead@3-bottom=yes", "egt_low@1-bottom=no"],
]


def absorbed(effect, evidence):
    """Return what is left of an effect once results are absorbed: (weight when it occurs, positive -> chance)."""
    look = evidence.looks[0]
    least = {c.options[0][0]: c.options[0][1] for c in look.clauses}
    weight, hits = 1.0, {}
    for link in effect.links:
        if link.finding not in look.bounds:
            continue
        below = sum(link.levels[: look.bounds[link.finding] + 1])
        weight *= below
        if link.finding in least:
            chance = sum(link.levels[least[link.finding] : look.bounds[link.finding] + 1])
            if chance > 0:
                hits[link.finding] = chance / below
    return weight, hits


def oracle_posteriors(model, evidence):
    """Return P(cause) for every cause that can meet a positive result; normal results are folded into priors here."""
    look = evidence.looks[0]
    net = gum.BayesNet()
    last, counter, causes = {}, 0, []
    for finding in [c.options[0][0] for c in look.clauses]:
        leak = model.leaks[finding]
        least = next(c.options[0][1] for c in look.clauses if c.options[0][0] == finding)
        below = sum(leak[: look.bounds[finding] + 1])
        chance = sum(leak[least : look.bounds[finding] + 1]) / below
        node = net.add(gum.LabelizedVariable(f"g{counter}", "", 2))
        net.cpt(node).fillWith([1 - chance, chance])
        last[finding] = node
        counter += 1
    free = {}
    for cause in model.causes:
        there, gates = 1.0, []
        for effect in cause.effects:
            weight, hits = absorbed(effect, evidence)
            kept = 1 - effect.strength + effect.strength * weight
            there *= kept
            if hits:
                gates.append((effect.strength * weight / kept, hits))
        odds = cause.prior / (1 - cause.prior) * evidence.odds.get(cause.id, 1.0) * there
        if not gates:
            free[cause.id] = odds / (1 + odds)
            continue
        top = net.add(gum.LabelizedVariable(f"c{len(causes)}", "", 2))
        net.cpt(top).fillWith([1 / (1 + odds), odds / (1 + odds)])
        causes.append((cause.id, top))
        for strength, hits in gates:
            effect_node = net.add(gum.LabelizedVariable(f"e{counter}", "", 2))
            counter += 1
            net.addArc(top, effect_node)
            net.cpt(effect_node)[{net.variable(top).name(): 0}] = [1, 0]
            net.cpt(effect_node)[{net.variable(top).name(): 1}] = [1 - strength, strength]
            for finding, chance in hits.items():
                gate = net.add(gum.LabelizedVariable(f"g{counter}", "", 2))
                counter += 1
                net.addArc(last[finding], gate)
                net.addArc(effect_node, gate)
                before, mine = net.variable(last[finding]).name(), net.variable(effect_node).name()
                net.cpt(gate)[{before: 0, mine: 0}] = [1, 0]
                net.cpt(gate)[{before: 0, mine: 1}] = [1 - chance, chance]
                net.cpt(gate)[{before: 1, mine: 0}] = [0, 1]
                net.cpt(gate)[{before: 1, mine: 1}] = [0, 1]
                last[finding] = gate
    engine = gum.LazyPropagation(net)
    engine.setEvidence({net.variable(node).name(): 1 for node in last.values()})
    engine.makeInference()
    return {ident: float(engine.posterior(node)[1]) for ident, node in causes}, free


@pytest.mark.parametrize("results", EVIDENCE, ids=len)
def test_agrees_with_the_independent_engine(results):
    """Every cause of opposed-4, one to four positive results beside normal ones."""
    network = session.network_of((), "opposed-4")
    trouble = session.trouble_from(network.base, network.layout, [], results, frozenset())
    evidence = prepare(network, trouble.looks).evidence
    ours = exact.believe(network.model, evidence)
    coupled, free = oracle_posteriors(network.model, evidence)
    assert len(coupled) > 50
    for ident, chance in {**coupled, **free}.items():
        assert ours.present[ident] == pytest.approx(chance, abs=1e-9), ident
