"""One trouble: what was seen, what of it needs no second look, whether its complaint is gone."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from diagnose.trouble.aircraft import Aircraft, Stamp, opened
from diagnose.trouble.exchanges import touched
from diagnose.trouble.looks import LookResults, single_results
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result


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
