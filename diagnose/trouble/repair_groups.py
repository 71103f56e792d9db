"""Repair groups: the causes at one place that the same cheapest remedy ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.places import Layout, inside
from diagnose.rulebase.records import Remedy, RuleBase
from diagnose.trouble.network import LocatedCause, Network


@dataclass(frozen=True)
class RepairGroup:
    """One repair group; `key` is `REMEDY@PLACE`."""

    remedy: Remedy
    place: str
    causes: tuple[str, ...]

    @property
    def key(self) -> str:
        """Return `REMEDY@PLACE`."""
        return f"{self.remedy.id}@{self.place}"


def cheapest_remedy(base: RuleBase, layout: Layout, located: LocatedCause) -> Remedy:
    """Return the remedy of a cause that can be done on this layout and takes the fewest minutes (ties by id)."""
    found = [base.remedies[name] for name in located.cause.remedies]
    able = [r for r in found if can_be_done(layout, r, place_of(layout, r, located))]
    return min(able or found, key=lambda r: (r.minutes.value, r.id))


def can_be_done(layout: Layout, remedy: Remedy, place: str) -> bool:
    """Return whether a place has the features a remedy needs."""
    return all(layout.has(place, need) for need in remedy.needs)


def place_of(layout: Layout, remedy: Remedy, located: LocatedCause, place: str = "") -> str:
    """Return where a remedy of a cause is done: at its place (or the one its part stands at now), or at the place that holds it."""
    here = place or located.place
    if remedy.at == located.cause.at:
        return here
    return next((p for p in layout.places(remedy.at) if inside(layout, here, p)), here)


def repair_groups(network: Network, stands: Mapping[str, str] | None = None) -> Mapping[str, RepairGroup]:
    """Return every repair group of a network by key, in order of cause id; `stands`: cause -> where its part is now, if not at home."""
    away = stands or {}
    members: dict[tuple[str, str], list[str]] = {}
    for located in network.causes.values():
        remedy = cheapest_remedy(network.base, network.layout, located)
        place = place_of(network.layout, remedy, located, away.get(located.id, ""))
        members.setdefault((remedy.id, place), []).append(located.id)
    groups = (RepairGroup(network.base.remedies[r], place, tuple(ids)) for (r, place), ids in members.items())
    return {group.key: group for group in groups}
