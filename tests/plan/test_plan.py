"""Laws of the plan: what a check is worth, what it can come out as, what it costs, and when it is offered."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import permutations
from math import log2
from random import Random

import pytest

from diagnose import loaded
from diagnose.assessment.assess import assess
from diagnose.assessment.steps import remedy_order
from diagnose.belief import exact
from diagnose.belief.model import Clause, Evidence, Look
from diagnose.plan.checks import available
from diagnose.plan.in_hand import done_already, open_now
from diagnose.plan.repair_cost import Prices, repair_cost
from diagnose.trouble.complaint import completed
from diagnose.trouble.repair_groups import repair_groups
from diagnose.trouble.results import read_result
from diagnose.trouble.trouble import Trouble, done_nodes

SQUAWKS = {
    "rough on one side": ("opposed-4", ("rough.runup@left=yes", "drop@left=excessive")),
    "rough somewhere": ("opposed-6", ("rough.runup@some=yes",)),
    "smooth slow drop": ("opposed-4", ("drop_slow@left=yes", "rough.runup@left=no")),
    "no start": ("opposed-4", ("no_start@engine=yes",)),
}
every_squawk = pytest.mark.parametrize("squawk", SQUAWKS)


def trouble(layout, results, access=()):
    """Return (network, trouble) with the complaint filled in."""
    network = loaded.network_of((), layout)
    told = loaded.trouble_from(network.base, network.layout, (), results, frozenset(access))
    return network, completed(network.base, told)


@cache
def looked_at(squawk):
    """Return (network, assessment) of a squawk."""
    layout, results = SQUAWKS[squawk]
    network, told = trouble(layout, results)
    return network, assess(network, told)


def group_shares(network, responsible, none):
    """Return the target in plain Python: "none" exactly, and every group's summed responsibility scaled to the rest."""
    parts = [sum(responsible.get(c, 0.0) for c in g.causes) for g in repair_groups(network).values()]
    whole = sum(parts) or 1.0
    return [p / whole * (1 - none) for p in parts], none


def with_result(looks, result):
    """Return the looks with one more result in the newest."""
    return (*looks[:-1], replace(looks[-1], results=(*looks[-1].results, result)))


def bits(parts, none):
    """Return the entropy of the target in bits (Shannon 1948)."""
    return -sum(p * log2(p) for p in (*parts, none) if p > 0)


def minutes_to_fix(network, parts, none, gained=frozenset()):
    """Return the expected minutes of the best way to a fixed engine, remedies by share per minute, or help."""
    base = network.base
    costs = []
    for group in repair_groups(network).values():
        reach = sum(base.access[a].minutes.value for a in group.remedy.access if a not in gained and a in base.access)
        costs.append(group.remedy.minutes.value + reach + base.settings.retest_minutes)
    line = sorted(zip(parts, costs, strict=True), key=lambda pc: -pc[0] / pc[1])
    cost, left = base.settings.expert_minutes * none, none
    for share, minutes in reversed(line):
        left += share
        cost = min(base.settings.expert_minutes * left, minutes * left + cost)
    return cost


def reached(network, check):
    """Return the access states once a check is under way, none before: what it needs, less what those end."""
    states: list[list[str]] = []
    for name in check.access:
        states = [s for s in states if s not in network.base.access[name].ends]
        states.append(name)
    return frozenset(states)


def minutes_without_checks(network, seen, shares, none):
    """Return the least minutes over opening nothing first and opening some of what a remedy needs, written apart."""
    base = network.base
    ways = [minutes_to_fix(network, shares, none)]
    needed = {g.remedy.access[:d] for g, share in zip(seen.groups.values(), shares, strict=True) if share > 1e-10 for d in range(9)}
    for access in needed:
        opening = 0.0
        states: list[list[str]] = []
        for name in access:
            if name not in states:
                opening += base.access[name].minutes.value
            states = [s for s in states if s not in base.access[name].ends] + [name]
        ways.append(opening + minutes_to_fix(network, shares, none, frozenset(states)))
    return min(ways)


def with_few_outcomes(seen, most=24):
    """Return the first checks of a plan whose outcomes, all together, are few enough to run one by one."""
    chosen, used = [], 0
    for valued in seen.plan.checks:
        count = len(valued.outcomes())
        if used + count <= most:
            chosen.append(valued)
            used += count
    return chosen


def after(network, assessment, texts):
    """Return the belief with results added as plain bounds and clauses to the newest look."""
    evidence = assessment.prepared.evidence
    now = evidence.looks[-1]
    bounds, clauses = dict(now.bounds), list(now.clauses)
    for text in texts:
        (result,) = read_result(text, network.base, network.layout)
        name = f"{result.symptom}.{result.regime}@{result.place}"
        bounds[name] = min(bounds.get(name, 99), result.high)
        if result.low:
            clauses.append(Clause(((name, result.low),)))
    look = Look(bounds, tuple(clauses), now.removed, now.quieted)
    added = Evidence((*evidence.looks[:-1], look), evidence.odds, evidence.show_again, evidence.bad_repair, evidence.blamed)
    return exact.believe(network.model, added)


@pytest.mark.slow
@every_squawk
def test_information_lies_between_nothing_and_all_there_is_to_know(squawk):
    """0 <= I(target; check) <= H(target) (Cover & Thomas, Elements of Information Theory, 2.6.5; from memory)."""
    network, seen = looked_at(squawk)
    responsible = {r.id: r.responsible for r in seen.finding.causes}
    most = bits(*group_shares(network, responsible, seen.finding.unmodelled))
    assert seen.plan.checks
    for valued in seen.plan.checks:
        assert 0 <= valued.information <= most + 1e-9, valued.located.id
    assert max(v.information for v in seen.plan.checks) > 0.01


@pytest.mark.slow
@every_squawk
def test_outcomes_are_a_partition(squawk):
    """The chances of everything a check can give sum to one, and their mean belief is the belief now."""
    _, seen = looked_at(squawk)
    now = {r.id: r.responsible for r in seen.finding.causes}
    top = [r.id for r in seen.finding.causes[:5]]
    for valued in seen.plan.checks:
        outcomes = valued.outcomes()
        assert sum(o.probability for o in outcomes) == pytest.approx(1, abs=1e-9), valued.located.id
        assert all(0 <= o.probability <= 1 for o in outcomes)
        assert len({o.results for o in outcomes}) == len(outcomes)
        for cause in top:
            mean = sum(o.probability * o.responsible.get(cause, 0.0) for o in outcomes)
            assert mean == pytest.approx(now[cause], abs=2e-6), (valued.located.id, cause)


@every_squawk
def test_an_outcome_is_the_belief_with_those_results_added(squawk):
    """Every outcome of the checks put first: same shares to 1e-9 as a fresh run with the results entered."""
    network, seen = looked_at(squawk)
    met = 0
    for valued in with_few_outcomes(seen):
        for outcome in valued.outcomes():
            # Rarer than this, the difference of two nearly equal weights that an outcome is has lost its digits.
            if outcome.probability < 1e-5:
                continue
            told = after(network, seen, outcome.results)
            assert seen.prepared.evidence.looks[-1].clauses, "there is a complaint"
            for cause, share in outcome.responsible.items():
                assert share == pytest.approx(told.responsible[cause], abs=1e-9), (outcome.results, cause)
            left_out = max((s for c, s in told.responsible.items() if c not in outcome.responsible), default=0.0)
            assert left_out <= 1e-6 + 1e-9
            met += 1
    assert met >= 10


@pytest.mark.slow
@every_squawk
def test_worth_is_what_running_every_outcome_gives(squawk):
    """Bits and minutes saved, worked again from one fresh belief per outcome in plain Python."""
    network, seen = looked_at(squawk)
    responsible = {r.id: r.responsible for r in seen.finding.causes}
    start = group_shares(network, responsible, seen.finding.unmodelled)
    assert seen.plan.cost == pytest.approx(minutes_without_checks(network, seen, *start), rel=1e-9)
    for valued in with_few_outcomes(seen):
        entropy, cost = bits(*start), seen.plan.cost
        gained = reached(network, valued.located.check)
        for outcome in valued.outcomes():
            if outcome.probability < 1e-9:
                continue
            later = after(network, seen, outcome.results)
            parts, none = group_shares(network, later.responsible, later.unexplained)
            entropy -= outcome.probability * bits(parts, none)
            cost -= outcome.probability * minutes_to_fix(network, parts, none, gained)
        assert valued.information == pytest.approx(max(0.0, entropy), abs=1e-6), valued.located.id
        assert valued.saved == pytest.approx(cost, abs=1e-4), valued.located.id


@every_squawk
def test_steps_stand_by_expected_minutes_and_pay_when_they_beat_no_check(squawk):
    """One order by expected minutes in all, but for the first check: of like worth the gentlest goes first, and what tells next
    to nothing stands last. Value above 1 is just "cheaper than repairing with no check"."""
    _, seen = looked_at(squawk)
    telling = [v for v in seen.plan.checks if v.tells]
    assert telling == list(seen.plan.checks[: len(telling)])
    if telling and min(v.cost for v in telling) < seen.plan.cost:
        least = min(v.cost for v in telling)
        assert telling[0].cost <= 1.1 * least
        assert seen.plan.cost - telling[0].cost >= 0.6 * (seen.plan.cost - least)
    for rows in (telling, seen.plan.attempts):
        costs = [round(r.cost, 9) for r in rows]
        assert costs[1:] == sorted(costs[1:])
    for row in (*seen.plan.checks, *seen.plan.attempts):
        assert row.value == pytest.approx((seen.plan.cost - (row.cost - row.minutes)) / row.minutes)
        assert (row.value > 1 + 1e-9) == (row.cost < seen.plan.cost - 1e-9 * row.minutes)


@every_squawk
def test_no_check_is_asked_for_where_a_remedy_is_cheaper(squawk):
    """Offered are the checks that pay, and none at all where trying a remedy first costs less."""
    _, seen = looked_at(squawk)
    plan = seen.plan
    first = min([c.cost for c in plan.checks] + [plan.cost])
    if plan.attempts and plan.attempts[0].cost <= first:
        assert plan.paying == ()
    else:
        assert [v.located.id for v in plan.paying] == [v.located.id for v in plan.checks if v.tells and v.value > 1]


def test_a_check_already_done_is_not_proposed():
    """Each result in turn, normal or `cannot` or `unknown`: what it was about is asked by no check again."""
    network, told = trouble("opposed-4", ("rough.runup@left=yes",))
    everything = available(network, done_nodes(told.looks[-1].results), ())
    spot = next(n for c in everything for n in c.nodes if n.startswith("drop.runup@right"))
    for grade in ("normal", "excessive", "cannot", "unknown"):
        (result,) = read_result(f"drop@right={grade}", network.base, network.layout)
        looks = with_result(told.looks, result)
        left = available(network, done_nodes(looks[-1].results), ())
        assert all(spot not in c.nodes for c in left), grade
        assert {n for c in everything for n in c.nodes} - {n for c in left for n in c.nodes} == {spot}


@pytest.mark.slow
def test_doing_the_plan_never_meets_a_check_twice():
    """Enter the likeliest outcome of the first check, six times over: no located check comes back."""
    network, told = trouble("opposed-4", ("rough.runup@left=yes", "drop@left=excessive"))
    done: set[str] = set()
    for _ in range(6):
        plan = assess(network, told).plan
        assert not done & {v.located.id for v in plan.checks}
        first = plan.checks[0]
        done.add(first.located.id)
        likeliest = max(first.outcomes(), key=lambda o: o.probability)
        looks = told.looks
        for text in likeliest.results:
            (result,) = read_result(text, network.base, network.layout)
            looks = with_result(looks, result)
        for name in first.located.nodes:  # what an abnormal result left unread
            if name not in done_nodes(looks[-1].results):
                (result,) = read_result(f"{name}=cannot", network.base, network.layout)
                looks = with_result(looks, result)
        told = Trouble(looks, told.access, told.declined)
    assert len(done) == 6


@pytest.mark.slow
def test_access_already_gained_is_not_paid_for_again():
    """Each check costs its own minutes plus those of every state still to be reached, and no more."""
    network, seen = looked_at("rough on one side")
    _, told = trouble(*SQUAWKS["rough on one side"])
    dear = {v.located.id: v.minutes for v in seen.plan.checks}
    base = network.base
    for state, entry in base.access.items():
        cheap = {v.located.id: v for v in assess(network, Trouble(told.looks, frozenset({state}))).plan.checks}
        needing = [v for v in cheap.values() if state in v.located.check.access]
        assert entry.minutes.value > 0
        for ident in cheap.keys() & dear.keys():
            needed = cheap[ident].located.check.access
            if state == "engine_running" and "engine_cold" in needed:
                continue  # it starts from cold: a running engine spares nothing
            drop = entry.minutes.value if state in needed else 0.0
            assert dear[ident] - cheap[ident].minutes == pytest.approx(drop, abs=1e-9), (state, ident)
        assert needing or not any(state in v.located.check.access for v in seen.plan.checks)


@pytest.mark.parametrize("grade", ["unknown", "cannot"])
def test_not_knowing_moves_nothing(grade):
    """Belief, cost and the worth of every other check are the same to the last bit."""
    network, seen = looked_at("rough on one side")
    layout, results = SQUAWKS["rough on one side"]
    _, told = trouble(layout, (*results, f"drop@right={grade}", f"plug_lead@3-bottom={grade}"))
    again = assess(network, told)
    assert [(r.id, r.responsible, r.probability) for r in again.finding.causes] == [
        (r.id, r.responsible, r.probability) for r in seen.finding.causes
    ]
    assert again.plan.cost == seen.plan.cost
    before = {v.located.id: v for v in seen.plan.checks}
    same = [v for v in again.plan.checks if v.located.nodes == before[v.located.id].located.nodes]
    assert len(same) > len(seen.plan.checks) / 2
    for valued in same:
        assert valued.information == pytest.approx(before[valued.located.id].information, abs=1e-12)


def test_an_engine_that_will_not_start_is_not_run():
    """With no start, no check needs it running or hot; without, some do (a rule, not a probability)."""
    _, seen = looked_at("no start")
    for valued in seen.plan.checks:
        assert not {"engine_running", "engine_hot"} & set(valued.located.check.access), valued.located.id
    _, other = looked_at("rough on one side")
    assert any("engine_running" in v.located.check.access for v in other.plan.checks)


def ordered_cost(shares, costs, expert=10_000.0):
    """Return the program's expected cost for one column of exclusive shares that leave nothing over."""
    import numpy as np

    table = np.array([*shares, 1 - sum(shares)])[:, None]
    return float(repair_cost(table, Prices(np.array(costs, dtype=float), expert))[0])


def by_order(order, shares, costs):
    """Return the expected minutes of trying remedies in an order, each tried only if those before failed."""
    left, cost = 1.0, 0.0
    for i in order:
        cost += left * costs[i]
        left -= shares[i]
    return cost


def test_remedies_go_by_chance_over_cost():
    """Chance-over-cost order of exclusive faults: 3, 2, 1, 5, 4 at 66.30 (Kadane & Simon 1977, from memory; recomputed)."""
    shares, costs = (0.40, 0.25, 0.15, 0.12, 0.08), (60, 10, 5, 90, 30)
    orders = {order: by_order(order, shares, costs) for order in permutations(range(5))}
    best = min(orders, key=orders.__getitem__)
    assert [i + 1 for i in best] == [3, 2, 1, 5, 4]
    assert orders[best] == pytest.approx(66.30, abs=1e-9)
    assert orders[tuple(range(5))] == pytest.approx(88.15, abs=1e-9)  # likeliest first
    assert orders[tuple(sorted(range(5), key=lambda i: costs[i]))] == pytest.approx(73.50, abs=1e-9)  # cheapest first
    assert ordered_cost(shares, costs) == pytest.approx(66.30, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_no_order_and_no_moment_to_call_for_help_is_cheaper(seed):
    """Every run of remedies in every order, then help: the cheapest of them all is what the plan counts with."""
    rng = Random(seed)
    raw = [rng.uniform(0.01, 1) for _ in range(6)]
    shares = [r / sum(raw) for r in raw[:5]]
    costs, expert = [rng.uniform(5, 200) for _ in range(5)], rng.uniform(50, 400)
    found = expert
    for count in range(1, 6):
        for order in permutations(range(5), count):
            left = 1 - sum(shares[i] for i in order)
            found = min(found, by_order(order, shares, costs) + left * expert)
    assert ordered_cost(shares, costs, expert) == pytest.approx(found, rel=1e-9)


@pytest.mark.parametrize("results", [("rough.runup@left=yes", "drop@left=excessive"), ("no_drop@left=yes",), ("drop@left=dies",)])
def test_remedies_are_shown_in_the_order_the_plan_counts_with(results):
    """Share over all the minutes of a try: the work, reaching it, and the run that looks at the complaint again."""
    network, told = trouble("opposed-4", results)
    seen = assess(network, told)
    base = network.base

    def rate(key):
        remedy = seen.groups[key].remedy
        reach = sum(base.access[a].minutes.value for a in remedy.access if a not in told.access and a in base.access)
        return seen.finding.group_shares[key] / (remedy.minutes.value + reach + base.settings.retest_minutes)

    shown = remedy_order(network, seen)
    rates = [rate(key) for key in shown]
    assert len(shown) == 4
    assert rates == sorted(rates, reverse=True), list(zip(shown, rates, strict=True))
    left_out = [rate(k) for k in seen.groups if k not in (*shown, *seen.plan.unseen) and seen.finding.group_shares[k] > 0.01]
    assert max(left_out, default=0.0) <= rates[-1] + 1e-12


def test_a_check_that_tells_nothing_does_not_pay_for_opening_the_cowl():
    """No snap on a hard start: four remedies, each behind the cowling. Opening it first is no reason to look at a vent."""
    base = loaded.rulebase()
    network = loaded.network_of((), "opposed-4")
    told = ("hard_start@engine=yes",), ("impulse_silent@left=yes",)
    seen = loaded.assessed(network, loaded.trouble_from(base, network.layout, *told, frozenset()))
    assert all(v.information > 0.01 for v in seen.plan.paying)
    silent = [v for v in seen.plan.checks if v.information < 1e-3]
    assert silent
    assert not any(v.pays for v in silent)


@pytest.mark.parametrize("told", [("rough.runup@left=yes", "drop@left=excessive"), ("no_start@engine=yes",)])
def test_a_check_that_tells_nothing_never_changes_the_plan(told):
    """The same steps at the same minutes with and without the checks that tell next to nothing, whatever access they open."""
    network, there = trouble("opposed-4", told)
    seen = assess(network, there)
    silent = {v.located.id for v in seen.plan.checks if v.information < 0.01 and not v.tells}
    assert any(v.located.check.access for v in seen.plan.checks if v.located.id in silent)
    without = assess(network, replace(there, declined=frozenset(silent)))
    assert without.plan.cost == pytest.approx(seen.plan.cost, rel=1e-12)
    kept = [(v.located.id, round(v.cost, 6)) for v in seen.plan.checks if v.located.id not in silent]
    assert [(v.located.id, round(v.cost, 6)) for v in without.plan.checks] == kept
    assert [(a.group.key, round(a.cost, 6)) for a in without.plan.attempts] == [(a.group.key, round(a.cost, 6)) for a in seen.plan.attempts]


def test_opening_it_first_and_then_looking_costs_the_same():
    """Access split from its check: minutes to open, then the plan with it open, are the minutes of the plan with it shut."""
    network, shut = trouble("opposed-4", ("rough.runup@left=yes", "drop@left=excessive"))
    _, open_ = trouble("opposed-4", ("rough.runup@left=yes", "drop@left=excessive"), ("cowl_off",))
    plans = [assess(network, t).plan for t in (shut, open_)]
    closed, opened = ({v.located.id: v for v in plan.checks} for plan in plans)
    cowl = network.base.access["cowl_off"].minutes.value
    both = [i for i, v in closed.items() if i in opened and "cowl_off" in v.located.check.access]
    assert len(both) > 10
    for name in both:
        assert closed[name].minutes == pytest.approx(cowl + opened[name].minutes)
        alone = [v.minutes - v.saved for v in (closed[name], opened[name])]
        assert plans[0].cost + alone[0] == pytest.approx(cowl + plans[1].cost + alone[1])


def test_a_finding_shows_what_is_open_and_done():
    """A plug read: the cowling is off, and that plug is not asked to be read again; another one is."""
    network, told = trouble("opposed-4", ("rough.idle@left=yes", "plug_oil@3-bottom=yes"))
    assert open_now(network, told) == {"cowl_off"}
    assert done_already(network, told) == {"look_at_plug@3-bottom"}
    ids = {v.located.id: v for v in assess(network, told).plan.checks}
    assert "look_at_plug@3-bottom" not in ids
    assert ids["look_at_plug@1-bottom"].minutes == network.base.checks["look_at_plug"].minutes.value


def test_recorded_access_goes_before_what_a_finding_shows():
    """What somebody said of the access stands; a finding of a running engine opens nothing."""
    network, told = trouble("opposed-4", ("plug_oil@3-bottom=yes",), ("engine_hot",))
    assert open_now(network, told) == {"engine_hot"}
    network, told = trouble("opposed-4", ("rough.idle@left=yes", "drop@left=excessive"))
    assert open_now(network, told) == frozenset()
