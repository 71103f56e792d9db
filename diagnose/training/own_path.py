"""The tool's own way through an exercise: its plan followed on the same engine, then the repairs in its order until the squawk is gone."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.assessment.assess import Assessment
from diagnose.drill import answers
from diagnose.drill.exercise import engine_of, look_at
from diagnose.drill.mends import mend
from diagnose.loaded import assessed
from diagnose.plan import access
from diagnose.problems import BadInput
from diagnose.training.plain_sight import facts, here
from diagnose.training.still_in import still_in, still_there
from diagnose.training.task import Task
from diagnose.trouble.aircraft import Aircraft, Fact
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results
from diagnose.trouble.trouble import Trouble

MOST_CHECKS, MOST_REPAIRS = 12, 5
LEAST = 0.01  # below this share a repair is not tried (estimate)
# A kick-back is looked into by a person before anything else; the tool's way starts after that.
LOOKED_AT = Aircraft({"inspection": Fact("done")})


@dataclass(frozen=True, repr=False)  # an assessment in words is endless
class OwnPath:
    """Checks (id, minutes, bits) and repairs (id, minutes) in order, whether the fault was ended, and the belief at the squawk.

    `gone`: no fault that shows the squawk is left in the engine.
    """

    checks: tuple[tuple[str, float, float], ...]
    repairs: tuple[tuple[str, float], ...]
    gone: bool
    first: Assessment

    @property
    def minutes(self) -> float:
        """Return the minutes of the whole way."""
        return sum(m for _, m, _ in self.checks) + sum(m for _, m in self.repairs)


def own_path(network: Network, task: Task) -> OwnPath:
    """Return the way the tool's plan takes; where its results cannot all be true it stops there."""
    engine = engine_of(network, task.exercise)
    told = read_results(task.exercise.complaint, network.base, network.layout)
    seen = read_results(facts(network, task), network.base, network.layout)
    trouble = Trouble((LookResults((*told, *seen), told),), aircraft=LOOKED_AT)
    checks: list[tuple[str, float, float]] = []
    a = first = assessed(network, trouble)
    while a.plan.paying and len(checks) < MOST_CHECKS:
        best = a.plan.paying[0]
        look = look_at(network, task.exercise, engine)
        given = here(task, answers.results(network, look, best.located.nodes, best.located.check.id))
        found = read_results(given, network.base, network.layout)
        checks.append((best.located.id, best.minutes, best.information))
        last = trouble.looks[-1]
        gained = access.after(network.base, best.located.check.access, trouble.access)
        trouble = replace(trouble, looks=(*trouble.looks[:-1], replace(last, results=(*last.results, *found))), access=gained)
        try:
            a = assessed(network, trouble)
        except (BadInput, OverflowError):
            break
    repairs = []
    gone = False
    for key in _order(a)[:MOST_REPAIRS]:
        name, _, place = key.partition("@")
        mend(engine, name, place)
        repairs.append((key, a.plan.remedy_minutes[key]))
        # A run in which it happens not to show is tried first: it is quick, and where it shows it is surely there.
        done = [*(c for c, _, _ in checks), *(r for r, _ in repairs)]
        gone = not still_there(network, task, engine) and not still_in(network, task, done)
        if gone:
            break
    return OwnPath(tuple(checks), tuple(repairs), gone, first)


def _order(a: Assessment) -> list[str]:
    """Return the repairs in falling share for each minute."""
    shares, minutes = a.finding.group_shares, a.plan.remedy_minutes
    able = [k for k in shares if shares[k] > LEAST and k not in a.plan.unseen]
    return sorted(able, key=lambda k: (-shares[k] / minutes[k], k))
