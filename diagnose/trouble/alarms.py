"""What results have said that forbids a step until it is mended: a live magneto, a part that is breaking up, a blow to the engine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.rulebase.records import RuleBase
from diagnose.trouble.aircraft import Aircraft
from diagnose.trouble.evidence import repaired
from diagnose.trouble.exchanges import places_now, touched
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node

LIVE = ("runs_in_off", "live_magneto")
DANGER = (*LIVE, "inspect_first")  # roles whose signs count as danger even where they are not seen again


def magneto_live(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether by what was seen so far a magneto is live with the switch OFF.

    A repair alone ends no alarm: an OFF check passed after it does. Where the OFF check itself failed, that very check must pass;
    one that passes with nothing mended in between only says that it comes and goes.
    """
    return bool(_failed(network, looks))


def live_mended(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether, of every sign of a live magneto, a repair since then ended a cause: the OFF check may then be run to prove it."""
    for nodes, number in _failed(network, looks).values():
        ended = {c for at in range(number + 1, len(looks)) for c in _ended(network, looks, at)}
        if not _causes(network, nodes) & ended:
            return False
    return True


def _failed(network: Network, looks: Sequence[LookResults]) -> Mapping[str, tuple[frozenset[str], int]]:
    """Return subject -> located symptoms and number of the look, for each sign of a live magneto that nothing has lifted."""
    failed: dict[str, tuple[str, int, frozenset[str], int]] = {}
    repairs = 0
    for number, look in enumerate(looks):
        repairs += bool(look.repairs)
        for result in (*look.once, *look.results):
            role = _role(network, result)
            if role in LIVE and result.abnormal:
                failed[result.subject] = (role, repairs, _nodes(result), number)
            elif role == "runs_in_off" and result.normal:
                proved = [s for s, f in failed.items() if f[1] < repairs and (f[0] != role or s == result.subject)]
                failed = {s: f for s, f in failed.items() if s not in proved}
    return {subject: (nodes, number) for subject, (_, _, nodes, number) in failed.items()}


def not_to_be_run(network: Network, looks: Sequence[LookResults]) -> bool:
    """Return whether by what was seen so far a part is breaking up.

    Only a repair that ends a cause of it lifts this, or the same place found sound with the same part in it.
    """
    found: dict[str, frozenset[str]] = {}
    elsewhere: set[str] = set()
    for number, look in enumerate(looks):
        ended = _ended(network, looks, number)
        found = {s: nodes for s, nodes in found.items() if not _causes(network, nodes) & ended}
        if look.exchange is not None:
            moved = touched(network, look.exchange)
            elsewhere |= {s for s, nodes in found.items() if nodes & moved}
        for result in look.results:
            if _role(network, result) == "no_run" and result.abnormal:
                found[result.subject] = _nodes(result)
                elsewhere.discard(result.subject)
            elif result.normal and result.subject not in elsewhere:
                found.pop(result.subject, None)
    return bool(found)


def inspection_due(network: Network, looks: Sequence[LookResults], aircraft: Aircraft) -> bool:
    """Return whether the engine took a blow (kicked back, propeller struck) and nobody has recorded that it was looked at since."""
    return aircraft.now("inspection") != "done" and any(took_a_blow(network.base, r) for look in looks for r in (*look.once, *look.results))


def took_a_blow(base: RuleBase, result: Result) -> bool:
    """Return whether a result, or an answer on what happened before, says that the engine took a blow."""
    if not result.history:
        return result.abnormal and base.symptoms[result.symptom].role == "inspect_first"
    history = base.history[result.symptom]
    return history.role == "inspect_first" and result.grade in history.answers and result.grade != history.nothing


def _ended(network: Network, looks: Sequence[LookResults], number: int) -> frozenset[str]:
    """Return the located causes that the repairs before one look ended."""
    return repaired(network, looks[number].repairs, places_now(network, exchanges(looks[:number])))[0]


def _nodes(result: Result) -> frozenset[str]:
    return frozenset(node(result.symptom, r, p) for r in result.regimes for p in result.places)


def _role(network: Network, result: Result) -> str:
    return "" if result.history else network.base.symptoms[result.symptom].role


def _causes(network: Network, nodes: frozenset[str]) -> set[str]:
    """Return the located causes that feed any of some located symptoms."""
    effects = {e for n in nodes if n in network.symptoms for e in network.graph.predecessors(n)}
    return {c for e in effects for c in network.graph.predecessors(e)}
