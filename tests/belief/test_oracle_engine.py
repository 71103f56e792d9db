"""An independent general-purpose engine on the shipped network with real evidence: the same posteriors to 1e-9.

Normal results, grades, "somewhere", pairs and what shows somehow are put in by code of this file, not by the program's own.
"""

from __future__ import annotations

from dataclasses import replace
from math import prod
from time import perf_counter

import pytest

from diagnose import loaded
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
    ["engine_stops.cruise_lean@engine=yes"],
    ["engine_stops.any@engine=yes", "drop@left=normal"],
    ["engine_stops.cruise_lean@engine=yes", "spark_weak@left=none", "spark_weak@right=none"],
    ["rough.cruise_lean@left=yes", "spark_weak@right=none", "engine_stops.cruise_lean@engine=no"],
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


def ways(model, cause, look):
    """Return what a cause shows somehow of the results told: (how often open, P(breaks no bound), clause number, P(met))."""
    known = {x.finding for e in cause.effects for x in e.links}
    known |= {f for f, pairs in model.pairs.items() if known & {m for pair in pairs for m in pair}}
    scope = {f: p for f, p in cause.somehow.open.items() if f not in known | cause.never}
    share = lambda f, low, high: cause.somehow.shows * sum(model.leaks[f][low : high + 1]) / sum(model.leaks[f][1:])
    found = []
    alone = {c.options[0][0]: (n, c.options[0][1]) for n, c in enumerate(look.clauses) if len(c.options) == 1}
    for f in scope.keys() & (look.bounds.keys() | alone.keys()):
        top = look.bounds.get(f, 99)
        kept = 1 - share(f, top + 1, 99)
        number, least = alone.get(f, (None, 1))
        found.append((scope[f], kept, number, share(f, least, top) / kept))
    for number, clause in enumerate(look.clauses):
        inside = [(scope[f], share(f, least, 99)) for f, least in clause.options if f in scope]
        if len(clause.options) > 1 and inside and not known & {f for f, _ in clause.options}:
            width, met = max(inside)
            found.append((width, 1.0, number, met))
    return sorted(found, key=lambda way: -way[0])


class Oracle:
    """Yes/no nodes: causes, a node for each effect, and for every positive result a chain of OR gates from its leaks on.

    A hidden finding has a chain of its own; a pair is an AND gate over two of them, and joins the end of its result's chain.
    """

    def __init__(self, model, evidence):
        self.net, self.count = gum.BayesNet(), 0
        self.model, self.look = model, evidence.looks[0]
        self.pairs = {n: model.pairs_of(clause) for n, clause in enumerate(self.look.clauses)}
        barred = [pair for f, bound in self.look.bounds.items() if bound == 0 for pair in model.pairs.get(f, ())]
        hidden = {m for pairs in (*self.pairs.values(), barred) for pair in pairs for m in pair}
        self.ends = {n: self.node(self.leak(model, clause)) for n, clause in enumerate(self.look.clauses)}
        self.ends |= {name: self.node(0.0) for name in hidden}
        self.coupled, self.free = {}, {}
        for cause in model.causes:
            self.cause(cause, evidence.odds.get(cause.id, 1.0))
        self.told = {self.result(n): 1 for n in self.pairs} | {self.both(pair): 0 for pair in barred}

    def both(self, pair):
        """Add the gate "every member of a pair shows"."""
        made = self.node(0.0)
        for member in pair:
            self.net.addArc(self.ends[member], made)
        self.net.cpt(made).fillWith([1.0, 0.0] * 2 ** len(pair))
        self.net.cpt(made)[{self.name(self.ends[m]): 1 for m in pair}] = [0.0, 1.0]
        return made

    def result(self, number):
        """Return the node of a positive result: met directly, or by one of its pairs."""
        end = self.ends[number]
        for pair in self.pairs[number]:
            end = self.either(end, self.both(pair), 1.0)
        return end

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
        assert cause.reach == (1.0,)
        for effect in cause.effects:
            weight, hits = absorbed(effect, self.look)
            kept = 1 - effect.strength + effect.strength * weight
            odds *= kept
            hits |= {x.finding: 1.0 for x in effect.links if x.finding in self.ends and weight}
            if hits:
                gates.append((effect.strength * weight / kept, hits))
        steps = self.open(ways(self.model, cause, self.look))
        odds *= sum(weight for weight, _ in steps)
        if not gates and all(number is None for _, (_, _, number, _) in steps[1:]):
            self.free[cause.id] = odds / (1 + odds)
            return
        self.coupled[cause.id] = top = self.node(odds / (1 + odds))
        for strength, hits in gates:
            occurs = self.node(strength, top)
            for number, chance in hits.items():
                self.ends[number] = self.either(self.ends[number], occurs, chance)
        self.somehow(top, steps)

    def open(self, found):
        """Return, by how many ways are open (the widest first), its weight with no bound broken, and the last way opened."""
        widths = [1.0, *(way[0] for way in found), 0.0]
        kept = [1.0, *(way[1] for way in found)]
        return [((widths[n] - widths[n + 1]) * prod(kept[: n + 1]), way) for n, way in enumerate([(None,) * 4, *found])]

    def somehow(self, top, steps):
        """Add the nested ways that are open, each only beside the one before, and the gates of the results they meet."""
        before = top
        for n, (_, (_, _, number, chance)) in enumerate(steps[1:], 1):
            weights = [weight for weight, _ in steps[n - 1 :]]
            before = self.node(sum(weights[1:]) / sum(weights), before)
            if number is not None:
                self.ends[number] = self.either(self.ends[number], before, chance)

    def posteriors(self):
        """Return P(cause | every positive result) by junction tree."""
        engine = gum.LazyPropagation(self.net)
        engine.setEvidence({self.name(end): level for end, level in self.told.items()})
        engine.makeInference()
        return self.free | {c: float(engine.posterior(node)[1]) for c, node in self.coupled.items()}


def everywhere(cause):
    """Return a cause that reaches every step."""
    return replace(cause, reach=(1.0,), effects=tuple(replace(effect, step=0) for effect in cause.effects))


def timed(work):
    """Return what some work gives, and its seconds."""
    start = perf_counter()
    return work(), perf_counter() - start


@pytest.mark.parametrize("results", EVIDENCE, ids=lambda r: f"{sum('no' not in x for x in r)}-positive-{len(r)}")
def test_agrees_with_the_independent_engine(results):
    """Every cause of opposed-4, one to four positive results beside normal ones; times are printed, not judged.

    Each fault reaches everywhere here: the steps of reach are held against the listed worlds (`test_laws`).
    """
    network = loaded.network_of((), "opposed-4")
    model = replace(network.model, causes=tuple(everywhere(c) for c in network.model.causes))
    trouble = loaded.trouble_from(network.base, network.layout, [], results, frozenset())
    evidence = prepare(network, trouble.looks).evidence
    # One finding in two positives would need their joint table; the gates here take each by itself.
    named = [f for clause in evidence.looks[0].clauses for f, _ in clause.options]
    assert len(named) == len(set(named))
    ours, quick = timed(lambda: exact.believe(model, evidence))
    oracle, built = timed(lambda: Oracle(model, evidence))
    theirs, slow = timed(oracle.posteriors)
    print(
        f"{len(oracle.pairs)} positives: ours {quick * 1e3:.0f} ms, general engine {slow * 1e3:.0f} ms to infer"
        f" + {built * 1e3:.0f} ms to build, ratio {slow / quick:.1f}"
    )
    assert len(oracle.coupled) > 50
    assert theirs.keys() == ours.present.keys()
    for cause, chance in theirs.items():
        assert ours.present[cause] == pytest.approx(chance, abs=1e-9), cause
