"""A rule base seen through one layout: the directed graph of located causes, effects and symptoms.

Nodes are texts: `CAUSE@PLACE`, `CAUSE@PLACE#n` (its n-th effect), `SYMPTOM.REGIME@PLACE`. Edges run
from cause to effect (`strength`: how often the cause shows itself so; `step`: how far it must reach for that) and
from effect to symptom (`levels`); the node of an effect has the hidden findings it feeds surely (`hidden`). Everything
else in the program reads this graph; nothing else instantiates rules.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from diagnose.belief.model import CauseNode, Effect, Link, Model
from diagnose.places import Layout
from diagnose.rulebase.entry import Levels, Number
from diagnose.rulebase.records import Cause, EffectRule, RuleBase, Show, Symptom
from diagnose.trouble import silence
from diagnose.trouble.results import node
from diagnose.trouble.somehow import with_somehow

if TYPE_CHECKING:
    import networkx as nx

SURE = (0.0, 1.0)  # what an effect adds to a hidden finding


@dataclass(frozen=True)
class LocatedCause:
    """A cause at a place."""

    id: str
    cause: Cause
    place: str


@dataclass(frozen=True)
class LocatedSymptom:
    """A symptom at a place in a regime."""

    id: str
    symptom: Symptom
    regime: str
    place: str


@dataclass(frozen=True)
class Network:
    """The graph of one rule base on one layout, and what is read off it."""

    base: RuleBase
    layout: Layout
    graph: nx.DiGraph

    @cached_property
    def causes(self) -> dict[str, LocatedCause]:
        """Return every located cause by id, sorted."""
        return {n: d["located"] for n, d in sorted(self.graph.nodes(data=True)) if d["kind"] == "cause"}

    @cached_property
    def symptoms(self) -> dict[str, LocatedSymptom]:
        """Return every located symptom by id."""
        return {n: d["located"] for n, d in self.graph.nodes(data=True) if d["kind"] == "symptom"}

    @cached_property
    def model(self) -> Model:
        """Return the graph as the plain numbers the belief engines take."""
        at = {located.id: located.place for located in self.causes.values()}
        squawks = {name: s.place for name, s in self.symptoms.items() if s.symptom.kind == "squawk"}
        plain = silence.folded(self.unfolded, self.hidden)
        return with_somehow(plain, self.layout, at, squawks, self.base.settings.somehow)

    @cached_property
    def unfolded(self) -> Model:
        """Return the causes before hidden findings that are fed alike are made one, and before anything shows somehow."""
        causes = tuple(self._cause(located) for located in self.causes.values())
        leaks = {n: d["leak"] for n, d in self.graph.nodes(data=True) if d["kind"] == "symptom"}
        places = {s.id: _places(s, self.layout) for s in self.base.symptoms.values()}
        return Model(causes, leaks, silence.pairs(self.base, places))

    @cached_property
    def hidden(self) -> Mapping[str, str]:
        """Return hidden finding -> the one in the model that stands for it, for those that something feeds."""
        return silence.alike(self.unfolded)

    @cached_property
    def cause_nodes(self) -> dict[str, CauseNode]:
        """Return every cause as the belief engines take it, by id."""
        return {cause.id: cause for cause in self.model.causes}

    def _never(self, located: LocatedCause) -> frozenset[str]:
        """Return the located symptoms that an entry says a cause never shows."""
        names = (
            node(one.ref.symptom, regime, place)
            for one in located.cause.never
            for place in self.layout.related(located.place, one.ref.relation)
            for regime in ([one.ref.regime] if one.ref.regime else self.base.symptoms[one.ref.symptom].regimes)
        )
        return frozenset(name for name in names if name in self.symptoms)

    def _cause(self, located: LocatedCause) -> CauseNode:
        reach = reach_of(self.base, located.cause)
        data = self.graph.nodes[located.id]
        return CauseNode(located.id, data["prior"], tuple(self._effects(located.id, reach)), reach, never=self._never(located))

    def _effects(self, cause: str, reach: tuple[float, ...]) -> Iterator[Effect]:
        for effect, edge in self.graph.adj[cause].items():
            links = [Link(symptom, link["levels"]) for symptom, link in self.graph.adj[effect].items()]
            links += [Link(name, SURE) for name in self.graph.nodes[effect]["hidden"]]
            yield Effect(edge["strength"] / sum(reach[edge["step"] :]), tuple(links), edge["step"])


def build(base: RuleBase, layout: Layout) -> Network:
    """Return the network of a rule base on a layout."""
    import networkx as nx

    graph = nx.DiGraph(rulebase=base.settings.version, sha256=base.sha256, layout=layout.id)
    for symptom in base.symptoms.values():
        _add_symptom(graph, symptom, layout)
    for cause in base.causes.values():
        shown = [_shown(base, rule, layout) for rule in (*cause.effects, *cause.goes)]
        for place in layout.places(cause.at):
            if all(layout.has(place, need) for need in cause.needs):
                _add_cause(graph, base, cause, place, layout, shown)
    return Network(base.on(layout), layout, graph)


def _add_symptom(graph: Any, symptom: Symptom, layout: Layout) -> None:
    for regime in symptom.regimes:
        leak = _levels(symptom, symptom.leak_in.get(regime, symptom.leak), layout)
        for kind in symptom.at:
            for place in layout.places(kind):
                name = node(symptom.id, regime, place)
                graph.add_node(name, kind="symptom", leak=leak, located=LocatedSymptom(name, symptom, regime, place))


def _add_cause(graph: Any, base: RuleBase, cause: Cause, place: str, layout: Layout, shown: Sequence[Sequence[_Shown]]) -> None:
    name = f"{cause.id}@{place}"
    reach = reach_of(base, cause)
    graph.add_node(name, kind="cause", prior=prior_of(cause, place, layout).at(layout.cylinders), located=LocatedCause(name, cause, place))
    number = 0
    for rule, shows in zip((*cause.effects, *cause.goes), shown, strict=True):
        if not all(layout.has(place, need) for need in rule.needs):
            continue
        for origin in layout.related(place, rule.for_each) if rule.for_each else (place,):
            links = _links(shows, origin, layout)
            if links:
                number += 1
                effect = f"{name}#{number}"
                graph.add_node(effect, kind="effect", rule=rule, place=origin, hidden=_hidden(base, graph, links))
                strength = rule.strength.at(layout.cylinders) * sum(reach[rule.step :])
                graph.add_edge(name, effect, strength=strength, step=rule.step)
                graph.add_edges_from((effect, symptom, {"levels": levels}) for symptom, levels in links.items())


def _hidden(base: RuleBase, graph: Any, links: Mapping[str, tuple[float, ...]]) -> tuple[str, ...]:
    """Return the hidden findings an effect with such links feeds."""
    located = ((graph.nodes[name]["located"], levels) for name, levels in links.items())
    names = (name for at, levels in located for name in silence.fed(base, at.symptom, at.regime, at.place, levels))
    return tuple(dict.fromkeys(names))


def reach_of(base: RuleBase, cause: Cause) -> tuple[float, ...]:
    """Return how often a cause reaches just so far: its own shares, else those of the mechanism its effects name."""
    stepped = next((base.mechanisms[e.acts] for e in cause.effects if e.step), None)
    if stepped is None:
        return (1.0,)
    return (0.0, *(n.value for n in cause.reach or [step.share for step in stepped.steps]))


def prior_of(cause: Cause, place: str, layout: Layout) -> Number:
    """Return the prior of a cause at a place: by position where it has one, else the plain one.

    `bottom` and `top` under `prior_by` mean the position that fouls first, and the other.
    """
    if cause.prior_by and "-" in place:
        position = place.split("-")[1]
        plain = "bottom" if position == layout.fouls_first else "top"
        for key in (position, plain):
            if key in cause.prior_by:
                return cause.prior_by[key]
    return cause.prior or next(iter(cause.prior_by.values()), Number(0.001, "estimate"))


@dataclass(frozen=True)
class _Shown:
    """A link of a rule on one layout, not yet placed."""

    symptom: str
    regimes: tuple[str, ...]
    relation: str
    levels: tuple[float, ...]
    places: frozenset[str]


def _shown(base: RuleBase, rule: EffectRule, layout: Layout) -> list[_Shown]:
    found = []
    for show in rule.shows:
        symptom = base.symptoms[show.ref.symptom]
        levels, regimes = _levels(symptom, show.levels, layout), _regimes(rule, show, symptom)
        found.append(_Shown(symptom.id, regimes, show.ref.relation, levels, frozenset(_places(symptom, layout))))
    return found


def _links(shows: Sequence[_Shown], origin: str, layout: Layout) -> dict[str, tuple[float, ...]]:
    found: dict[str, tuple[float, ...]] = {}
    for show in shows:
        for place in layout.related(origin, show.relation):
            if place in show.places:
                for regime in show.regimes:
                    name = node(show.symptom, regime, place)
                    found[name] = _both(found[name], show.levels) if name in found else show.levels
    return found


def _regimes(rule: EffectRule, show: Show, symptom: Symptom) -> tuple[str, ...]:
    """Return the regimes a link stands for: as written, the only one there is, or those of the effect that the symptom has.

    What a template brings along holds only in the regimes the cause names: a plug silent at the start alone shows no drop.
    """
    if show.ref.regime:
        return (show.ref.regime,)
    only = symptom.regimes[0]
    if rule.step > 1 and only not in rule.regimes and len(symptom.regimes) == 1:
        return ()  # a test with one regime of its own goes with the first step
    if len(symptom.regimes) == 1 and (only == "static" or only in rule.regimes or not show.from_template):
        return symptom.regimes
    return tuple(r for r in rule.regimes if r in symptom.regimes)


def _places(symptom: Symptom, layout: Layout) -> tuple[str, ...]:
    return tuple(p for kind in symptom.at for p in layout.places(kind))


def _levels(symptom: Symptom, levels: Levels, layout: Layout) -> tuple[float, ...]:
    """Return the probability of each grade, normal first; an unnamed grade means the first abnormal one."""
    high = [
        sum(n.at(layout.cylinders) for g, n in levels.items() if g == grade or (g == "" and index == 0))
        for index, grade in enumerate(symptom.names[1:])
    ]
    return (1.0 - sum(high), *high)


def _both(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
    """Return the distribution of the higher of two independent levels."""
    joined = [0.0] * len(a)
    for i, p in enumerate(a):
        for j, q in enumerate(b):
            joined[max(i, j)] += p * q
    return tuple(joined)
