"""Sides without spark: the hidden findings behind "both sides are silent", what feeds them, and which symptoms they make.

The drop tells it: where a side is selected and the engine dies, that side gives no spark. An effect whose usual drop is
`dies` is silence itself, and the drop only its reading: the side is silent whenever the effect is there, in one
draw. An effect that shows `dies` now and then is weakness, and silences nothing (two such together are rarer than an engine
that stops by what nobody knows). A side silent from cold is silent at the start too, for which no drop is ever read.

Hidden findings are told apart by regime, and once more for each symptom they make, over all of its regimes together:
"it stopped, nobody knows when" then needs one pair and not one for every regime. Those that the same effects feed, on either
side, are one: a few are left, and belief need not count the same thing six times.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from diagnose.belief.model import Link, Model, Pair
from diagnose.places import SIDES
from diagnose.rulebase.records import SIDES_SILENT, RuleBase, Symptom
from diagnose.trouble.results import node

USUAL = 0.5  # from this share of `dies` on, an effect is silence itself: an estimate
DIES = "dies"


def hidden(what: str, side: str) -> str:
    """Return the hidden finding "this side is silent", in a regime or in any regime of a symptom; no symptom id starts so."""
    return f"_silent.{what}@{side}"


def fed(base: RuleBase, symptom: Symptom, regime: str, place: str, levels: tuple[float, ...]) -> tuple[str, ...]:
    """Return the hidden findings that an effect feeds surely because of what it adds to a symptom."""
    if symptom.role != "mag_drop" or place not in SIDES or DIES not in symptom.names:
        return ()
    if levels[symptom.names.index(DIES)] < USUAL:
        return ()
    silent = _silent_with(regime)
    shown = [s.id for s in base.symptoms.values() if s.both == SIDES_SILENT and set(silent) & set(s.regimes)]
    return tuple(hidden(what, place) for what in (*silent, *shown))


def _silent_with(regime: str) -> tuple[str, ...]:
    """Return the regimes in which a side is silent where its drop dies in one."""
    return (regime, "start") if regime == "cold" else (regime,)


def pairs(base: RuleBase, places: Mapping[str, tuple[str, ...]]) -> dict[str, tuple[Pair, ...]]:
    """Return the pairs of each located symptom that an engine without spark shows; `places`: symptom -> its places."""
    read = {r for s in base.symptoms.values() if s.role == "mag_drop" for regime in s.regimes for r in _silent_with(regime)}
    found: dict[str, tuple[Pair, ...]] = {}
    for symptom in base.symptoms.values():
        if symptom.both == SIDES_SILENT:
            for regime in (r for r in symptom.regimes if r in read):
                for place in places[symptom.id]:
                    found[node(symptom.id, regime, place)] = (tuple(hidden(regime, side) for side in SIDES),)
    return found


def merged(base: RuleBase, symptom: str, regimes: tuple[str, ...]) -> tuple[Pair, ...] | None:
    """Return the one pair over all regimes of a symptom for a result that names them all; None where each has its own."""
    known = base.symptoms[symptom]
    if known.both != SIDES_SILENT or len(regimes) < 2 or set(regimes) != set(known.regimes):
        return None
    return (tuple(hidden(symptom, side) for side in SIDES),)


def alike(model: Model) -> dict[str, str]:
    """Return hidden finding -> the one that stands for it: what the same effects silence, on either side, is told apart by nothing."""
    feeders: dict[str, list[tuple[str, str, int]]] = {}
    for cause in model.causes:
        for number, effect in enumerate(cause.effects):
            for link in effect.links:
                if link.finding not in model.leaks:
                    what, _, side = link.finding.rpartition("@")
                    feeders.setdefault(what, []).append((side, cause.id, number))
    first: dict[tuple[tuple[str, str, int], ...], str] = {}
    stands = {what: first.setdefault(tuple(fed), what) for what, fed in feeders.items()}
    return {f"{what}@{side}": f"{one}@{side}" for what, one in stands.items() for side in SIDES}


def folded(model: Model, stands: Mapping[str, str]) -> Model:
    """Return the model with one hidden finding for all that are alike, and without pairs that nothing can make hold."""
    causes = (replace(c, effects=tuple(replace(e, links=_links(e.links, stands)) for e in c.effects)) for c in model.causes)
    pairs = {
        f: tuple(tuple(stands[m] for m in pair) for pair in found if all(m in stands for m in pair)) for f, found in model.pairs.items()
    }
    return Model(tuple(causes), model.leaks, {f: found for f, found in pairs.items() if found})


def _links(links: tuple[Link, ...], stands: Mapping[str, str]) -> tuple[Link, ...]:
    return tuple({(name := stands.get(x.finding, x.finding)): x if name == x.finding else Link(name, x.levels) for x in links}.values())
