"""Looking before working: which check sees a fault itself, and which work waits: heavy work until one has, a setting until it is measured.

A share alone, however high, takes no cylinder off, opens no magneto and moves none.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from diagnose.places import inside
from diagnose.plan.access import minutes_to_reach
from diagnose.plan.checks import LocatedCheck
from diagnose.rulebase.records import Remedy, RuleBase
from diagnose.trouble.looks import at_each_place
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import Result
from diagnose.trouble.trouble import Trouble

SHOWS = 0.3  # a sign sees a fault where the fault shows it this often (estimate)


def is_heavy(base: RuleBase, remedy: Remedy) -> bool:
    """Return whether a remedy is over two hours of work from a closed engine: a cylinder off, a magneto opened."""
    return remedy.minutes.value + minutes_to_reach(base, remedy.access, ()) > base.settings.guess_minutes


def unseen(network: Network, trouble: Trouble, groups: Iterable[RepairGroup]) -> frozenset[str]:
    """Return the keys of the repair groups that wait.

    Heavy work waits while no test on the standing engine has seen one of its causes; what moves a setting, while it was not measured
    there: as found is written down before anything is moved (common practice, no source).
    """
    newest = at_each_place(trouble.looks)
    seen = {name for name, (_, r) in newest.items() if r.abnormal}
    found = {g.key for g in groups if not measured(network, newest, g.remedy, g.place)}
    heavy = (g for g in groups if is_heavy(network.base, g.remedy))
    return frozenset(found | {g.key for g in heavy if not any(seen & set(signs_of(network, c, g.remedy)) for c in g.causes)})


def measured(network: Network, looked: Mapping[str, tuple[int, Result]], remedy: Remedy, place: str) -> bool:
    """Return whether all that a remedy sets at a place was looked at (so it is for one that sets nothing).

    What was found wrong one way was measured there, whether the other way was told of or not. What nothing can show no check gives.
    """
    named: dict[str, list[str]] = {}
    for name, spot in network.symptoms.items():
        if spot.symptom.id in remedy.measured_by and inside(network.layout, spot.place, place) and network.graph.in_degree(name):
            named.setdefault(spot.place, []).append(name)
    wrong = {name for name, (_, result) in looked.items() if result.abnormal}
    return all(wrong & set(names) or all(n in looked for n in names) for names in named.values())


def signs_of(network: Network, cause: str, remedy: Remedy | None = None) -> Mapping[str, float]:
    """Return the signs, with how often, by which a fault itself is seen: engine standing, the part in view or measured.

    Where the remedy names what shows its faults (`seen_by`), those alone count; where nothing shows it on the standing engine, any test.
    """
    tests = {n: p for n, p in _shown(network, cause).items() if network.symptoms[n].symptom.kind == "test" and p >= SHOWS}
    if remedy is not None and remedy.seen_by:
        return {n: p for n, p in tests.items() if network.symptoms[n].symptom.id in remedy.seen_by}
    return {n: p for n, p in tests.items() if network.symptoms[n].regime == "static"} or tests


def _shown(network: Network, cause: str) -> Mapping[str, float]:
    """Return how often a cause alone, without leaks, turns each located symptom abnormal."""
    found: dict[str, float] = {}
    for effect in network.graph.successors(cause):
        for name in network.graph.successors(effect):
            often = network.graph.edges[cause, effect]["strength"] * (1 - network.graph.edges[effect, name]["levels"][0])
            found[name] = 1 - (1 - found.get(name, 0.0)) * (1 - often)
    return found


def check_that_sees(
    network: Network,
    checks: Sequence[LocatedCheck],
    shares: Mapping[str, float],
    causes: Collection[str],
    gained: Collection[str],
    remedy: Remedy | None = None,
) -> LocatedCheck | None:
    """Return the check that sees most of some causes, by their shares, in a minute; None where none sees them."""
    signs = {c: signs_of(network, c, remedy) for c in causes}

    def sees(check: LocatedCheck) -> float:
        return sum(shares.get(c, 0.0) * max((signs[c].get(n, 0.0) for n in check.nodes), default=0.0) for c in causes)

    def minutes(check: LocatedCheck) -> float:
        return check.check.minutes.value + minutes_to_reach(network.base, check.check.access, gained)

    able = [c for c in checks if sees(c) > 0]
    return min(able, key=lambda c: (-round(sees(c) / minutes(c), 12), c.id), default=None)
