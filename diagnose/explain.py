"""Why a cause stands where it stands, and why a check is worth doing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.belief.exact import believe
from diagnose.belief.model import Contradiction
from diagnose.chase import Assessment
from diagnose.evidence import LookResults, prepare, without_result
from diagnose.network import Network
from diagnose.plan import Valued


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
    full = {r.id: r.responsible if looks[0].complaint else r.probability for r in assessment.finding.causes}
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
        belief = believe(network.model, prepared.evidence)
    except Contradiction:
        return None
    if not prepared.complaint:
        return dict(belief.present)
    return {c: belief.responsible.get(c, 0.0) for c in network.causes}


def why_check(chosen: Valued, runner_up: Valued | None) -> str:
    """Return one sentence on why a check is offered, against the runner-up, in bits and minutes."""
    text = (
        f"it tells {chosen.information:.2f} bit about what to repair in {chosen.minutes:.0f} min and saves "
        f"{max(0.0, chosen.value) * chosen.minutes:.0f} min on the way to a fixed engine"
    )
    if runner_up is None:
        return text
    other = runner_up.located
    return (
        f"{text}; next best, {other.check.label.lower()} ({other.place}), tells "
        f"{runner_up.information:.2f} bit in {runner_up.minutes:.0f} min"
    )
