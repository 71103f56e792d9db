"""Why a cause stands where it stands, and why a check is worth doing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from diagnose.assessment.finding import rank
from diagnose.belief.model import Contradiction
from diagnose.plan.plan import Attempt, Valued
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network


@dataclass(frozen=True)
class Reason:
    """What one entry did to the odds of a cause, everything recorded before it being known (above 1: speaks for it).

    `entry` is a result, `REMEDY@PLACE` or an exchange, as `kind` says: result, repair, exchange. `looks`: those up to it;
    `newest`: all there are.
    """

    entry: str
    kind: str
    factor: float
    looks: tuple[LookResults, ...] = field(default=(), repr=False, compare=False)
    newest: tuple[LookResults, ...] = field(default=(), repr=False, compare=False)

    @property
    def weight(self) -> float:
        """Return how far it moves the odds, either way: 1 or more."""
        return max(self.factor, 1 / self.factor)

    @property
    def words(self) -> str:
        """Return the factor in words."""
        side = "for" if self.factor >= 1 else "against"
        if not self.matters:
            return "hardly matters"
        degree = "weakly" if self.weight < 2 else "clearly" if self.weight < 10 else "strongly"
        return f"{degree} {side} it"

    @property
    def matters(self) -> bool:
        """Return whether it is worth telling."""
        return self.weight >= 1.15


@dataclass(frozen=True)
class Account:
    """How one cause came from its odds before anything was told to its odds now: `start` x every factor = `share`, as odds.

    `reasons` stand in recorded order. While nothing is complained of a share is that of being present; from the first complaint
    on it is that of being responsible for it, so the entry that brings the complaint carries that turn as well.
    """

    start: float
    share: float
    reasons: tuple[Reason, ...]

    @property
    def heaviest(self) -> list[Reason]:
        """Return the reasons, those that moved the odds furthest first."""
        return sorted(self.reasons, key=lambda r: -r.weight)


def accounts(network: Network, looks: Sequence[LookResults], causes: Sequence[str]) -> dict[str, Account]:
    """Return for each cause what every entry did to its odds, one after the other.

    An entry after which the results could not all be true is told together with the one that resolves it.
    """
    start = _shares(network, ())
    before, told = start, []
    for kind, entry, so_far in _entries_one_by_one(looks):
        after = _shares(network, so_far)
        if after is not None and before is not None:
            told.append((kind, entry, so_far, before, after))
            before = after
    if start is None or before is None:
        return {}
    every = tuple(looks)
    return {
        cause: Account(
            start[cause], before[cause], tuple(Reason(e, k, odds(new[cause]) / odds(old[cause]), s, every) for k, e, s, old, new in told)
        )
        for cause in causes
    }


def _entries_one_by_one(looks: Sequence[LookResults]) -> Iterator[tuple[str, str, tuple[LookResults, ...]]]:
    """Yield (kind, entry, the looks up to it) for every repair, exchange and known result, oldest first."""
    for number, look in enumerate(looks):
        earlier = tuple(looks[:number])
        done = [("repair", str(r)) for r in look.repairs] or ([("exchange", str(look.exchange))] if look.exchange else [])
        if done:
            kinds, names = {kind for kind, _ in done}, ", ".join(name for _, name in done)
            yield kinds.pop(), names, (*earlier, replace(look, results=(), complaint=()))
        for count, result in enumerate(look.results, 1):
            if result.high >= 0:
                told = look.results[:count]
                named = tuple(c for c in look.complaint if c.subject in {r.subject for r in told})
                yield "result", str(result), (*earlier, replace(look, results=told, complaint=named))


def _shares(network: Network, looks: Sequence[LookResults]) -> dict[str, float] | None:
    """Return the share of every cause after some looks; None where their results cannot all be true."""
    try:
        return {row.id: row.share for row in rank(network, prepare(network, looks or (LookResults(),)))[1]}
    except Contradiction:
        return None


def odds(probability: float) -> float:
    """Return the odds of a probability, kept within 1e-9 of impossible and certain."""
    clipped = min(max(probability, 1e-9), 1 - 1e-9)
    return clipped / (1 - clipped)


def why_check(chosen: Valued, runner_up: Valued | None) -> str:
    """Return one sentence on why a check is offered: its minutes, what it saves, and the runner-up in minutes."""
    if chosen.reason:
        return f"{chosen.reason}; takes {chosen.minutes:.0f} min, tells {chosen.information:.2f} bit about what to repair"
    text = (
        f"takes {chosen.minutes:.0f} min, tells {chosen.information:.2f} bit about what to repair and saves "
        f"{max(0.0, chosen.value) * chosen.minutes:.0f} min: about {chosen.cost:.0f} min to a fixed engine this way"
    )
    if runner_up is None:
        return text
    other = runner_up.located
    text += f"; {_against(chosen.cost, runner_up.cost)} {other.check.label.lower()} ({other.place}), {runner_up.minutes:.0f} min"
    return f"{text} (of like worth, the gentler or more telling step goes first)" if chosen.cost - runner_up.cost >= 0.5 else text


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
