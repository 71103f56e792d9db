"""What results have said that forbids a step until it is mended: a live magneto, a part that is breaking up."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.trouble.evidence import repaired
from diagnose.trouble.exchanges import places_now, touched
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node


def magneto_live(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether by what was seen so far a magneto is live with the switch OFF.

    A repair alone ends no alarm: an OFF check passed after it does. Where the OFF check itself failed, that very check must pass.
    """
    failed: dict[str, tuple[str, int]] = {}
    repairs = 0
    for look in looks:
        repairs += bool(look.repairs)
        for result in look.results:
            role = _role(network, result)
            if role in ("runs_in_off", "live_magneto") and result.abnormal:
                failed[result.subject] = (role, repairs)
            elif role == "runs_in_off" and result.normal:
                failed.pop(result.subject, None)
                failed = {s: (r, n) for s, (r, n) in failed.items() if r == "runs_in_off" or n == repairs}
    return bool(failed)


def not_to_be_run(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether by what was seen so far a part is breaking up.

    Only a repair that ends a cause of it lifts this, or the same place found sound with the same part in it.
    """
    found: dict[str, frozenset[str]] = {}
    elsewhere: set[str] = set()
    for number, look in enumerate(looks):
        ended, _ = repaired(network, look.repairs, places_now(network, exchanges(looks[:number])))
        found = {s: nodes for s, nodes in found.items() if not _causes(network, nodes) & ended}
        if look.exchange is not None:
            moved = touched(network, look.exchange)
            elsewhere |= {s for s, nodes in found.items() if nodes & moved}
        for result in look.results:
            if _role(network, result) == "no_run" and result.abnormal:
                found[result.subject] = frozenset(node(result.symptom, r, p) for r in result.regimes for p in result.places)
                elsewhere.discard(result.subject)
            elif result.normal and result.subject not in elsewhere:
                found.pop(result.subject, None)
    return bool(found)


def _role(network: Network, result: Result) -> str:
    return "" if result.history else network.base.symptoms[result.symptom].role


def _causes(network: Network, nodes: frozenset[str]) -> set[str]:
    """Return the located causes that feed any of some located symptoms."""
    effects = {e for n in nodes if n in network.symptoms for e in network.graph.predecessors(n)}
    return {c for e in effects for c in network.graph.predecessors(e)}
