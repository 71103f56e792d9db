"""JSON documents of exercises: as they are set, and with the answer."""

from __future__ import annotations

from diagnose.report.paper.wording import located
from diagnose.stand.faults import KINDS
from diagnose.training.levels import LEVELS, RECORD_CODES, SAFETY_CODES
from diagnose.training.own_path import OwnPath
from diagnose.training.task import Task, truths
from diagnose.trouble.network import Network

FOUND = {True: "the tool ended the fault", False: "the tool did not find this one"}


def exercise_document(task: Task) -> dict[str, object]:
    """Return an exercise without its answer."""
    level = LEVELS[task.level]
    return {
        "schema": "exercise/1",
        "id": task.id,
        "title": task.title,
        "level": level.id,
        "level_number": level.number,
        "layout": task.layout,
        "story": task.story,
        "complaint": list(task.exercise.complaint),
        "celsius": task.exercise.weather.celsius,
        "minutes": task.minutes or None,
        "codes": [*level.codes, *SAFETY_CODES, *RECORD_CODES],
    }


def solved_document(network: Network, task: Task, path: OwnPath) -> dict[str, object]:
    """Return an exercise with its faults, the causes that are right, and the tool's own way."""
    faults = [
        {"kind": f.kind, "told": KINDS[f.kind].told, "place": f.place, "sizes": dict(f.sizes), "causes": sorted(causes)}
        for f, causes in zip(task.exercise.faults, truths(network, task), strict=True)
    ]
    checks = [{"check": s.id, "words": located(network, s.id), "minutes": s.minutes, "bits": round(s.bits, 4)} for s in path.checks]
    repairs = [{"remedy": s.id, "words": located(network, s.id), "minutes": s.minutes} for s in path.repairs]
    steps = [{"kind": s.kind, "id": s.id, "minutes": s.minutes} for s in path.steps]
    said = {"minutes": round(path.minutes, 1), "gone": path.gone, "said": FOUND[path.gone]}
    own = {"checks": checks, "repairs": repairs, "steps": steps, **said}
    return {**exercise_document(task), "answer": {"faults": faults, "teaches": task.teaches}, "own_path": own}
