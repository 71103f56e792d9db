"""Run mutants of the shipped rule base against the cases, then the survivors against the rule tests, up to the first kill."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from diagnose import loaded
from diagnose.rulebase.casebook import CaseSheet, read_cases
from diagnose.rulebase.locate import shipped
from diagnose.trouble.network import Network, build
from tests.casebook.judging import judge
from tests.mutation.mutants import Mutant, changed, mutants
from tests.mutation.ruletests import first_failing_rule_test
from tests.trade.how_often import failing, rows_of

# Cases judged at most on one mutant: those about its causes come first, and hardly any other ever tells.
MOST = 40
# A mutant that changes no result's chance by this much is the same rule to anybody who has not seen ten engines with the fault.
SEEN = 0.1


@dataclass(frozen=True)
class Outcome:
    """What became of a mutant; `by` names the first case or test that failed (empty: it survived)."""

    mutant: Mutant
    by: str
    judged: int


def sample(count: int, seed: int, links_only: bool = False) -> list[Mutant]:
    """Return a seeded sample of the mutants of the shipped rule base that anybody could notice, spread evenly over their kinds."""
    pool: dict[str, list[Mutant]] = {}
    for mutant in mutants(loaded.rulebase()):
        if mutant.link or not links_only:
            pool.setdefault(mutant.kind, []).append(mutant)
    generator = random.Random(seed)
    for found in pool.values():
        generator.shuffle(found)
    chosen: list[Mutant] = []
    while len(chosen) < count and any(pool.values()):
        for found in pool.values():
            while found and len(chosen) < count:
                mutant = found.pop()
                if noticed(mutant) >= SEEN:
                    chosen.append(mutant)
                    break
    return chosen


def noticed(mutant: Mutant) -> float:
    """Return by how much the chance of any one result changes at most, given one of the mutant's causes alone (1 for priors)."""
    if not mutant.causes or not mutant.touched:
        return 1.0
    most = 0.0
    for name in mutant.causes:
        for layout, located in {(row.layout, row.cause) for row in rows_of(name)}:
            sound = loaded.network_of((), layout)
            before, after = (_chances(n, located) for n in (sound, mutated(sound, mutant)))
            most = max([most, *(abs(before.get(k, 0.0) - after.get(k, 0.0)) for k in before | after)])
    return most


def _chances(network: Network, located: str) -> dict[tuple[str, int], float]:
    """Return, for each finding and level, how often a cause alone shows that level or worse."""
    hidden: dict[tuple[str, int], float] = {}
    for effect in next(c for c in network.model.causes if c.id == located).effects:
        for link in effect.links:
            for level in range(1, len(link.levels)):
                key = (link.finding, level)
                hidden[key] = hidden.get(key, 1.0) * (1.0 - effect.strength * sum(link.levels[level:]))
    return {key: 1.0 - none for key, none in hidden.items()}


def run(mutant: Mutant, rule_tests: bool = True) -> Outcome:
    """Return what became of one mutant."""

    @cache
    def network(layout: str) -> Network:
        return mutated(loaded.network_of((), layout), mutant)

    judged = 0
    for case in _in_order(mutant)[:MOST]:
        judged += 1
        if judge(case, network(case.layout)).failures and _holds(case):
            return Outcome(mutant, case.name, judged)
    told = [failing(network(row.layout), row) for cause in mutant.causes for row in rows_of(cause)] if rule_tests else []
    if any(told):
        return Outcome(mutant, "test_how_often: " + next(t for t in told if t), judged)
    by = first_failing_rule_test(changed(loaded.rulebase(), mutant)) if rule_tests else ""
    return Outcome(mutant, by, judged)


def mutated(network: Network, mutant: Mutant) -> Network:
    """Return a network with the mutant in it; only the changed causes are built anew.

    The graph stays the sound one: the cases read beliefs, and beliefs read the model alone.
    """
    few = replace(network.base, causes=dict(mutant.causes))
    new = {c.id: c for c in build(few, network.layout).unfolded.causes}
    found = Network(changed(network.base, mutant), network.layout, network.graph)
    found.__dict__["causes"] = network.causes
    causes = tuple(new.get(c.id, c) for c in network.unfolded.causes)
    found.__dict__["unfolded"] = replace(network.unfolded, causes=causes)
    return found


def _in_order(mutant: Mutant) -> list[CaseSheet]:
    """Return the cases the mutant can be seen in: those about its causes first, the costly ones (a state) last."""
    found = [c for c in _cases() if not mutant.touched or mutant.touched & _told(c)]
    return sorted(found, key=lambda c: (bool(c.expect.state), not _about(c) & set(mutant.causes), c.name))


@cache
def _cases() -> Sequence[CaseSheet]:
    cases, problems = read_cases(shipped("cases"))
    assert not problems
    return [c for c in cases if not c.known_gap]


@cache
def _holds(case: CaseSheet) -> bool:
    """Return whether a case holds on the sound rule base: only then does its failing tell anything."""
    return not judge(case, loaded.network_of((), case.layout)).failures


@cache
def _told(case: CaseSheet) -> frozenset[str]:
    return frozenset(r.split("@")[0].split(".")[0] for r in (*case.complaint, *case.results))


@cache
def _about(case: CaseSheet) -> frozenset[str]:
    expect = case.expect
    names = (
        *expect.first,
        *expect.rises,
        *expect.falls,
        *expect.kept,
        *expect.usual,
        *expect.at_times,
        *expect.seldom,
        *expect.hardly,
        *(n for ns in expect.within.values() for n in ns),
    )
    return frozenset(n.split("@")[0] for n in names)
