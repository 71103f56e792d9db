"""Where faults act: regimes of a squawk that an entry leaves out without a reason, and what "in any regime" simplifies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from diagnose.audit.findings import NOTICE, PROBLEM, Found
from diagnose.audit.numbers import links_of
from diagnose.belief.model import CauseNode, Effect
from diagnose.places import SIDES
from diagnose.rulebase.records import SIDES_SILENT, Cause, RuleBase, Symptom
from diagnose.trouble.network import Network
from diagnose.trouble.silence import hidden

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

ROUNDING = 1e-6


def findings(networks: Sequence[Network]) -> list[Found]:
    """Return every zero of cause by squawk by regime that gives no reason, and pairs that cannot be merged over regimes."""
    base = networks[0].base
    return [*(f for cause in base.causes.values() for f in _cause(base, cause)), *(f for n in networks for f in _merged(n))]


def _cause(base: RuleBase, cause: Cause) -> Iterator[Found]:
    """Yield one notice for a cause: the squawks it shows in some regime, with the other regimes nobody gave a reason for."""
    shown: dict[str, set[str]] = {}
    for symptom, regime, _ in links_of(base, cause):
        shown.setdefault(symptom, set()).add(regime)
    for one in cause.never:
        regimes = {one.ref.regime} if one.ref.regime else set(base.symptoms[one.ref.symptom].regimes)
        shown[one.ref.symptom] = shown.get(one.ref.symptom, set()) | regimes
    gaps = {
        s: [r for r in base.symptoms[s].regimes if r not in regimes] for s, regimes in shown.items() if base.symptoms[s].kind == "squawk"
    }
    words = [f"{symptom} ({', '.join(left)})" for symptom, left in sorted(gaps.items()) if left]
    if words:
        yield Found(
            NOTICE,
            "no-reach",
            cause.id,
            f"{cause.id} gives no reason why it does not show {'; '.join(words)}",
            "name the mechanism with `acts:`, or give the reason under `never:`",
        )


def _merged(network: Network) -> Iterator[Found]:
    for symptom in network.base.symptoms.values():
        if symptom.both == SIDES_SILENT and len(symptom.regimes) > 1:
            together, sometime = silent(network, symptom)
            if sometime > together * (1 + ROUNDING):
                yield Found(
                    PROBLEM,
                    "any-pair",
                    symptom.id,
                    f"{network.layout.id}: {symptom.id}.any takes both sides as silent {sometime / together - 1:.1%} too often",
                    "let what silences one side act in a regime of what silences the other",
                )


def silent(network: Network, symptom: Symptom) -> tuple[float, float]:
    """Return how likely both sides are silent in the same regime of a symptom, and each in some regime of it.

    The second is what belief takes for a result "in any regime": one pair instead of one for each regime. For every set
    of (side, regime) the chance that nothing outside it is silent is a product over causes; sets follow by inversion.
    """
    import numpy as np

    names = [network.hidden.get(hidden(regime, side), "") for side in SIDES for regime in symptom.regimes]
    sets = np.arange(1 << len(names))
    within = np.ones(len(sets))
    for cause in network.model.causes:
        if not cause.feeds.isdisjoint(names):
            within *= 1 - cause.prior + cause.prior * _within(cause, names, sets)
    for bit in range(len(names)):  # from "nothing outside it" to "exactly it"
        high = sets[(sets >> bit & 1) == 1]
        within[high] -= within[high ^ (1 << bit)]
    count = len(symptom.regimes)
    left, right = sets & ((1 << count) - 1), sets >> count
    return float(within[(left & right) > 0].sum()), float(within[(left > 0) & (right > 0)].sum())


def _within(cause: CauseNode, names: Sequence[str], sets: Array) -> Array:
    """Return, given that a cause is there, how likely nothing outside each set is silent through it."""
    total = 0.0 * sets
    for reached, chance in enumerate(cause.reach):
        kept = 1.0 + 0.0 * sets
        for effect in (e for e in cause.effects if e.step <= reached):
            kept *= 1 - effect.strength + effect.strength * _effect(effect, names, sets)
        total += chance * kept
    return total


def _effect(effect: Effect, names: Sequence[str], sets: Array) -> Any:
    """Return, given that an effect is there, whether all that it silences lies within each set."""
    fed = {link.finding for link in effect.links}
    mask = sum(1 << bit for bit, name in enumerate(names) if name in fed)
    return (sets & mask) == mask
