"""What stands open or has been looked at by what was found: nobody reads a plug with the cowling on.

Findings entered without naming the check they came from still tell that it was done.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from diagnose.places import inside
from diagnose.plan.access import HANDS_ON, RUNNING, after
from diagnose.plan.checks import LocatedCheck, available
from diagnose.plan.rules import POWERED
from diagnose.rulebase.records import Check
from diagnose.trouble.aircraft import turning
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
    return frozenset(_narrowest(checks).id for result, checks in _found(network, trouble) if result.abnormal)


def parts_in_hand(network: Network, trouble: Trouble, gained: Collection[str]) -> frozenset[str]:
    """Return the circuits, sides and cylinders looked into since the last repair, with what is inside a cylinder.

    `gained`: what stands open; with everything shut, or the engine running, nothing is in the hand.
    """
    if not HANDS_ON & set(gained) or RUNNING in gained:
        return frozenset()
    opened = [checks for _, checks in _found(network, trouble) if all(HANDS_ON & set(c.check.access) for c in checks)]
    touched = {_narrowest(checks).place for checks in opened} - {"engine"}
    cylinders = touched & set(network.layout.places("cylinder"))
    return frozenset(touched | {c for c in network.layout.places("circuit") for p in cylinders if inside(network.layout, c, p)})


def closes(network: Network, check: Check, gained: Collection[str]) -> bool:
    """Return whether a check has to have put back what is out or open now: it runs or cranks the engine, or ends that access."""
    runs = bool(turning(network.base, check) & POWERED)
    return runs or bool(HANDS_ON & set(gained) - after(network.base, check.access, gained))


def _narrowest(checks: list[LocatedCheck]) -> LocatedCheck:
    return min(checks, key=lambda c: (len(c.nodes), c.id))


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
