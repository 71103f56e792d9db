"""States of the aircraft that checks need: what they cost to reach, and which of them end each other."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import ACCESS, RuleBase

RUNNING = "engine_running"
HANDS_ON = frozenset(("cowl_off", "plugs_out", "leads_off"))
WAITED = frozenset(("engine_cold", "engine_damp"))  # waited for: other work goes on meanwhile


def missing(needed: Iterable[str], gained: Collection[str]) -> tuple[str, ...]:
    """Return the states still to be reached."""
    return tuple(name for name in needed if name not in gained)


def minutes_to_reach(base: RuleBase, needed: Iterable[str], gained: Collection[str]) -> float:
    """Return the minutes to reach every state needed, in order; one that another ends on the way is paid again."""
    now, total = frozenset(gained), 0.0
    for name in needed:
        if name not in now:
            total += base.access[name].minutes.value if name in base.access else 0.0
            now = _reached(base, name, now)
    return total


def after(base: RuleBase, needed: Iterable[str], gained: Collection[str]) -> frozenset[str]:
    """Return the states once `needed` are reached, in order: those they end are gone.

    Nobody works under the cowl of a running engine: hands on it stop it, also where the cowl was off already.
    """
    needed = tuple(needed)
    stopped = {RUNNING} if HANDS_ON & set(needed) and RUNNING not in needed else set()
    now = frozenset(gained) - stopped
    for name in needed:
        if name not in now:
            now = _reached(base, name, now)
    return now


def _reached(base: RuleBase, name: str, now: frozenset[str]) -> frozenset[str]:
    ended = frozenset(base.access[name].ends) if name in base.access else frozenset()
    return (now - ended) | {name}


def read_access(text: str) -> frozenset[str]:
    """Return the states named in a comma-separated text; BadInput names the known ones."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    for name in names:
        if name not in ACCESS:
            raise BadInput(f"access '{name}' is not known; {did_you_mean(name, ACCESS)}")
    return frozenset(names)
