"""One trouble: what was seen, what of it needs no second look, whether its complaint is gone."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from diagnose.trouble.aircraft import Aircraft, Stamp, opened
from diagnose.trouble.evidence import LookResults
from diagnose.trouble.exchanges import touched
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node


@dataclass(frozen=True)
class Trouble:
    """What is known of one trouble: looks (oldest first), access gained, located checks declined, the state of the aircraft."""

    looks: tuple[LookResults, ...] = (LookResults(),)
    access: frozenset[str] = frozenset()
    declined: frozenset[str] = frozenset()
    aircraft: Aircraft = field(default_factory=Aircraft)


def seen_nodes(network: Network, looks: Sequence[LookResults]) -> frozenset[str]:
    """Return the located symptoms that need no look: seen since the last repair, and fed by no part exchanged since."""
    done = frozenset[str]()
    for look in looks:
        if look.repairs:
            done = frozenset()
        if look.exchange is not None:
            done -= touched(network, look.exchange)
        done |= done_nodes(look.results)
    return done


def gains(trouble: Trouble, states: Collection[str]) -> Trouble:
    """Return the trouble with access states gained, and what they open of the aircraft."""
    aircraft = opened(trouble.aircraft, sorted(states), Stamp())
    return replace(trouble, access=trouble.access | frozenset(states), aircraft=aircraft)


def done_nodes(results: Sequence[Result]) -> frozenset[str]:
    """Return the located symptoms that have a result (also `unknown` or `cannot`) at a single place."""
    return frozenset(single_results(results))


def single_results(results: Sequence[Result]) -> dict[str, Result]:
    """Return the results at one place in one regime, by located symptom; history left out."""
    return {node(r.symptom, r.regimes[0], r.places[0]): r for r in results if not r.history and not r.several}
