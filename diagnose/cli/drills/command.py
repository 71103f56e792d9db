"""`drill`: draws, reads or resumes an exercise, and leads through it."""

from __future__ import annotations

import argparse
from contextlib import suppress
from pathlib import Path

from diagnose import loaded
from diagnose.case import log
from diagnose.cli.drills.playing import play
from diagnose.cli.drills.session import Session
from diagnose.cli.prompt import Leave
from diagnose.cli.talk import Talk
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.paper.as_text import paper_text
from diagnose.report.paper.debrief import debrief
from diagnose.report.text import say
from diagnose.training.drawn import drawn
from diagnose.training.levels import level_named
from diagnose.training.measures import measured
from diagnose.training.task import Task
from diagnose.training.work import Work, begin

LAYOUT = "opposed-4"


def drill(args: argparse.Namespace) -> int:
    """Lead through one exercise; 0 also where the trainee leaves before its end."""
    overlay = tuple(args.rulebase)
    task = _set(args, overlay)
    path = Path(args.file or f"drill-{task.id}.case")
    network = loaded.network_of(overlay, task.layout)
    if not path.exists():
        begin(path, network, task, args.person)
    else:
        same(path, task)
    out = screens.console()
    session = Session(Work(path, network, task, args.person), Talk(path, args.person, network, out))
    try:
        play(session)
    except Leave:
        screens.line(out, f"Left. Everything done is in {path}; the same command goes on.")
        return 0
    _debrief(session)
    return 0


def _debrief(session: Session) -> None:
    """Show the debrief of a drill that ended, a screen at a time."""
    say("working out the debrief, with the tool's own way: some seconds")
    text = paper_text(debrief(measured(session.work)))
    with suppress(Leave):
        session.show(text.rstrip("\n").split("\n"))


def _set(args: argparse.Namespace, overlay: tuple[str, ...]) -> Task:
    """Return the exercise asked for."""
    return drawn(overlay, args.layout or LAYOUT, level_named(args.level or "plug"), args.seed, args.family)


def same(path: Path, task: Task) -> None:
    """Raise BadInput where a file is no drill, or one of another exercise."""
    opening = log.read(path).events[0].data.get("drill")
    if not isinstance(opening, dict):
        raise BadInput(f"'{path}' is no drill; give another name with --file")
    if {k: v for k, v in opening.items() if k != "id"} != dict(task.origin):
        raise BadInput(f"'{path}' is the drill of {opening.get('id')}, not of {task.id}; give another name with --file")
