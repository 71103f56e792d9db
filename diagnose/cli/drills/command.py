"""`drill`: which exercise, and what is to be done with it."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from diagnose import loaded
from diagnose.case import log
from diagnose.cli.drills import making, showing
from diagnose.cli.drills.playing import play
from diagnose.cli.drills.session import Session
from diagnose.cli.prompt import Leave
from diagnose.cli.talk import Talk
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.paper.as_text import paper_text
from diagnose.report.paper.debrief import debrief
from diagnose.report.text import say
from diagnose.training import progress
from diagnose.training.drawn import drawn
from diagnose.training.exercise_files import shelf, task_of
from diagnose.training.levels import LEVELS, level_named
from diagnose.training.measures import measured
from diagnose.training.task import Task
from diagnose.training.work import Work, begin

LAYOUT = "opposed-4"


def drill(args: argparse.Namespace) -> int:
    """Do what was asked with one exercise; 0 also where a trainee leaves before its end."""
    overlay = tuple(args.rulebase)
    if args.list:
        return showing.listed(args, overlay)
    if args.class_:
        return showing.class_list(args)
    if args.table or args.csv:
        return showing.progress_table(args)
    if args.make or args.from_case:
        return making.make(args, overlay)
    task = _set(args, overlay)
    if args.json or args.solve:
        return showing.as_json(args, loaded.network_of(overlay, task.layout), task)
    if args.sheet:
        return showing.sheet(args, loaded.network_of(overlay, task.layout), task)
    return _worked(args, overlay, task)


def _worked(args: argparse.Namespace, overlay: tuple[str, ...], task: Task) -> int:
    """Lead through an exercise, from its start or from where its file leaves it, and show the debrief."""
    path = Path(args.file or f"drill-{task.id}.case")
    network = loaded.network_of(overlay, task.layout)
    if not path.exists():
        begin(path, network, task, args.person)
    _same(path, task)
    work = Work(path, network, task, args.person)
    if args.debrief:
        if not work.ended:
            raise BadInput(f"'{path}' is not ended yet: write its entry first (key e)")
        return showing.debriefed(args, work)
    out = screens.console()
    session, before = Session(work, Talk(path, args.person, network, out)), work.ended
    try:
        play(session)
    except Leave:
        screens.line(out, f"Left. Everything done is in {path}; the same command goes on.")
        return 0
    _end(args, session, before)
    return 0


def _end(args: argparse.Namespace, session: Session, before: bool) -> None:
    """Show the debrief of a drill that ended, a screen at a time; keep it in the progress file the first time."""
    say("working out the debrief, with the tool's own way: this can take a minute")
    m = measured(session.work)
    if args.progress and not before:
        progress.keep(Path(args.progress), progress.line_of(m, args.person))
    with suppress(Leave):
        kept = session.work.path
        session.show(paper_text(debrief(m)).rstrip("\n").split("\n"), last_words=f"Enter: leave. Kept in {kept}; again: {again(kept)}")
    say(f"kept in {session.work.path}; the debrief again: {again(session.work.path)}")


def again(path: Path) -> str:
    """Return the command that shows the debrief of a drill's file again."""
    return f"diagnose drill --file {path} --debrief"


def _set(args: argparse.Namespace, overlay: tuple[str, ...]) -> Task:
    """Return the exercise asked for: by name, by the file of a drill begun, by progress, or drawn."""
    if args.exercise:
        return task_of(args.exercise, overlay)
    if args.file and Path(args.file).exists() and not args.level and not args.family:
        return _of_origin(args, overlay, _origin(Path(args.file)))
    if args.next:
        return _chosen(args, overlay)
    return drawn(overlay, args.layout or LAYOUT, level_named(args.level or next(iter(LEVELS))), args.seed, args.family)


def _chosen(args: argparse.Namespace, overlay: tuple[str, ...]) -> Task:
    """Return the exercise that the trainee's progress asks for, and say why."""
    if not args.progress:
        raise BadInput("--next needs --progress FILE, the file of what the trainee did so far")
    path = Path(args.progress)
    done = progress.read(path) if path.exists() else []
    after, layout, seed = progress.next_drill(done), args.layout or LAYOUT, progress.next_seed(done)
    level = LEVELS[after.level]
    said = f"next by {path}: level {level.number}, {level.label}"
    with suppress(BadInput):  # another layout may have no fault of the family
        task = drawn(overlay, layout, level, seed, after.family)
        say(f"{said}{f', {after.family}' if after.family else ''}: {after.why}")
        return task
    say(said)
    return drawn(overlay, layout, level, seed, "")


def _origin(path: Path) -> Mapping[str, Any]:
    """Return where the exercise of a drill's file came from. Raises BadInput."""
    opening = log.read(path).events[0].data.get("drill")
    if not isinstance(opening, dict):
        raise BadInput(f"'{path}' is no drill; give another name with --file")
    return opening


def _of_origin(args: argparse.Namespace, overlay: tuple[str, ...], origin: Mapping[str, Any]) -> Task:
    if "exercise" in origin:
        name = str(origin["exercise"])
        if name not in shelf():
            raise BadInput(
                f"'{args.file}' is a drill of an exercise file: give that file too, diagnose drill {name}.yaml --file {args.file}"
            )
        return task_of(name, overlay)
    return drawn(overlay, str(origin["layout"]), level_named(str(origin["level"])), int(origin["seed"]), str(origin["family"]))


def _same(path: Path, task: Task) -> None:
    """Raise BadInput where a file is no drill, or one of another exercise."""
    opening = _origin(path)
    if {k: v for k, v in opening.items() if k != "id"} != dict(task.origin):
        raise BadInput(f"'{path}' is the drill of {opening.get('id')} as it was then, not of {task.id}; give another name with --file")
