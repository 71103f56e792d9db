"""How suspect each place of the engine is: the chance that at least one cause there is to blame."""

from __future__ import annotations

from collections.abc import Mapping
from math import prod

from diagnose.assessment.assess import Assessment
from diagnose.belief.exact import ask
from diagnose.belief.setting import Row
from diagnose.places import inside
from diagnose.trouble.looks import Repair
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


def repairs_made(assessment: Assessment) -> tuple[Repair, ...]:
    """Return the repairs done, oldest first."""
    return tuple(repair for look in assessment.trouble.looks for repair in look.repairs)


def repaired_places(network: Network, assessment: Assessment) -> Mapping[str, tuple[int, ...]]:
    """Return circuit or side -> the numbers of the repairs done there or around it; those of the whole engine left out."""
    layout = network.layout
    done = [(number, r.place) for number, r in enumerate(repairs_made(assessment), 1) if r.place != "engine"]
    found = {p: tuple(n for n, place in done if inside(layout, p, place)) for kind in ("circuit", "side") for p in layout.places(kind)}
    return {place: numbers for place, numbers in found.items() if numbers}
