"""An independent general-purpose engine on the shipped network with real evidence: the same posteriors to 1e-9.

Normal results, grades and "somewhere" are folded in by code of this file, not by the program's own.
"""

from __future__ import annotations

from math import prod
from time import perf_counter

import pytest

from diagnose import session
from diagnose.belief import exact
from diagnose.trouble.evidence import prepare

pytestmark = pytest.mark.slow

gum = pytest.importorskip("pyagrum", reason="the extra `oracle` is not installed")

EVIDENCE = [
    ["rough@left=yes"],
    ["rough.runup@some=yes"],
    ["drop@left=excessive", "rough@right=no"],
    ["drop@left=excessive|severe", "plug_lead@some-bottom=yes", "drop@right=normal"],
    ["drop@left=excessive", "drop_fast@left=yes", "plug_soot@3-bottom=no", "drop@right=normal"],
    ["rough@left=yes", "drop@left=excessive", "drop_fast@left=yes", "plug_lead@3-bottom=yes", "drop@right=normal"],
    ["rough@left=yes", "egt_low@3-bottom=yes", "plug_lead@3-bottom=yes", "egt_low@1-bottom=no"],
    [
        "drop.runup@left=severe",
        "rough.runup@left=yes",
        "plug_lead.static@3-bottom=yes",
        "egt_low@3-bottom=yes",
        "rough@right=no",
        "drop@right=normal",
        "plug_soot@3-bottom=no",
        "egt_low@2-top=no",
    ],
]


def within(levels, finding, look):
    """Return P(the level breaks no upper bound)."""
    return sum(levels[: look.bounds[finding] + 1]) if finding in look.bounds else 1.0


def meets(levels, finding, clause, look):
    """Return P(the level meets the clause, given that it breaks no bound)."""
    least = dict(clause.options)[finding]
    top = look.bounds.get(finding, len(levels) - 1)
    return sum(levels[least : top + 1]) / within(levels, finding, look)


def absorbed(effect, look):
    """Return what is left of an effect: P(breaks no bound | it occurs), and clause number -> P(met | occurs, breaks none)."""
    weight = prod(within(x.levels, x.finding, look) for x in effect.links)
    hits = {}
    for number, clause in enumerate(look.clauses):
        wanted = dict(clause.options)
        missed = prod(1 - meets(x.levels, x.finding, clause, look) for x in effect.links if x.finding in wanted)
        if missed < 1:
            hits[number] = 1 - missed
    return weight, hits


class Oracle:
    """Yes/no nodes: causes, a node for each effect, and for every positive result a chain of OR gates from its leaks on."""

    def __init__(self, model, evidence):
        self.net, self.count = gum.BayesNet(), 0
        self.look = evidence.looks[0]
        self.ends = [self.node(self.leak(model, clause)) for clause in self.look.clauses]
        self.coupled, self.free = {}, {}
        for cause in model.causes:
            self.cause(cause, evidence.odds.get(cause.id, 1.0))

    def leak(self, model, clause):
        """Return P(some leak meets the clause, given that none breaks a bound)."""
        return 1 - prod(1 - meets(model.leaks[f], f, clause, self.look) for f, _ in clause.options)

    def node(self, chance, parent=None):
        """Add a node: `chance` by itself, or only where its parent is there."""
        self.count += 1
        made = self.net.add(gum.LabelizedVariable(f"n{self.count}", "", 2))
        if parent is None:
            self.net.cpt(made).fillWith([1 - chance, chance])
        else:
            self.net.addArc(parent, made)
            self.net.cpt(made)[{self.name(parent): 0}] = [1, 0]
            self.net.cpt(made)[{self.name(parent): 1}] = [1 - chance, chance]
        return made

    def name(self, node):
        """Return a node's name."""
        return self.net.variable(node).name()

    def either(self, before, mine, chance):
        """Add the gate "met before, or met by this effect with `chance`"."""
        made = self.node(0.0)
        self.net.addArc(before, made)
        self.net.addArc(mine, made)
        for was in (0, 1):
            for here in (0, 1):
                met = 1.0 if was else chance * here
                self.net.cpt(made)[{self.name(before): was, self.name(mine): here}] = [1 - met, met]
        return made

    def cause(self, cause, factor):
        """Add a cause where it can meet a positive result; else keep its chance, worked out here."""
        odds, gates = cause.prior / (1 - cause.prior) * factor, []
        for effect in cause.effects:
            weight, hits = absorbed(effect, self.look)
            kept = 1 - effect.strength + effect.strength * weight
            odds *= kept
            if hits:
                gates.append((effect.strength * weight / kept, hits))
        if not gates:
            self.free[cause.id] = odds / (1 + odds)
            return
        self.coupled[cause.id] = top = self.node(odds / (1 + odds))
        for strength, hits in gates:
            occurs = self.node(strength, top)
            for number, chance in hits.items():
                self.ends[number] = self.either(self.ends[number], occurs, chance)

    def posteriors(self):
        """Return P(cause | every positive result) by junction tree."""
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence({self.name(end): 1 for end in self.ends})
        engine.makeInference()
        return self.free | {c: float(engine.posterior(node)[1]) for c, node in self.coupled.items()}


def timed(work):
    """Return what some work gives, and its seconds."""
    start = perf_counter()
    return work(), perf_counter() - start


@pytest.mark.parametrize("results", EVIDENCE, ids=lambda r: f"{sum('no' not in x for x in r)}-positive-{len(r)}")
def test_agrees_with_the_independent_engine(results):
    """Every cause of opposed-4, one to four positive results beside normal ones; times are printed, not judged."""
    network = session.network_of((), "opposed-4")
    trouble = session.trouble_from(network.base, network.layout, [], results, frozenset())
    evidence = prepare(network, trouble.looks).evidence
    # One finding in two positives would need their joint table; the gates here take each by itself.
    named = [f for clause in evidence.looks[0].clauses for f, _ in clause.options]
    assert len(named) == len(set(named))
    ours, quick = timed(lambda: exact.believe(network.model, evidence))
    oracle, built = timed(lambda: Oracle(network.model, evidence))
    theirs, slow = timed(oracle.posteriors)
    print(
        f"{len(oracle.ends)} positives: ours {quick * 1e3:.0f} ms, general engine {slow * 1e3:.0f} ms to infer"
        f" + {built * 1e3:.0f} ms to build, ratio {slow / quick:.1f}"
    )
    assert len(oracle.coupled) > 50
    assert theirs.keys() == ours.present.keys()
    for cause, chance in theirs.items():
        assert ours.present[cause] == pytest.approx(chance, abs=1e-9), cause
