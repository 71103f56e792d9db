"""Why a cause stands where it stands, and why a check is worth doing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.assessment.assess import Assessment
from diagnose.assessment.finding import rank
from diagnose.belief.model import Contradiction
from diagnose.plan.plan import Attempt, Valued
from diagnose.trouble.evidence import LookResults, prepare, without_result
from diagnose.trouble.network import Network


@dataclass(frozen=True)
class Reason:
    """What one result did to the odds of a cause being responsible (above 1: speaks for it)."""

    result: str
    factor: float

    @property
    def words(self) -> str:
        """Return the factor in words."""
        strength = self.factor if self.factor >= 1 else 1 / self.factor
        side = "for" if self.factor >= 1 else "against"
        if strength < 1.15:
            return "hardly matters"
        degree = "weakly" if strength < 2 else "clearly" if strength < 10 else "strongly"
        return f"{degree} {side} it"


def reasons(network: Network, assessment: Assessment, causes: Sequence[str]) -> dict[str, list[Reason]]:
    """Return for each cause what every result did to its odds, strongest first.

    The factor is the odds with every result over the odds with that one left out.
    """
    looks = assessment.trouble.looks
    full = {r.id: r.share for r in assessment.finding.causes}
    found: dict[str, list[Reason]] = {cause: [] for cause in causes}
    for number, look in enumerate(looks):
        for result in look.results:
            if result.high < 0:
                continue
            less = _without(network, looks, number, result.subject)
            if less is None:
                continue
            for cause in causes:
                found[cause].append(Reason(str(result), _odds(full[cause]) / _odds(less[cause])))
    for cause in causes:
        found[cause].sort(key=lambda r: (-max(r.factor, 1 / r.factor), r.result))
    return found


def _odds(probability: float) -> float:
    clipped = min(max(probability, 1e-9), 1 - 1e-9)
    return clipped / (1 - clipped)


def _without(network: Network, looks: Sequence[LookResults], number: int, subject: str) -> dict[str, float] | None:
    """Return the responsibility of every cause with one result left out; presence where no complaint is left."""
    prepared = prepare(network, without_result(looks, number, subject))
    try:
        return {row.id: row.share for row in rank(network, prepared)[1]}
    except Contradiction:
        return None


def why_check(chosen: Valued, runner_up: Valued | None) -> str:
    """Return one sentence on why a check is offered: its minutes, what it saves, and the runner-up in minutes."""
    text = (
        f"takes {chosen.minutes:.0f} min, tells {chosen.information:.2f} bit about what to repair and saves "
        f"{max(0.0, chosen.value) * chosen.minutes:.0f} min: about {chosen.cost:.0f} min to a fixed engine this way"
    )
    if runner_up is None:
        return text
    other = runner_up.located
    return f"{text}; {_against(chosen.cost, runner_up.cost)} {other.check.label.lower()} ({other.place}), {runner_up.minutes:.0f} min"


def _against(cost: float, other: float) -> str:
    """Return how two ways to a fixed engine compare, in minutes."""
    gap = other - cost
    if abs(gap) < 0.5:
        return "as good:"
    return f"{gap:.0f} min less than starting with" if gap > 0 else f"{-gap:.0f} min more than starting with"


def why_attempt(attempt: Attempt, check: Valued | None) -> str:
    """Return one sentence on why a remedy is worth trying before any further check."""
    text = (
        f"takes {attempt.minutes:.0f} min with the run after it and ends the complaint with {attempt.share:.0%}: "
        f"about {attempt.cost:.0f} min to a fixed engine this way"
    )
    if check is None:
        return f"{text}; no check is left"
    return f"{text}; {_against(attempt.cost, check.cost)} {check.located.check.label.lower()} ({check.located.place})"
