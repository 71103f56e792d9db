"""Whether a case read now gives the numbers that stand in it: each `advice` entry held against the advice given anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from diagnose import loaded
from diagnose.assessment.advice import advice
from diagnose.belief.model import Contradiction
from diagnose.case.case import Case
from diagnose.review.replay import Moment
from diagnose.trouble.network import Network

CLOSE = 1e-9  # how far two numbers of one rule base may lie apart
# Not held against what is said now: words of another version, and the rule base, which decides how a difference is taken.
WORDING = frozenset({"why", "rulebase"})


@dataclass(frozen=True)
class Difference:
    """One field of an advice entry that comes out differently now; None stands for "not there"."""

    entry: int
    what: str
    recorded: Any
    now: Any


def differences(step: Moment, network: Network) -> list[Difference]:
    """Return what of an advice entry comes out differently under this network; [] where all of it is reproduced.

    Fields that only one side has are left out: an older file holds fewer, a newer one more.
    """
    recorded = {k: v for k, v in step.event.data.items() if k not in WORDING}
    try:
        given = advice(loaded.assessed(network, step.trouble), network.base)
    except Contradiction:
        return [Difference(step.event.seq, "state", recorded.get("state"), "the results cannot all be true")]
    found: list[Difference] = []
    for key in sorted(set(recorded) & set(given)):
        found += _top(step, recorded[key]) if key == "top" else _field(step.event.seq, key, recorded[key], given[key])
    return found


def _field(entry: int, what: str, recorded: Any, now: Any) -> list[Difference]:
    return [] if _same(recorded, now) else [Difference(entry, what, recorded, now)]


def _same(one: Any, other: Any) -> bool:
    numbers = (int, float)
    if isinstance(one, numbers) and isinstance(other, numbers) and not isinstance(one, bool):
        return abs(one - other) <= CLOSE * max(1.0, abs(one))
    return bool(one == other)


def _top(step: Moment, recorded: Any) -> list[Difference]:
    """Return the causes whose recorded share is not what it is now: each by its own name, whatever its rank."""
    found: list[Difference] = []
    for row in recorded if isinstance(recorded, list) else []:
        if not (isinstance(row, list) and len(row) == 2 and isinstance(row[1], (int, float))):
            found.append(Difference(step.event.seq, "top", row, None))
            continue
        known = {r.id for r in step.after.causes}
        now = step.after.share(str(row[0])) if row[0] in known else None
        found += _field(step.event.seq, str(row[0]), row[1], now)
    return found


def written_under(case: Case, step: Moment) -> Mapping[str, Any]:
    """Return the rule base an entry was written under: its own where it says so, else that of the opening."""
    for said in (step.event.data.get("rulebase"), case.opening.get("rulebase")):
        if isinstance(said, Mapping):
            return said
    return {}
