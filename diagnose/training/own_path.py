"""The tool's own way through an exercise: the step it gives next, done on the same engine, until the squawk is gone or it gives none.

It works a drill of its own, by the very rules and minutes of a trainee's: what is to be made good, checks, repairs, confirming runs; after
a repair without effect it plans anew. Whether the fault was ended is the stand's word, not its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from diagnose.assessment.assess import Assessment
from diagnose.assessment.steps import Step, next_step, remedy_order, steps
from diagnose.plan.checks import available
from diagnose.plan.make_good import make_good
from diagnose.plan.rules import bars
from diagnose.plan.to_run import WHOLE_RUN, otherwise
from diagnose.problems import BadInput
from diagnose.training.righting import ToRight, put_right, to_right
from diagnose.training.task import Task
from diagnose.training.work import MOVE, Work, begin
from diagnose.trouble.aircraft import turning
from diagnose.trouble.network import Network

MOST_STEPS, MOST_REPAIRS = 16, 4  # given up after so many checks and repairs, or repairs alone: then somebody is asked (estimate)
MOST_CHECKS = 12  # after so many since the last repair it mends what is likeliest for its minutes (estimate)


@dataclass(frozen=True)
class OwnStep:
    """One step: `kind` is check, repair, run or right (made good or put back); `id` as in the rule base, or words; `bits` it could tell."""

    kind: str
    id: str
    minutes: float
    bits: float = 0.0


@dataclass(frozen=True, repr=False)  # an assessment in words is endless
class OwnPath:
    """The steps in order, whether the fault was ended, and the belief at the squawk.

    `gone`: no fault that shows the squawk is left in the engine.
    """

    steps: tuple[OwnStep, ...]
    gone: bool
    first: Assessment

    @property
    def checks(self) -> tuple[OwnStep, ...]:
        """Return the checks."""
        return tuple(step for step in self.steps if step.kind == "check")

    @property
    def repairs(self) -> tuple[OwnStep, ...]:
        """Return the repairs."""
        return tuple(step for step in self.steps if step.kind == "repair")

    @property
    def minutes(self) -> float:
        """Return the minutes of the whole way."""
        return sum(step.minutes for step in self.steps)


def own_path(network: Network, task: Task) -> OwnPath:
    """Return the way the tool's steps take; it stops where there is none, or where its results cannot all be true."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "own.case"
        begin(path, network, task, "")
        return _followed(Work(path, network, task))


def _followed(work: Work) -> OwnPath:
    a = first = work.assessment()
    done: list[OwnStep] = []
    while not _given_up(done):
        step = _next(work.network, a, done)
        if step is None or step.kind not in _DO:
            break
        done += _closed(work, step)
        made = _DO[step.kind](work, step)
        if made is None or (made.kind != "check" and made in done[-1:]):  # the same again would change nothing
            break
        done.append(made)
        try:
            a = _again(work, a, made)
        except (BadInput, OverflowError):
            break
    wanted = to_right(work.network.base, work.case.trouble.aircraft, a.bars.blow)
    done += [_righted(work, wanted)] if wanted.told else []
    return OwnPath(tuple(done), not work.still_in(), first)


def _next(network: Network, a: Assessment, done: Sequence[OwnStep]) -> Step | None:
    """Return the tool's next step, no repair twice; after too many checks in a row the first repair that may be done, if there is one."""
    tried = {made.id for made in done if made.kind == "repair"}
    step = next((s for s in steps(network, a) if s.group is None or s.group.key not in tried), None)
    many = sum(made.kind == "check" for made in done[_last_repair(done) + 1 :]) >= MOST_CHECKS
    order = [key for key in remedy_order(network, a) if key not in tried] if many and step is not None and step.kind == "check" else []
    return Step("repair", group=a.groups[order[0]]) if order else step


def _last_repair(done: Sequence[OwnStep]) -> int:
    return max((n for n, made in enumerate(done) if made.kind == "repair"), default=-1)


def _again(work: Work, a: Assessment, made: OwnStep) -> Assessment:
    """Return the assessment after a step; putting right changes no belief: where more is to be made good, nothing else is worked out."""
    if made.kind == "right":
        trouble = work.case.trouble
        shares = {row.id: row.share for row in a.finding.causes if row.id not in a.prepared.removed}
        forbids = bars(work.network, trouble, shares)
        now = replace(a, trouble=trouble, bars=forbids, make_good=make_good(work.network, trouble, forbids))
        step = next_step(work.network, now)
        if step is not None and step.kind == "make_good":
            return now
    return work.assessment()


def _given_up(done: Sequence[OwnStep]) -> bool:
    """Return whether there were too many steps, or the last of too many repairs was looked at and had no effect."""
    repairs = sum(step.kind == "repair" for step in done)
    count = repairs + sum(step.kind == "check" for step in done)
    due = repairs > 0 and not any(step.kind == "run" for step in done[_last_repair(done) :])  # the run after it
    return len(done) >= 3 * MOST_STEPS or (not due and (repairs >= MOST_REPAIRS or count >= MOST_STEPS))


def _closed(work: Work, step: Step) -> list[OwnStep]:
    """Put right what must be back before a step that turns the engine by power."""
    base, aircraft = work.network.base, work.case.trouble.aircraft
    check = step.check.located.check if step.check is not None else None
    turns = WHOLE_RUN if step.kind == "finish_run" else turning(base, check) if check is not None else frozenset()
    if not otherwise(aircraft, turns, check.access if check is not None else ()):
        return []
    return [_righted(work, to_right(base, aircraft, False))]


def _righted(work: Work, wanted: ToRight) -> OwnStep:
    put_right(work, wanted)
    return OwnStep("right", "; ".join(wanted.told), wanted.minutes)


def _check(work: Work, step: Step) -> OwnStep | None:
    if step.check is None:
        return None
    minutes = work.minutes_of(step.check.located.check)
    work.check(step.check.located, {})
    return OwnStep("check", step.check.located.id, minutes, step.check.information)


def _repair(work: Work, step: Step) -> OwnStep | None:
    if step.group is None:
        return None
    minutes = work.minutes_of(step.group.remedy)
    work.repair(step.group.remedy, step.group.place, {})
    return OwnStep("repair", step.group.key, minutes)


def _run(work: Work, step: Step) -> OwnStep:
    work.confirm({})
    return OwnStep("run", "confirm", work.network.base.settings.retest_minutes)


def _make_good(work: Work, step: Step) -> OwnStep | None:
    item = step.make_good
    if item is None:
        return None
    if item.check:
        located = next(c for c in available(work.network, (), ()) if c.id == item.check)
        minutes = work.minutes_of(located.check)
        work.check(located, {})
        return OwnStep("check", item.check, minutes)
    closed = [("note", {"note": "made good", "closes": item.closes})] if item.closes else []
    states = [("state", {"state": dict(item.states)})] if item.states else []
    work.record((MOVE, {"move": "right", "minutes": item.minutes, "told": [item.label]}), *closed, *states)
    return OwnStep("right", item.label, item.minutes)


_DO: Mapping[str, Callable[[Work, Step], OwnStep | None]] = {
    "make_good": _make_good,
    "finish_run": _run,
    "check": _check,
    "repair": _repair,
}
