"""States of the aircraft that checks need: what they cost to reach, and which of them end each other."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import ACCESS, RuleBase


def missing(needed: Iterable[str], gained: Collection[str]) -> tuple[str, ...]:
    """Return the states still to be reached."""
    return tuple(name for name in needed if name not in gained)


def minutes_to_reach(base: RuleBase, needed: Iterable[str], gained: Collection[str]) -> float:
    """Return the minutes to reach every state still missing."""
    return sum(base.access[name].minutes.value for name in missing(needed, gained) if name in base.access)


def after(base: RuleBase, needed: Iterable[str], gained: Collection[str]) -> frozenset[str]:
    """Return the states once `needed` are reached: those they end are gone."""
    now = set(gained)
    for name in missing(needed, gained):
        now -= set(base.access[name].ends) if name in base.access else set()
        now.add(name)
    return frozenset(now)


def read_access(text: str) -> frozenset[str]:
    """Return the states named in a comma-separated text; BadInput names the known ones."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    for name in names:
        if name not in ACCESS:
            raise BadInput(f"access '{name}' is not known; {did_you_mean(name, ACCESS)}")
    return frozenset(names)
