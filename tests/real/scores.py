"""Scores of what the program told, against answers and bets: pure arithmetic, defined in README.md."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean
from typing import Any

from tests.real.asking import Told
from tests.real.records import Account, Answer, Bet, Expected, Presentation

FLOOR = 0.001  # least share a logarithm is taken of
SURE = 0.8  # a wrong family above this is "sure and wrong"
EDGES = (0.0, 0.02, 0.05, 0.1, 0.2, 0.5, 0.8, 1.0)  # of the shares, for calibration


def log(share: float) -> float:
    """Return the natural logarithm of a share, floored."""
    return math.log(max(FLOOR, share))


def scaled(families: Mapping[str, float]) -> dict[str, float]:
    """Return the shares divided by their sum where that is above 1 (two families can be responsible together)."""
    whole = max(1.0, math.fsum(families.values()))
    return {f: share / whole for f, share in families.items()}


def log_share(families: Mapping[str, float], accepted: Iterable[str]) -> float:
    """Return the log of the accepted families' summed shares, scaled."""
    shares = scaled(families)
    return log(math.fsum(shares.get(f, 0.0) for f in accepted))


def cross_entropy(bet: Mapping[str, float], families: Mapping[str, float]) -> float:
    """Return the cross-entropy of a bet with the scaled shares, in nats, over the families the bet names.

    The bet's probabilities are divided by their sum; what it leaves of 1 is not counted. With the bet itself as the shares this
    is `own_entropy`, the least a program that thinks alike can have.
    """
    shares, whole = scaled(families), math.fsum(bet.values())
    return -math.fsum(p / whole * log(shares.get(f, 0.0)) for f, p in bet.items())


def own_entropy(bet: Mapping[str, float]) -> float:
    """Return a bet's cross-entropy with itself."""
    return cross_entropy(bet, bet)


def first_of(bet: Bet) -> tuple[str, ...]:
    """Return the families of a bet by probability, ties by name."""
    return tuple(sorted(bet.families, key=lambda f: (-bet.families[f], f)))


@dataclass(frozen=True)
class Judged:
    """One account: what was told, and its answer."""

    told: Told
    answer: Answer

    @property
    def first(self) -> bool:
        """Return whether an accepted family leads."""
        return bool(set(self.told.order[:1]) & set(self.answer.families))

    @property
    def three(self) -> bool:
        """Return whether an accepted family is among the first three."""
        return bool(set(self.told.order[:3]) & set(self.answer.families))

    @property
    def cause(self) -> bool:
        """Return whether the likeliest located cause is an accepted cause."""
        return next(iter(self.told.causes), "").split("@")[0] in self.answer.causes

    @property
    def sure_wrong(self) -> bool:
        """Return whether a family that is not accepted leads above `SURE`."""
        return bool(self.told.order) and not self.first and self.told.families[self.told.order[0]] > SURE

    @property
    def log(self) -> float:
        """Return the log of the accepted families' scaled shares."""
        return log_share(self.told.families, self.answer.families)

    @property
    def unseen(self) -> bool:
        """Return whether the state is `isolated` though no test of the entry saw the fault."""
        return self.told.state == "isolated" and not self.told.seen


def totals(judged: Sequence[Judged]) -> dict[str, float]:
    """Return the scores of some accounts, with the bets' own on the same lines beside them."""
    bets = [(first_of(j.answer.bet), set(j.answer.families), j.answer.bet.families) for j in judged]
    return {
        "accounts": len(judged),
        "family_first": sum(j.first for j in judged),
        "family_three": sum(j.three for j in judged),
        "cause_first": sum(j.cause for j in judged),
        "sure_wrong": sum(j.sure_wrong for j in judged),
        "isolated_unseen": sum(j.unseen for j in judged),
        "log": mean([j.log for j in judged]),
        "log_any": mean([log(j.told.accepted) for j in judged]),
        "cross_entropy": mean([cross_entropy(j.answer.bet.families, j.told.families) for j in judged]),
        "bet_first": sum(bool(set(order[:1]) & accepted) for order, accepted, _ in bets),
        "bet_three": sum(bool(set(order[:3]) & accepted) for order, accepted, _ in bets),
        "bet_log": mean([log_share(shares, accepted) for _, accepted, shares in bets]),
        "bet_entropy": mean([own_entropy(shares) for _, _, shares in bets]),
    }


def mean(values: Sequence[float]) -> float:
    """Return the mean to four places, 0 of nothing."""
    return round(fmean(values), 4) if values else 0.0


def said(accounts: Iterable[Account]) -> dict[str, float]:
    """Return how many told complaints and observations are said wholly, partly, not, and engines no layout fits."""
    accounts = list(accounts)
    counts = Counter(word for account in accounts for word in account.said())
    found: dict[str, float] = {word: counts[word] for word in ("wholly", "partly", "not")}
    found["share_wholly"] = round(counts["wholly"] / max(1, counts.total()), 4)
    found["engines_not"] = sum(u.of == "engine" for account in accounts for u in account.unsaid)
    return found


def family_totals(rows: Sequence[tuple[Mapping[str, float], str, Mapping[str, float]]]) -> dict[str, dict[str, float]]:
    """Return family -> expected (sum of shares), actual (how often it turned out to be it) and bet (sum of bets)."""
    names = sorted({f for told, actual, bet in rows for f in (*told, *bet, *([actual] if actual else []))})
    return {
        f: {
            "expected": round(math.fsum(told.get(f, 0.0) for told, _, _ in rows), 3),
            "actual": sum(actual == f for _, actual, _ in rows),
            "bet": round(math.fsum(bet.get(f, 0.0) for _, _, bet in rows), 3),
        }
        for f in names
    }


def calibration(judged: Sequence[Judged]) -> list[dict[str, float]]:
    """Return, for each band of shares, how many families got one, their mean share and how many of them were accepted."""
    pairs = [(share, f in j.answer.families) for j in judged for f, share in j.told.families.items()]
    bands = []
    for low, high in pairwise(EDGES):
        inside = [(s, right) for s, right in pairs if low <= s < high or s == high == 1.0]
        row = {"from": low, "to": high, "families": len(inside), "mean_share": mean([s for s, _ in inside])}
        bands.append({**row, "accepted": mean([float(right) for _, right in inside])})
    return bands


def of_made_up(told: Mapping[str, Told], expected: Mapping[str, Expected], family_of: Mapping[str, str]) -> dict[str, float]:
    """Return agreement with the mechanic on the made-up troubles, and the hidden fault's family first and in three."""
    pairs = [(told[k], e) for k, e in expected.items()]
    hidden = [{family_of[h.split("@")[0]] for h in e.hidden} for _, e in pairs]
    return {
        "troubles": len(pairs),
        "first_suspicion": sum(suspects(t, e) for t, e in pairs),
        "first_suspicion_own": sum(bool(set(t.order[:1]) & set(e.suspects)) for t, e in pairs),
        "next_check": sum(agrees(t.next, (*e.next, *e.next_as_good)) for t, e in pairs),
        "next_check_own": sum(agrees(t.next, e.next) for t, e in pairs),
        "hidden_first": sum(bool(set(t.order[:1]) & h) for (t, _), h in zip(pairs, hidden, strict=True)),
        "hidden_three": sum(bool(set(t.order[:3]) & h) for (t, _), h in zip(pairs, hidden, strict=True)),
    }


def suspects(told: Told, expected: Expected) -> bool:
    """Return whether the leading family is one the mechanic suspects first, or called as good."""
    return bool(set(told.order[:1]) & {*expected.suspects, *expected.as_good})


def agrees(step: str, steps: Iterable[str]) -> bool:
    """Return whether a step is one of some, those without a place meaning any place."""
    return any(step == s or ("@" not in s and step.split("@")[0] == s) for s in steps)


def of_differentials(told: Mapping[str, Told], presented: Mapping[str, Presentation]) -> dict[str, Any]:
    """Return how the program stands to the bets on some presentations; next steps are compared where they were asked for."""
    pairs = [(told[k], p.bet) for k, p in presented.items() if p.bet is not None]
    asked = [(t, bet) for t, bet in pairs if t.next]
    return {
        "presentations": len(presented),
        "bets": len(pairs),
        "cross_entropy": mean([cross_entropy(bet.families, t.families) for t, bet in pairs]),
        "bet_entropy": mean([own_entropy(bet.families) for _, bet in pairs]),
        "first_suspicion": sum(bool(set(t.order[:1]) & set(leaders(bet))) for t, bet in pairs),
        "next_check": sum(agrees(t.next, (bet.next,)) for t, bet in asked),
        "next_asked": len(asked),
        "families": family_totals([(t.families, "", bet.families) for t, bet in pairs]),
    }


def leaders(bet: Bet) -> tuple[str, ...]:
    """Return the families a bet puts first, all of them where they are level."""
    most = max(bet.families.values(), default=0.0)
    return tuple(f for f, p in bet.families.items() if p == most)
