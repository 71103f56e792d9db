"""How suspect each place of the engine is: the chance that at least one cause there is to blame."""

from __future__ import annotations

from collections.abc import Mapping
from math import prod

from diagnose.assessment.assess import Assessment
from diagnose.belief.exact import ask
from diagnose.belief.setting import Row
from diagnose.places import inside
from diagnose.trouble.network import Network


def place_shares(network: Network, assessment: Assessment) -> Mapping[str, float]:
    """Return place -> how likely a cause at that very place is responsible, exact; a part that was exchanged counts where it stands.

    Two places can be responsible together, so shares can add to more than 1. Without a complaint nobody is responsible
    for anything yet: the chance that a cause is present there, taken as independent.
    """
    members: dict[str, set[str]] = {}
    for located in network.causes.values():
        members.setdefault(assessment.prepared.stands.get(located.id, located.place), set()).add(located.id)
    if not assessment.complaint:
        present = {row.id: row.probability for row in assessment.finding.causes}
        return {place: 1.0 - prod(1.0 - present[c] for c in ids) for place, ids in members.items()}
    rows = [Row(), *(Row(muted=frozenset(ids)) for ids in members.values())]
    weights = ask(network.model, assessment.prepared.evidence, rows, posteriors=False).likelihood
    return {place: max(0.0, 1.0 - float(weights[i] / weights[0])) for i, place in enumerate(members, 1)}


def repaired_places(network: Network, assessment: Assessment) -> frozenset[str]:
    """Return the circuits and sides at which a remedy was done, or inside a place where one was."""
    done = [repair.place for look in assessment.trouble.looks for repair in look.repairs if repair.place != "engine"]
    layout = network.layout
    return frozenset(p for kind in ("circuit", "side") for p in layout.places(kind) if any(inside(layout, p, d) for d in done))
