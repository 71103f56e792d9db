"""One drawn trouble led by the tool's own plan to its end, then repaired in the order its own finding gives."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.assessment.assess import planned
from diagnose.audit.faults import Drawn
from diagnose.belief.exact import ask
from diagnose.belief.setting import Row
from diagnose.places import inside
from diagnose.plan import access
from diagnose.trouble import results
from diagnose.trouble.aircraft import Aircraft, Fact
from diagnose.trouble.evidence import Prepared
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import Result
from diagnose.trouble.trouble import Trouble

MOST_CHECKS = 15  # nobody goes on longer; the rest is read from the finding as it then stands
LEAST_SHARE = 0.01  # below this a repair is not proposed
# A kick-back is looked into by a person before anything else; the troubles drawn start after that.
LOOKED_AT = Aircraft({"inspection": Fact("done")})


@dataclass(frozen=True)
class Run:
    """How one trouble went.

    `group_size`: repair groups, in falling share, that together hold `isolated_at` (where all of them never do: those
    above `LEAST_SHARE`); `named`: the fault's own is one of them; `unexplained`: most of the share is nobody's;
    `repairs` and `parts`: repairs done, and part changes among them, up to the one that ends the fault, of which
    `sound_repairs` and `sound_parts` were done on something sound; `ended`: the order reached the fault.
    """

    fault: str
    detected: bool
    checks: tuple[str, ...] = ()
    minutes: float = 0.0
    unexplained: bool = False
    group_size: int = 0
    named: bool = False
    repairs: int = 0
    sound_repairs: int = 0
    parts: int = 0
    sound_parts: int = 0
    ended: bool = False


@dataclass(frozen=True)
class Led:
    """A trouble when nothing pays any more.

    `shares` is the exact responsibility of each repair group, `order` the repairs that are offered, in the order that costs least,
    `nobody` what no cause is responsible for, `paid` the ids of the checks that paid at any moment on the way.
    """

    trouble: Trouble
    groups: Mapping[str, RepairGroup]
    shares: Mapping[str, float]
    order: tuple[str, ...]
    nobody: float
    checks: tuple[str, ...]
    minutes: float
    paid: frozenset[str]


def run(network: Network, drawn: Drawn) -> tuple[Run, frozenset[str]]:
    """Return how a drawn trouble goes, and the ids of every check that paid at some moment of it."""
    if not drawn.complaint:
        return Run(drawn.fault, detected=False), frozenset()
    led = lead(network, drawn)
    size, named = _isolated(network, led, drawn.fault)
    return Run(drawn.fault, True, led.checks, led.minutes, led.nobody >= 0.5, size, named, *_repaired(network, led, drawn.fault)), led.paid


def lead(network: Network, drawn: Drawn) -> Led:
    """Return the trouble led by the plan: the best paying check, all of its results, until none pays."""
    complaint = _results(network, drawn, (drawn.complaint,))
    trouble = Trouble((LookResults(complaint, complaint),), aircraft=LOOKED_AT)
    done: list[str] = []
    paid: set[str] = set()
    minutes = 0.0
    while True:
        prepared, groups, ranking, plan = planned(network, trouble)
        paid |= {v.located.check.id for v in plan.paying}
        if not plan.paying or len(done) == MOST_CHECKS:
            shares = _shares(network, prepared, groups, ranking[0].responsible)
            order = sorted(groups, key=lambda k: (-shares[k] / plan.remedy_minutes[k], k))
            return Led(
                trouble,
                groups,
                shares,
                tuple(k for k in order if shares[k] > LEAST_SHARE and k not in plan.unseen),
                ranking[0].unexplained,
                tuple(done),
                minutes,
                frozenset(paid),
            )
        best = plan.paying[0]
        done.append(best.located.id)
        minutes += best.minutes
        now = trouble.looks[-1].results + _results(network, drawn, best.located.nodes)
        gained = access.after(network.base, best.located.check.access, trouble.access)
        trouble = Trouble((LookResults(now, complaint),), gained, aircraft=LOOKED_AT)


def _results(network: Network, drawn: Drawn, nodes: tuple[str, ...]) -> tuple[Result, ...]:
    return results.read_results([f"{n}={drawn.grade(network, n)}" for n in nodes], network.base, network.layout)


def _shares(network: Network, prepared: Prepared, groups: Mapping[str, RepairGroup], responsible: Mapping[str, float]) -> dict[str, float]:
    """Return the exact probability that at least one cause of each group is responsible, as the finding has it.

    The sum over a group's causes bounds it from above: groups whose sum is below what is ever proposed are not asked for.
    """
    bounds = {key: sum(responsible.get(c, 0.0) for c in g.causes) for key, g in groups.items()}
    asked = [key for key, most in bounds.items() if most > LEAST_SHARE]
    rows = [Row(), *(Row(muted=frozenset(groups[key].causes)) for key in asked)]
    weights = ask(network.model, prepared.evidence, rows, posteriors=False).likelihood
    return {**bounds, **{key: max(0.0, 1.0 - float(weights[i] / weights[0])) for i, key in enumerate(asked, start=1)}}


def _isolated(network: Network, led: Led, fault: str) -> tuple[int, bool]:
    """Return how many repair groups it takes to hold enough of the share, and whether the fault's is one of them."""
    whole, size, named = 0.0, 0, False
    for key in sorted(led.shares, key=lambda k: (-led.shares[k], k)):
        if size and (whole >= network.base.settings.isolated_at or led.shares[key] <= LEAST_SHARE):
            break
        whole += led.shares[key]
        size += 1
        named = named or fault in led.groups[key].causes
    return size, named


def _repaired(network: Network, led: Led, fault: str) -> tuple[int, int, int, int, bool]:
    """Return repairs, sound repairs, parts, sound parts, and whether the fault was ended, in the finding's own order."""
    repairs = parts = 0
    for key in led.order:
        group = led.groups[key]
        repairs += 1
        parts += group.remedy.parts
        if ends(network, group, fault):
            return repairs, repairs - 1, parts, parts - group.remedy.parts, True
    return repairs, repairs, parts, parts, False


def ends(network: Network, group: RepairGroup, fault: str) -> bool:
    """Return whether the repair of a group ends a fault: its remedy is one of the fault's, done at or around its place."""
    located = network.causes[fault]
    return group.remedy.id in located.cause.remedies and inside(network.layout, located.place, group.place)
