"""Whether an exercise holds together: the squawk is the fault's, a check finds it, a remedy ends it, no word of the story betrays it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from diagnose.drill import answers
from diagnose.drill.exercise import Exercise, complaint, engine_of, look_at
from diagnose.drill.fault_causes import OUTSIDE
from diagnose.drill.mends import mend
from diagnose.stand.faults import KINDS
from diagnose.training.levels import LEVELS
from diagnose.training.offered import offered_checks
from diagnose.training.still_in import still_there, wrong
from diagnose.training.task import Task, truths
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import place_of
from diagnose.trouble.results import read_results

Found = tuple[str, str, str, str]  # field, code, message, how to mend it


def inconsistent(network: Network, task: Task) -> Iterator[Found]:
    """Yield what does not hold together, by the field it is to be mended at."""
    yield from _level(task)
    yield from _betrayed(network, task)
    yield from _squawk(network, task)
    if not _findable(network, task):
        yield (
            "faults",
            "hidden",
            "no check shows anything wrong that a sound engine would not show",
            "make the fault larger or take another",
        )
    if all(truths(network, task)) and not _mendable(network, task):
        yield ("faults", "unmended", "no remedy of its causes ends the squawk on the stand", "take another fault, or another complaint")


def _level(task: Task) -> Iterator[Found]:
    level = LEVELS[task.level]
    kinds = [f.kind for f in task.exercise.faults]
    outside = [k for k in kinds if k in OUTSIDE]
    if level.faults == 0 and len(outside) < len(kinds):
        yield (
            "level",
            "level",
            f"the rule base knows {kinds[0]}: this is no exercise of level {level.id}",
            "choose a fault around the ignition",
        )
    if level.faults and outside:
        yield ("level", "level", f"no rule base knows {outside[0]}", "write `level: unknown`")
    if level.faults and len(kinds) != level.faults:
        yield ("faults", "level", f"{len(kinds)} faults, and level {level.id} has {level.faults}", "change the faults or the level")


def _betrayed(network: Network, task: Task) -> Iterator[Found]:
    said = task.story.lower()
    names = [KINDS[f.kind].told for f in task.exercise.faults]
    names += [network.causes[c].cause.label for causes in truths(network, task) for c in causes]
    for name in names:
        if name.lower() in said:
            yield ("story", "betrayed", f"the story names the fault: '{name}'", "say what was noticed, not what it was")


def _squawk(network: Network, task: Task) -> Iterator[Found]:
    sound = replace(task.exercise, faults=())
    shown = set(still_there(network, task, engine_of(network, task.exercise)))
    usual = set(still_there(network, task, engine_of(network, sound)))
    for text in task.exercise.complaint:
        if text not in shown:
            other = "; ".join(complaint(network, task.exercise)) or "nothing"
            yield (
                "complaint",
                "not-shown",
                f"the engine with these faults does not show {text}",
                f"what a pilot would notice of it: {other}",
            )
        elif text in usual:
            yield ("complaint", "usual", f"a sound engine shows {text} too", "take another complaint")


def _findable(network: Network, task: Task) -> bool:
    """Return whether some check shows something wrong that the same engine sound does not."""
    fed = {c for causes in truths(network, task) for c in causes}
    for check in offered_checks(network, task):
        causes = {c for n in check.nodes for e in network.graph.predecessors(n) for c in network.graph.predecessors(e)}
        if (fed and not causes & fed) or not check.nodes:
            continue
        bad, usual = (set(_wrong(network, task.exercise, faults, check.nodes)) for faults in (True, False))
        if bad - usual - set(task.exercise.complaint):
            return True
    return False


def _wrong(network: Network, exercise: Exercise, faults: bool, nodes: tuple[str, ...]) -> list[str]:
    of = exercise if faults else replace(exercise, faults=())
    return [text for text in answers.results(network, look_at(network, of, engine_of(network, of)), nodes) if wrong(text)]


def _mendable(network: Network, task: Task) -> bool:
    """Return whether all remedies of the faults' causes, done together, end the squawk."""
    engine = engine_of(network, task.exercise)
    for causes in truths(network, task):
        for cause in sorted(causes):
            located = network.causes[cause]
            for name in located.cause.remedies:
                mend(engine, name, place_of(network.layout, network.base.remedies[name], located))
    told = {r.subject for r in read_results(task.exercise.complaint, network.base, network.layout)}
    return not any(text.rpartition("=")[0] in told for text in still_there(network, task, engine))
