"""The finding: every located cause ranked by responsibility, families, ambiguity, and the state it is in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from diagnose.belief.exact import ask, believe
from diagnose.belief.model import Belief, Clause, Contradiction, Evidence, Look
from diagnose.belief.setting import Row
from diagnose.plan.plan import Plan, told_apart
from diagnose.trouble.evidence import Prepared
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import node

# Bands around the anchors of the verbal scale in the rule base; the number always stands beside the word.
WORDS = (
    (0.925, "almost certain"),
    (0.8, "probable"),
    (0.625, "to be expected"),
    (0.375, "fifty-fifty"),
    (0.2, "uncertain"),
    (0.075, "improbable"),
    (0.01, "unlikely"),
    (0.0, "hardly"),
)


def words(probability: float) -> str:
    """Return the word for a probability."""
    return next(word for least, word in WORDS if probability >= least)


@dataclass(frozen=True)
class Ranked:
    """One located cause in the ranking.

    `share` is what it is judged by: how likely it is responsible for the complaint, or, with nothing complained of, present.
    """

    id: str
    probability: float
    responsible: float
    removed: bool = False
    complained: bool = True

    @property
    def share(self) -> float:
        """Return how likely it is responsible where there is a complaint, else how likely it is present."""
        return self.responsible if self.complained else self.probability


@dataclass(frozen=True)
class Finding:
    """The conclusion as things stand; `group_shares` is the exact responsibility of each repair group."""

    state: str
    causes: tuple[Ranked, ...]
    families: Mapping[str, float]
    unmodelled: float | None
    group_shares: Mapping[str, float]
    ambiguity: tuple[tuple[str, ...], ...]
    conflict: tuple[str, ...]
    may_return: tuple[str, ...]


def rank(network: Network, prepared: Prepared) -> tuple[Belief, tuple[Ranked, ...]]:
    """Return the belief, and every located cause by responsibility (ties by id)."""
    belief = believe(network.model, prepared.evidence)
    complained = bool(prepared.complaint)
    ranked = [
        Ranked(c, belief.present.get(c, 0.0), belief.responsible.get(c, 0.0), c in prepared.removed, complained) for c in network.causes
    ]
    # Rounded as it is printed: the last digits of a sum must not decide between equals.
    ranked.sort(key=lambda r: (-round(r.responsible, 12), r.id))
    return belief, tuple(ranked)


def conclude(
    network: Network,
    prepared: Prepared,
    ranking: tuple[Belief, tuple[Ranked, ...]],
    groups: Mapping[str, RepairGroup],
    plan: Plan,
    gone: bool = False,
) -> Finding:
    """Return the finding; `gone` says that after a remedy every complaint result is normal again."""
    belief, causes = ranking
    families = _families(network)
    shares = _at_least_one(network, prepared.evidence, {**families, **{k: frozenset(g.causes) for k, g in groups.items()}})
    group_shares = {k: shares[k] for k in groups}
    has_complaint = bool(prepared.complaint)
    state = "unsettled"
    named: tuple[str, ...] = ()
    conflict: tuple[str, ...] = ()
    if gone:
        state = "confirmed"
    elif has_complaint:
        state, named, conflict = _state(network, prepared, belief, groups, group_shares, plan)
    return Finding(
        state,
        causes,
        {f: shares[f] for f in families},
        belief.unexplained if has_complaint else None,
        group_shares,
        tuple(groups[k].causes for k in named) if state == "ambiguous" else (),
        conflict,
        tuple(sorted(prepared.quieted)),
    )


def _families(network: Network) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for located in network.causes.values():
        found.setdefault(located.cause.family, set()).add(located.id)
    return {family: frozenset(ids) for family, ids in sorted(found.items())}


def _at_least_one(network: Network, evidence: Evidence, sets: Mapping[str, frozenset[str]]) -> dict[str, float]:
    """Return the exact probability that at least one cause of each set is responsible."""
    rows = [Row(), *(Row(muted=ids) for ids in sets.values())]
    weights = ask(network.model, evidence, rows, posteriors=False).likelihood
    return {name: max(0.0, 1.0 - float(weights[i + 1] / weights[0])) for i, name in enumerate(sets)}


def _state(
    network: Network,
    prepared: Prepared,
    belief: Belief,
    groups: Mapping[str, RepairGroup],
    shares: Mapping[str, float],
    plan: Plan,
) -> tuple[str, tuple[str, ...], tuple[str, ...]]:
    settings = network.base.settings
    torn = _conflict(network, prepared, belief.likelihood)
    if belief.unexplained >= 0.5 or torn > settings.conflict_limit:
        return "unexplained", (), _worst_pair(network, prepared)
    order = sorted(groups, key=lambda k: (-round(shares[k], 12), k))
    if shares[order[0]] >= settings.isolated_at:
        return "isolated", (), ()
    named = _named(network, prepared.evidence, groups, order, settings.isolated_at)
    if len(named) > 1 and not _can_split(named, groups, belief, plan):
        return "ambiguous", named, ()
    return "unsettled", (), ()


def _named(network: Network, evidence: Evidence, groups: Mapping[str, RepairGroup], order: Sequence[str], enough: float) -> tuple[str, ...]:
    """Return the shortest run of groups, in falling share, whose joint responsibility is enough (or none)."""
    runs, members = [], frozenset[str]()
    for key in order[:12]:
        members |= frozenset(groups[key].causes)
        runs.append(members)
    joint = _at_least_one(network, evidence, {str(i): run for i, run in enumerate(runs)})
    for i in range(len(runs)):
        if joint[str(i)] >= enough:
            return tuple(order[: i + 1])
    return ()


def _can_split(named: Sequence[str], groups: Mapping[str, RepairGroup], belief: Belief, plan: Plan) -> bool:
    """Return whether an available check tells two causes of different named groups apart."""
    pairs = [
        (a, b)
        for g, h in combinations(named, 2)
        for a in groups[g].causes
        for b in groups[h].causes
        if belief.responsible[a] > 1e-3 and belief.responsible[b] > 1e-3
    ]
    return any(told_apart(v, a, b, belief.responsible) for v in plan.checks for a, b in pairs)


def _single(prepared: Prepared, index: int) -> list[tuple[str, Look]]:
    """Return each result of one look as a look of its own, under its name."""
    found = []
    for one in prepared.seen[index]:
        names = [node(*n) for n in one.nodes]
        alone = len(names) == 1 and not one.result.several
        bounds = {names[0]: one.result.high} if alone else {}
        clauses = (Clause(tuple((n, one.result.low) for n in names)),) if one.result.low > 0 else ()
        found.append((str(one.result), Look(bounds, clauses)))
    return found


def _alone(network: Network, prepared: Prepared, look: Look) -> float:
    """Return the probability of one look in place of the one the complaint was told in, given all looks before it."""
    number, looks = prepared.told_in, prepared.evidence.looks
    own = replace(looks[number], bounds=look.bounds, clauses=look.clauses)
    return _likelihood(network, prepared, (*looks[:number], own)) / _likelihood(network, prepared, looks[:number])


def _likelihood(network: Network, prepared: Prepared, looks: tuple[Look, ...]) -> float:
    if not looks:
        return 1.0
    evidence = Evidence(looks, prepared.evidence.odds)
    return float(ask(network.model, evidence, [Row()], posteriors=False).likelihood[0])


def _conflict(network: Network, prepared: Prepared, likelihood: float) -> float:
    """Return the product of the results' own probabilities over their joint one, in the look the complaint was told in.

    All are taken given the looks before it: what an earlier complaint, gone since, was found with is no conflict of this one.
    """
    number, looks = prepared.told_in, prepared.evidence.looks
    product = 1.0
    for _, look in _single(prepared, number):
        product *= _alone(network, prepared, look)
    if len(looks) > 1:
        likelihood = _likelihood(network, prepared, looks[: number + 1]) / _likelihood(network, prepared, looks[:number])
    return product / likelihood


def _worst_pair(network: Network, prepared: Prepared) -> tuple[str, ...]:
    """Return the two results that go together worst: largest P(a) P(b) / P(a and b)."""
    singles = _single(prepared, prepared.told_in)
    own = {name: _alone(network, prepared, look) for name, look in singles}
    worst = 1.0
    pair: tuple[str, ...] = ()
    for (a, x), (b, y) in combinations(singles, 2):
        if set(x.bounds) & set(y.bounds):
            continue
        both = Look({**x.bounds, **y.bounds}, x.clauses + y.clauses)
        try:
            ratio = own[a] * own[b] / _alone(network, prepared, both)
        except (Contradiction, ZeroDivisionError):
            ratio = float("inf")
        if ratio > worst:
            worst, pair = ratio, (a, b)
    return pair
