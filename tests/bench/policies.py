"""Ways to choose the next check: the program's own, and the baselines it is measured against.

A policy is a function of the situation that returns the index of a check, or None to stop and repair.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from random import Random

from diagnose.plan import access
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.outcomes import Asked, ask_checks
from diagnose.plan.plan import Plan, make_plan
from diagnose.plan.shortlist import screened
from diagnose.trouble.evidence import Prepared
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

# The order in which the trouble chapters take things up: run-up, cold cylinder, plugs, leads, timing, magneto, switch
# (FAA-H-8083-32B p10-26 to p10-44, p4-28 to p4-42); what is not named comes last, by minutes.
HANDBOOK = (
    "mag_check",
    "off_check",
    "mag_check_idle",
    "mag_check_high_power",
    "cleaning_run",
    "mag_check_leaned",
    "egt_each_magneto",
    "cold_cylinder_check",
    "cold_cylinder_idle",
    "look_at_bottom_plugs",
    "look_at_plug",
    "bench_test_plug",
    "measure_plug_resistance",
    "look_at_harness",
    "look_at_lead_terminal",
    "lead_continuity",
    "lead_voltage_test",
    "harness_voltage_test",
    "check_timing",
    "open_breaker_cover",
    "gauge_points",
    "test_capacitor",
    "measure_coil",
    "open_distributor",
    "measure_p_leads",
    "look_at_switch",
    "differential_compression",
)


@dataclass
class Situation:
    """Everything a policy may look at; the costly parts are worked out when asked for."""

    network: Network
    prepared: Prepared
    groups: Mapping[str, RepairGroup]
    every: list[LocatedCheck]
    gained: frozenset[str]
    rng: Random

    @cached_property
    def checks(self) -> list[LocatedCheck]:
        """The checks the program would value, given how many abnormal results there are."""
        clauses = sum(len(look.clauses) for look in self.prepared.evidence.looks)
        shares = {c: float(w[0]) for c, w in self.alone.target.answers.responsible.items()}
        return screened(self.network, self.every, shares, clauses, self.gained)

    @cached_property
    def plan(self) -> Plan:
        return make_plan(self.network, self.prepared, self.groups, self.checks, self.gained)

    @cached_property
    def asked(self) -> Asked:
        return ask_checks(self.network, self.prepared, self.groups, self.checks)

    @cached_property
    def alone(self) -> Asked:
        """The evidence as it is, without any check asked."""
        return ask_checks(self.network, self.prepared, self.groups, [])

    @cached_property
    def shares(self):
        """The shares of the groups, then "none of these"."""
        return self.alone.target.table(0, 1)[:, 0]

    def minutes(self, index: int) -> float:
        check = self.checks[index].check
        return check.minutes.value + access.minutes_to_reach(self.network.base, check.access, self.gained)

    def settled(self) -> bool:
        """Whether one repair group stands out, as the program calls it isolated."""
        return bool(self.shares[:-1].max() >= self.network.base.settings.isolated_at)


def ours(s: Situation):
    """The program: the first check of the plan while one pays."""
    return _index(s, s.plan.paying[0]) if s.plan.paying else None


def ours_until_settled(s: Situation):
    """The program's order of checks under the baselines' stop rule."""
    return None if s.settled() else _index(s, s.plan.checks[0])


def _index(s, valued):
    return next(i for i, c in enumerate(s.checks) if c.id == valued.located.id)


def random(s: Situation):
    """Any check."""
    return None if s.settled() else s.rng.randrange(len(s.checks))


def cheapest(s: Situation):
    """The check that takes the fewest minutes."""
    return None if s.settled() else _best(s, lambda i: -s.minutes(i))


def likeliest(s: Situation):
    """The check most likely to be abnormal if the likeliest cause is there; ties by minutes."""
    if s.settled():
        return None
    responsible = {c: float(w[0]) for c, w in s.alone.target.answers.responsible.items()}
    for cause in sorted(responsible, key=lambda c: (-responsible[c], c))[:10]:
        shows = _shows(s.network, cause)
        best = _best(s, lambda i, shows=shows: (max(shows.get(n, 0.0) for n in s.checks[i].nodes), -s.minutes(i)))
        if any(shows.get(n, 0.0) > 0.1 for n in s.checks[best].nodes):
            return best
    return _best(s, lambda i: -s.minutes(i))


def _shows(network, cause):
    graph = network.graph
    found: dict[str, float] = {}
    for effect in graph.successors(cause):
        for finding in graph.successors(effect):
            p = graph.edges[cause, effect]["strength"] * (1 - graph.edges[effect, finding]["levels"][0])
            found[finding] = 1 - (1 - found.get(finding, 0.0)) * (1 - p)
    return found


def handbook(s: Situation):
    """The checks in a fixed order, place after place."""
    if s.settled():
        return None
    place = {name: i for i, name in enumerate(HANDBOOK)}
    return min(range(len(s.checks)), key=lambda i: (place.get(s.checks[i].check.id, 99), s.minutes(i), s.checks[i].id))


def entropy(s: Situation):
    """The check whose result is least foreseeable."""
    return None if s.settled() else _best(s, lambda i: _result_bits(s, i))


def entropy_per_minute(s: Situation):
    """The same per minute."""
    return None if s.settled() else _best(s, lambda i: _result_bits(s, i) / s.minutes(i))


def untargeted(s: Situation):
    """Information about which faults are there at all, summed over every cause, per minute."""
    return None if s.settled() else _best(s, lambda i: _fault_bits(s, i) / s.minutes(i))


def targeted(s: Situation):
    """Information about the responsible group per minute (one step, no look-ahead)."""
    from diagnose.plan.repair_cost import bits

    return None if s.settled() else _best(s, lambda i: (bits(s.shares[:, None]) - bits(s.asked.table(i))) / s.minutes(i))


def _best(s, key):
    return max(range(len(s.checks)), key=lambda i: (key(i), -i))


def _result_bits(s, index):
    import numpy as np

    chances = s.asked.table(index).sum(axis=0)
    return float(-(chances * np.log2(np.where(chances > 0, chances, 1.0))).sum())


def _fault_bits(s, index):
    """Return the sum over causes of I(cause present; outcome)."""
    import numpy as np

    answers = s.asked.target.answers
    if not hasattr(s, "present"):
        s.present = np.array([answers.present[c] for c in sorted(answers.present)]) / answers.likelihood[0]
    columns = s.asked.columns(index)
    split = lambda w: np.clip(np.concatenate([w[..., :-1] - w[..., 1:], w[..., -1:]], axis=-1), 0.0, None)
    there, chances = split(s.present[:, columns]), split(answers.likelihood[columns] / answers.likelihood[0])
    there = np.minimum(there, chances)
    before = there.sum(axis=1)
    log = lambda x: x * np.log2(np.where(x > 0, x, 1.0))
    after = (log(there) + log(chances - there) - log(chances)).sum(axis=1)
    return float((after - log(before) - log(1 - before)).sum())


POLICIES = {
    "ours": ours,
    "ours_until_settled": ours_until_settled,
    "random": random,
    "cheapest_first": cheapest,
    "likeliest_first": likeliest,
    "handbook_order": handbook,
    "entropy": entropy,
    "entropy_per_minute": entropy_per_minute,
    "untargeted_information": untargeted,
}
