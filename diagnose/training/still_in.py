"""Whether a fault that shows the squawk is still in the engine, whatever one run with its scatter happened to show.

A fault is known by its marks: what it changes in the build of a sound engine. It is ended where all of them are as in the sound engine
mended alike, it is in where all of them stand; in between the first look at it alone tells, the very look the squawk came from.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace

from diagnose.drill import answers
from diagnose.drill.bridge import bridge
from diagnose.drill.exercise import Exercise, engine_of, look_at
from diagnose.drill.mends import mend
from diagnose.stand.engine import Engine
from diagnose.training.task import Task
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results

Marks = dict[str, object]


def wrong(result: str) -> bool:
    """Return whether a result says that something is surely wrong."""
    return result.rpartition("=")[2].split("|")[0] not in ("no", "normal", "unknown", "cannot")


def still_there(network: Network, task: Task, engine: Engine) -> list[str]:
    """Return what of the squawk an engine still shows in one look."""
    look = look_at(network, task.exercise, engine)
    found = []
    for r in read_results(task.exercise.complaint, network.base, network.layout):
        if wrong(f"={answers.answer(look, r.symptom, r.regime, r.place)}"):
            found.append(str(r))
    return found


def still_in(network: Network, task: Task, done: Sequence[str]) -> bool:
    """Return whether, after steps `done` (REMEDY@PLACE or CHECK@PLACE, oldest first), a fault is in that shows the squawk."""
    shown, ended = [], []
    for fault in task.exercise.faults:
        alone = replace(task.exercise, faults=(fault,))
        shows = bool(still_there(network, task, engine_of(network, alone)))
        state = _state(network, alone, done)
        shown.append(shows)
        ended.append(state == "ended")
        if shows and (state == "in" or (state == "partly" and still_there(network, task, _worked(network, alone, done)))):
            return True
    if any(shown) or all(ended):
        return False
    return bool(still_there(network, task, _worked(network, task.exercise, done)))  # they show it only together


def _state(network: Network, alone: Exercise, done: Sequence[str]) -> str:
    """Return `in`, `partly` or `ended` of the one fault of an exercise."""
    sound = replace(alone, faults=())
    before, usual = _marks(engine_of(network, alone).build), _marks(engine_of(network, sound).build)
    marked = [name for name in {**before, **usual} if before.get(name) != usual.get(name)]
    now, mended = _marks(_worked(network, alone, done).build), _marks(_worked(network, sound, done).build)
    if all(now.get(name) == mended.get(name) for name in marked):
        return "ended"
    return "in" if all(now.get(name) == before.get(name) for name in marked) else "partly"


def _worked(network: Network, exercise: Exercise, done: Sequence[str]) -> Engine:
    """Return a fresh engine of an exercise with all steps done on it that change it."""
    engine = engine_of(network, exercise)
    for step in done:
        name, _, place = step.partition("@")
        if name in bridge().burns_clean:
            engine.clear_plugs(0.5)
        elif name in network.base.remedies:
            mend(engine, name, place)
    return engine


def _marks(part: object) -> Marks:
    """Return every field of a build by its path."""
    return dict(_leaves("", part))


def _leaves(path: str, part: object) -> Iterator[tuple[str, object]]:
    if is_dataclass(part) and not isinstance(part, type):
        for field in fields(part):
            if field.name != "layout":
                yield from _leaves(f"{path}.{field.name}", getattr(part, field.name))
    elif isinstance(part, Mapping):
        for key, value in part.items():
            yield from _leaves(f"{path}.{key}", value)
    else:
        yield path, set(part) if isinstance(part, set) else part
