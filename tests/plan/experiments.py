"""Experiments: exchange two parts, look again, and read off where the fault went - exactly, in the same engine.

What the effect of a cause was before the exchange it still is after it, and shows again as any effect does
(`belief.model`). So one exchange is one more look with some links moved (`exchanges`), and needs no new arithmetic.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from diagnose.belief.exact import ask
from diagnose.belief.model import Evidence, Look, Model
from diagnose.belief.setting import Row
from diagnose.trouble.exchanges import Exchange, Moves, moved_links
from diagnose.trouble.network import Network


@dataclass(frozen=True)
class Exchanged:
    """One way an exchange comes out: abnormal at the first place, at the second; how likely; who was responsible."""

    first: bool
    second: bool
    probability: float
    responsible: Mapping[str, float]


def exchange(network: Network, check: str, first: str, second: str) -> Moves:
    """Return what each moving cause feeds after the parts of a check that exchanges them change between two places."""
    return moved_links(network, [Exchange(check, first, second)])


def after_exchange(evidence: Evidence, moves: Moves) -> Evidence:
    """Return the evidence with a new look, nothing seen in it yet, in which the moved causes feed elsewhere.

    Whoever is blamed is blamed for the complaint as it was before.
    """
    return replace(evidence, looks=(*evidence.looks, Look(moved=moves)))


def outcomes(model: Model, evidence: Evidence, moves: Moves, first: str, second: str) -> list[Exchanged]:
    """Return the four ways two findings can read after an exchange, from one sweep of the engine.

    The fault followed the part where it left one place for the other; both abnormal or both normal is told as such.
    """
    rows = [Row(), Row({first: 0}), Row({second: 0}), Row({first: 0, second: 0})]
    answers = ask(model, after_exchange(evidence, moves), rows)
    whole = float(answers.likelihood[0])
    found = []
    for at_first, at_second in ((False, False), (False, True), (True, False), (True, True)):
        chance = _read(answers.likelihood, at_first, at_second)
        responsible = {c: _read(w, at_first, at_second) / chance if chance > 0 else 0.0 for c, w in answers.responsible.items()}
        found.append(Exchanged(at_first, at_second, chance / whole, responsible))
    return found


def _read(weights: Any, first: bool, second: bool) -> float:
    """Return the weight of one reading from those of "no bound", "first normal", "second normal", "both normal"."""
    free, first_normal, second_normal, both_normal = (float(weights[i]) for i in range(4))
    if first and second:
        return max(0.0, free - first_normal - second_normal + both_normal)
    if first:
        return max(0.0, second_normal - both_normal)
    return max(0.0, first_normal - both_normal) if second else both_normal
