"""One trouble: what was seen, what of it needs no second look, whether its complaint is gone."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.calc.confirming import parts_missing
from diagnose.trouble.evidence import LookResults, newest_results
from diagnose.trouble.exchanges import touched
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node


@dataclass(frozen=True)
class Trouble:
    """What is known of one trouble: looks (oldest first), access gained, located checks declined, what is not yet refitted."""

    looks: tuple[LookResults, ...] = (LookResults(),)
    access: frozenset[str] = frozenset()
    declined: frozenset[str] = frozenset()
    unfinished: tuple[str, ...] = ()


def done_nodes(results: Sequence[Result]) -> frozenset[str]:
    """Return the located symptoms that have a result (also `unknown` or `cannot`) at a single place."""
    return frozenset(_single(results))


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


def _single(results: Sequence[Result]) -> dict[str, Result]:
    return {node(r.symptom, r.regimes[0], r.places[0]): r for r in results if not r.history and not r.several}


def complaint_gone(looks: Sequence[LookResults]) -> bool:
    """Return whether, after a remedy, every result of the complaint is normal in its own regime and places.

    Where parts were exchanged it must not show at another place either: the fault may have gone there with its part.
    """
    if not any(look.repairs for look in looks) or not looks[0].complaint:
        return False
    newest = _single(newest_results(looks))
    gone = all(_gone(c, newest) for c in looks[0].complaint)
    return gone and not (any(look.exchange for look in looks) and any(_elsewhere(c, newest) for c in looks[0].complaint))


def _elsewhere(complaint: Result, newest: Mapping[str, Result]) -> bool:
    """Return whether a complaint shows now at any place, in one of its regimes."""
    return any(r.abnormal and r.symptom == complaint.symptom and set(r.regimes) & set(complaint.regimes) for r in newest.values())


def _gone(complaint: Result, newest: Mapping[str, Result]) -> bool:
    regimes = complaint.regimes
    if complaint.regime == "any":
        regimes = tuple(r for r in regimes if any(node(complaint.symptom, r, p) in newest for p in complaint.places))
    wanted = [node(complaint.symptom, r, p) for r in regimes for p in complaint.places]
    return bool(wanted) and all(w in newest and newest[w].normal for w in wanted)


def still_to_look_at(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return the located symptoms of the complaint not yet looked at again after the last repair."""
    if not any(look.repairs for look in looks):
        return ()
    wanted = [node(c.symptom, r, p) for c in looks[0].complaint for r in c.regimes for p in c.places]
    done = done_nodes(newest_results(looks))
    return tuple(w for w in dict.fromkeys(wanted) if w not in done)


def confirming_rest(looks: Sequence[LookResults]) -> tuple[str, ...]:
    """Return what the run after the last repair still lacks besides the complaint itself, in words."""
    given = (r for r in newest_results(looks) if not r.history and not r.several)
    return parts_missing(tuple(f"{node(r.symptom, r.regimes[0], r.places[0])}={r.grade}" for r in given))


def gains(trouble: Trouble, states: Collection[str]) -> Trouble:
    """Return the trouble with access states gained."""
    return replace(trouble, access=trouble.access | frozenset(states))
