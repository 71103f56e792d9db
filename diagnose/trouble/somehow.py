"""Showing in ways nobody wrote: which squawks are in the scope of a place, and how often a fault there shows each.

A squawk also arises without any cause of the rule base; that is its leak. Faults of the rule base that show it in a way
nobody wrote are a part of what is not known, so they add in proportion to the leak: at most `settings.somehow` leaks,
shared by the causes in scope that are not linked to it. A flat chance would swamp the rare squawks.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from diagnose.belief.model import Model, Somehow
from diagnose.places import Layout, inside

SHOWS = 0.5  # how often a squawk shows where the way to it is open: an estimate
MOST = 0.5  # how often a way is open, at most: an estimate
ROUNDING = 1e-12  # below this prior every cause in scope is linked


def with_somehow(model: Model, layout: Layout, at: Mapping[str, str], squawks: Mapping[str, str], most: float) -> Model:
    """Return a model with what each cause shows somehow: at most so many leaks.

    `at`: cause -> its place; `squawks`: located squawk -> its place. In the scope of a place are its own squawks and those
    of the cylinder, the side and the engine it sits in.
    """
    scopes = {
        place: frozenset(finding for finding, where in squawks.items() if inside(layout, place, where))
        for place in dict.fromkeys(at.values())
    }
    ways = _ways(model, at, scopes, most)
    shared = {place: Somehow({f: ways[f] for f in sorted(scope) if f in ways}, SHOWS) for place, scope in scopes.items()}
    return Model(tuple(replace(cause, somehow=shared[at[cause.id]]) for cause in model.causes), model.leaks, model.pairs)


def _ways(model: Model, at: Mapping[str, str], scopes: Mapping[str, frozenset[str]], most: float) -> dict[str, float]:
    """Return finding -> how often the way to it is open, so that all causes in scope together add so many leaks."""
    priors = dict.fromkeys(scopes, 0.0)
    for cause in model.causes:
        priors[at[cause.id]] += cause.prior
    unlinked: dict[str, float] = {}
    for place, scope in scopes.items():
        for finding in scope:
            unlinked[finding] = unlinked.get(finding, 0.0) + priors[place]
    for cause in model.causes:
        for finding in (model.written(cause) | cause.never) & scopes[at[cause.id]]:
            unlinked[finding] -= cause.prior
    return {f: _stepped(min(MOST, most * sum(model.leaks[f][1:]) / prior / SHOWS)) for f, prior in unlinked.items() if prior > ROUNDING}


def _stepped(open_: float) -> float:
    """Return the next lower of a few steps, a factor of the square root of two apart.

    The ways are estimates, and belief takes time for every depth they are open to: some hundred that differ in the third digit
    are told in a dozen. Lower, never higher, so that they still add at most so many leaks.
    """
    return float(2.0 ** (math.floor(2 * math.log2(open_) + ROUNDING) / 2))
