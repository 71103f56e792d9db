"""What stands open or has been looked at by what was found: nobody reads a plug with the cowling on.

Findings entered without naming the check they came from still tell that it was done.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.plan.access import HANDS_ON
from diagnose.plan.checks import LocatedCheck, available
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node
from diagnose.trouble.trouble import Trouble


def open_now(network: Network, trouble: Trouble) -> frozenset[str]:
    """Return the access there is: as recorded, or where nothing is, what the findings since the last repair needed.

    A finding needs what every check that gives it needs. It only moves minutes: no step is allowed or forbidden by it.
    """
    if trouble.access or trouble.aircraft.facts:
        return trouble.access
    needed = [frozenset.intersection(*(frozenset(c.check.access) for c in checks)) for _, checks in _found(network, trouble)]
    return frozenset[str]().union(*needed) & HANDS_ON


def done_already(network: Network, trouble: Trouble) -> frozenset[str]:
    """Return the located checks that an abnormal finding shows to have been done: of those that give it, the narrowest.

    What else such a check shows would have been told; it stays unknown, but it is not asked for again.
    """
    narrow = (min(checks, key=lambda c: (len(c.nodes), c.id)) for result, checks in _found(network, trouble) if result.abnormal)
    return frozenset(c.id for c in narrow)


def _found(network: Network, trouble: Trouble) -> list[tuple[Result, list[LocatedCheck]]]:
    """Return what was found on the standing engine since the last repair, each with the checks that give it."""
    findings = {
        node(r.symptom, r.regimes[0], r.places[0]): r
        for r in trouble.looks[-1].results
        if not r.history and not r.several and r.regimes[0] == "static" and r.high >= 0
    }
    if not findings:
        return []
    giving: Mapping[str, list[LocatedCheck]] = {name: [] for name in findings}
    for check in available(network, (), ()):
        for name in findings.keys() & set(check.nodes):
            giving[name].append(check)
    return [(findings[name], checks) for name, checks in giving.items() if checks]
