"""The whole audit: every finding, the counts, and the testability figures of the layouts asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.audit import cautions, coverage, dmatrix, entries, faults, figures, never_first, reach, shows, simulate, told_apart
from diagnose.audit.findings import NOTICE, Found, in_order
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import repair_groups


@dataclass(frozen=True)
class Simulated:
    """The troubles drawn on one layout, their figures, and the ids of the checks that paid in any of them."""

    runs: int
    seed: int
    figures: Mapping[str, figures.Figure]
    paid: frozenset[str]


@dataclass(frozen=True)
class Audit:
    """What an audit of a rule base found; `matrix` (then by what is looked at) and `simulated` are by layout id."""

    base: RuleBase
    found: Sequence[Found]
    matrix: Mapping[str, Mapping[str, dmatrix.MatrixFigures]]
    simulated: Mapping[str, Simulated] = field(default_factory=dict)


def audit(
    networks: Sequence[Network],
    folder: Path,
    simulated: Mapping[str, Simulated] | None = None,
    tell: Callable[[int, int], None] = lambda done, total: None,
) -> Audit:
    """Return the audit of one rule base on some of its layouts (at least one), with the cases of a folder that exercise it.

    `tell` is called with how many parts of the work are done, and of how many.
    """
    base = networks[0].base
    told = simulated or {}
    known = {n.layout.id: n for n in networks}
    parts: tuple[Callable[[], Iterable[Found]], ...] = (
        lambda: entries.findings(base),
        lambda: entries.sums(networks),
        lambda: coverage.findings(networks),
        lambda: reach.findings(networks),
        lambda: cautions.findings(base),
        lambda: told_apart.findings(networks),
        lambda: never_first.findings(base, _network_of(base, known), folder),
        lambda: _never_paid(base, told),
    )
    found: list[Found] = []
    matrix: dict[str, Mapping[str, dmatrix.MatrixFigures]] = {}
    total = len(parts) + len(networks)
    for number, part in enumerate(parts, 1):
        found += part()
        tell(number, total)
    for number, network in enumerate(networks, len(parts) + 1):
        matrix[network.layout.id] = matrix_figures(network)
        tell(number, total)
    return Audit(base, in_order(found), matrix, told)


def _network_of(base: RuleBase, known: dict[str, Network]) -> Callable[[str], Network]:
    from diagnose.trouble.network import build

    def network_of(layout: str) -> Network:
        if layout not in known:
            known[layout] = build(base, base.layouts[layout])
        return known[layout]

    return network_of


def matrix_figures(network: Network) -> dict[str, dmatrix.MatrixFigures]:
    """Return the figures of the 0/1 matrices of a layout, causes grouped by repair: with every check, and with the complaint alone."""
    weights = {c: float(network.graph.nodes[c]["prior"]) for c in network.causes}
    repair = {c: key for key, group in repair_groups(network).items() for c in group.causes}
    seen = {"checks": shows.given(network), "complaint": shows.reported(network)}
    return {name: dmatrix.figures(shows.zero_one(network, nodes), weights, repair) for name, nodes in seen.items()}


def simulated(network: Network, runs: int, seed: int, tell: Callable[[int], None] = lambda done: None) -> Simulated:
    """Return the figures of `runs` troubles drawn on a layout; `tell` is called with how many are done."""
    gone: list[simulate.Run] = []
    paid: set[str] = set()
    for drawn in faults.draw(network, runs, seed):
        one, worth = simulate.run(network, drawn)
        gone.append(one)
        paid |= worth
        tell(len(gone))
    return Simulated(runs, seed, figures.testability(gone), frozenset(paid))


def _never_paid(base: RuleBase, told: Mapping[str, Simulated]) -> list[Found]:
    if not told:
        return []
    paid = {check for one in told.values() for check in one.paid}
    runs = sum(one.runs for one in told.values())
    return [
        Found(
            NOTICE,
            "never-pays",
            check,
            f"{check} was never worth its minutes in {runs} drawn troubles ({', '.join(told)})",
            "try more --runs and layouts; then look at its minutes and at what it gives",
        )
        for check in base.checks
        if check not in paid
    ]
