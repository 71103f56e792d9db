"""Showing in ways nobody wrote: which squawks are in the scope of a place, and how often a fault there shows each.

A squawk also arises without any cause of the rule base; that is its leak. Faults of the rule base that show it in a way
nobody wrote are a part of what is not known, so they add in proportion to the leak: at most `settings.somehow` leaks,
shared by the causes in scope that are not linked to it. A flat chance would swamp the rare squawks.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from diagnose.belief.model import CauseNode, Model, Somehow
from diagnose.places import inside

if TYPE_CHECKING:
    from diagnose.trouble.network import LocatedCause, Network

SHOWS = 0.5  # how often a squawk shows where the way to it is open: an estimate
MOST = 0.5  # how often a way is open, at most: an estimate
ROUNDING = 1e-12  # below this prior every cause in scope is linked


def scope(network: Network, place: str) -> tuple[str, ...]:
    """Return the located squawks of a place itself and of the cylinder, the side and the engine it sits in."""
    return tuple(n for n, s in network.symptoms.items() if s.symptom.kind == "squawk" and inside(network.layout, place, s.place))


def never(network: Network, located: LocatedCause) -> frozenset[str]:
    """Return the located symptoms that an entry says a cause never shows."""
    found: set[str] = set()
    for one in located.cause.never:
        places = network.layout.related(located.place, one.ref.relation)
        regimes = (one.ref.regime,) if one.ref.regime else network.base.symptoms[one.ref.symptom].regimes
        found |= set(network.located(one.ref.symptom, regimes, places))
    return frozenset(found)


def by_place(network: Network, model: Model) -> Mapping[str, Somehow]:
    """Return for each place of a cause what a fault there shows somehow; `model` has the causes without it."""
    places = dict.fromkeys(located.place for located in network.causes.values())
    scopes = {place: frozenset(scope(network, place)) for place in places}
    ways = _ways(network, model, scopes)
    return {place: Somehow({f: ways[f] for f in sorted(scopes[place]) if f in ways}, SHOWS) for place in places}


def _ways(network: Network, model: Model, scopes: Mapping[str, frozenset[str]]) -> dict[str, float]:
    """Return finding -> how often the way to it is open, so that all causes in scope together add so many leaks."""
    priors: dict[str, float] = {}
    for cause in model.causes:
        place = network.causes[cause.id].place
        priors[place] = priors.get(place, 0.0) + cause.prior
    unlinked: dict[str, float] = {}
    for place, findings in scopes.items():
        for finding in findings:
            unlinked[finding] = unlinked.get(finding, 0.0) + priors[place]
    for cause in model.causes:
        for finding in (model.written(cause) | cause.never) & scopes[network.causes[cause.id].place]:
            unlinked[finding] -= cause.prior
    most = network.base.settings.somehow
    return {f: min(MOST, most * sum(model.leaks[f][1:]) / prior / SHOWS) for f, prior in unlinked.items() if prior > ROUNDING}


def with_somehow(network: Network, model: Model) -> Model:
    """Return the model with what each cause shows somehow."""
    shared = by_place(network, model)
    causes = (CauseNode(c.id, c.prior, c.effects, c.reach, shared.get(network.causes[c.id].place), c.never) for c in model.causes)
    return Model(tuple(causes), model.leaks, model.pairs)
