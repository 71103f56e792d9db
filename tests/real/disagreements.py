"""Where the program and the blind bets part: by family over all presentations, and family by what was told.

    python -m tests.real.disagreements [--cells N] [--least N]

It proposes, and moves nothing. `factor` is what a family's priors would have to be multiplied by for its total to equal the bets' (all
families together, drawn towards 1 by a few presentations' worth). What is left after that is listed by what was told: there
a link, a course or a history factor is off, or the bettors are. A reader accepts or refuses each, with a reason of the trade.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose import loaded
from tests.real import reading, scores
from tests.real.asking import believe
from tests.real.printing import table
from tests.real.records import Entry

TOWARDS_ONE = 2.0  # presentations in which each family is taken to agree, before any is read
ROUNDS = 40


@dataclass(frozen=True)
class Pair:
    """One presentation: what was told, the program's shares, the bet (both by family; what is left is none of them)."""

    told: tuple[str, ...]
    shares: Mapping[str, float]
    bet: Mapping[str, float]


@dataclass(frozen=True)
class Cell:
    """One family where one thing was told: how often, and the sums of the bets and of the (weighted) shares."""

    family: str
    told: str
    count: int
    bet: float
    share: float

    @property
    def gap(self) -> float:
        """Return by how much the bets exceed the shares, in units of what chance would make of it."""
        return (self.bet - self.share) / math.sqrt(0.25 + self.bet + self.share)


def pairs() -> list[Pair]:
    """Return every presentation that has a bet and is not set aside."""
    presented = reading.read_presentations(loaded.rulebase()).values()
    return [
        Pair(_kinds(p.entry), scores.scaled(believe(p.entry).families), p.bet.families)
        for p in presented
        if p.bet is not None and not p.aside
    ]


def _kinds(entry: Entry) -> tuple[str, ...]:
    """Return what was told without the place, but for the kind of engine."""
    lines = (*entry.complaint, *entry.results)
    told = (f"{line.split('@')[0]}={line.split('=')[1]}" for line in lines)
    return (*dict.fromkeys(told), entry.layout.split("-")[0])


def factors(pairs: Sequence[Pair]) -> dict[str, float]:
    """Return by family what its weight would have to be multiplied by."""
    families = sorted({f for p in pairs for f in (*p.shares, *p.bet)})
    bets = {f: sum(p.bet.get(f, 0.0) for p in pairs) + TOWARDS_ONE for f in families}
    found = dict.fromkeys(families, 1.0)
    for _ in range(ROUNDS):
        weighed = [weighted(p, found) for p in pairs]
        for f in families:
            mine = sum(w.get(f, 0.0) for w in weighed) + TOWARDS_ONE * min(1.0, found[f])
            found[f] *= (bets[f] / mine) ** 0.5
    return found


def weighted(pair: Pair, factor: Mapping[str, float]) -> dict[str, float]:
    """Return the shares after every family is weighed by its factor; what is none of them keeps weight 1."""
    left = max(0.0, 1.0 - sum(pair.shares.values()))
    found = {f: share * factor.get(f, 1.0) for f, share in pair.shares.items()}
    whole = left + sum(found.values())
    return {f: share / whole for f, share in found.items()}


def cells(pairs: Sequence[Pair], factor: Mapping[str, float], least: int) -> list[Cell]:
    """Return family by what was told, the widest apart first, for what was told so often at least."""
    weighed = [weighted(p, factor) for p in pairs]
    by_told: dict[str, list[int]] = {}
    for number, pair in enumerate(pairs):
        for told in pair.told:
            by_told.setdefault(told, []).append(number)
    found = [
        Cell(f, told, len(mine), sum(pairs[i].bet.get(f, 0.0) for i in mine), sum(weighed[i].get(f, 0.0) for i in mine))
        for told, mine in by_told.items()
        if len(mine) >= least
        for f in factor
    ]
    return sorted(found, key=lambda c: -abs(c.gap))


def main() -> int:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cells", type=int, default=60, help="rows of the second table")
    parser.add_argument("--least", type=int, default=4, help="presentations that must tell of it")
    args = parser.parse_args()
    found = pairs()
    if not found:
        raise SystemExit("no presentation has a bet yet")
    factor = factors(found)
    widest = sorted(factor.items(), key=lambda item: -abs(math.log(item[1])))
    rows = [(f, sum(p.bet.get(f, 0.0) for p in found), sum(p.shares.get(f, 0.0) for p in found), x) for f, x in widest]
    print(f"{len(found)} presentations")
    print("\n".join(table(("family", "bet", "share", "factor"), rows)))
    print()
    apart = cells(found, factor, args.least)[: args.cells]
    print("\n".join(table(("told: family", "times", "bet", "share"), [(f"{c.told}: {c.family}", c.count, c.bet, c.share) for c in apart])))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
