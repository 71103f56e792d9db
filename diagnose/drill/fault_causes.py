"""Which located causes of the rule base a physical fault of the stand is, and which faults are outside it."""

from __future__ import annotations

from diagnose.drill.bridge import bridge
from diagnose.places import Layout, inside
from diagnose.stand import faults_around
from diagnose.stand.faults import KINDS
from diagnose.trouble.network import Network

OUTSIDE = frozenset(kind.name for kind in faults_around.KINDS)


def mapped() -> tuple[str, ...]:
    """Return the fault kinds that some cause of the rule base describes, in the stand's order."""
    return tuple(name for name in KINDS if name in bridge().faults)


def causes_of(network: Network, fault: str, place: str) -> frozenset[str]:
    """Return the located causes that a fault at a place is; empty for one outside the rule base or this layout."""
    wanted = bridge().faults.get(fault, ())
    return frozenset(c.id for c in network.causes.values() if c.cause.id in wanted and _touch(network.layout, c.place, place))


def _touch(layout: Layout, cause: str, fault: str) -> bool:
    if cause in ("engine", "switch", "start") or fault == "engine":
        return True
    return any(inside(layout, cause, one) or inside(layout, one, cause) for one in fault.split("/"))
