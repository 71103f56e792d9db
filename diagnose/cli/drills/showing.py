"""`drill` without playing: lists, JSON, printed sheets, progress."""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from diagnose.cli.output import put_out
from diagnose.cli.papers import written
from diagnose.problems import BadInput
from diagnose.report.drill_documents import exercise_document, solved_document
from diagnose.report.paper.debrief import debrief
from diagnose.report.paper.exercise_sheet import exercise_sheet
from diagnose.report.paper.model import Paper
from diagnose.report.text import columns, folded, write, write_json
from diagnose.training import progress
from diagnose.training.exercise_files import shelf, task_of
from diagnose.training.levels import CODES_FROM, LEVELS
from diagnose.training.measures import measured
from diagnose.training.own_path import own_path
from diagnose.training.task import Task
from diagnose.training.work import Work
from diagnose.trouble.network import Network


def listed(args: argparse.Namespace, overlay: tuple[str, ...]) -> int:
    """Print the levels and the shipped exercises."""
    tasks = [task_of(name, overlay) for name in shelf()]
    if args.json:
        levels = [
            {"level": level.id, "number": level.number, "label": level.label, "codes": list(level.codes)} for level in LEVELS.values()
        ]
        write_json({"schema": "exercises/1", "levels": levels, "exercises": [exercise_document(task) for task in tasks]})
        return 0
    write("LEVELS, drawn by seed: diagnose drill --level LEVEL --seed N")
    write("\n".join(columns([(str(level.number), level.id, level.label) for level in LEVELS.values()])))
    write("\nSHIPPED EXERCISES: diagnose drill NAME")
    write("\n".join(columns([(task.id, f"{task.title} (level {LEVELS[task.level].number})") for task in tasks])))
    return 0


def as_json(args: argparse.Namespace, network: Network, task: Task) -> int:
    """Print an exercise without its answer, or with it and the tool's own way."""
    write_json(solved_document(network, task, own_path(network, task)) if args.solve else exercise_document(task))
    return 0


def sheet(args: argparse.Namespace, network: Network, task: Task) -> int:
    """Write out the sheet of an exercise."""
    return _paper(args, exercise_sheet(network, task))


def debriefed(args: argparse.Namespace, work: Work) -> int:
    """Write out the debrief of a drill that ended."""
    return _paper(args, debrief(measured(work)))


def _paper(args: argparse.Namespace, paper: Paper) -> int:
    put_out(args.out, written(paper, args.format))
    return 0


def progress_table(args: argparse.Namespace) -> int:
    """Print what a trainee did: a table with what needs work, or CSV."""
    if not args.progress:
        raise BadInput("--table and --csv need --progress FILE, or --class FILE ... for several trainees")
    done = progress.read(Path(args.progress))
    rows = [{name: d.fields[name] for name in progress.COLUMNS} for d in done]
    if args.csv:
        return _csv(rows)
    shown = ("exercise", "level", "score", "found", "unsafe", "missed", "confirmed", "minutes")
    write("\n".join(columns([shown, *([_cell(row[name]) for name in shown] for row in rows)])))
    families, habits = progress.weak_families(done), progress.weak_habits(done)
    after = progress.next_drill(done)
    level, of = LEVELS[after.level], f", {after.family.replace('_', ' ')}" if after.family else ""
    told = [
        f"Habits that need work (last five): {'; '.join(f'{words} {n}' for words, n in habits) or 'none'}",
        f"Families missed more often than found: {', '.join(f.replace('_', ' ') for f in families) or 'none'}",
        f"Next: level {level.number}, {level.label}{of}: {after.why} (diagnose drill --next --progress {args.progress})",
        f"Elements met in drills passed: {', '.join(progress.met_codes(done)) or 'none yet'}",
        CODES_FROM,
    ]
    write("\n" + "\n".join(line for text in told for line in folded(text, under="    ")))
    return 0


def class_list(args: argparse.Namespace) -> int:
    """Print a row for each trainee of several progress files."""
    rows = progress.class_rows([progress.read(Path(name)) for name in args.class_])
    if args.csv:
        return _csv(rows)
    head = list(rows[0]) if rows else []
    write("\n".join(columns([head, *([_cell(row[name]) for name in head] for row in rows)])) if rows else "No drills in these files.")
    return 0


def _cell(value: Any) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _csv(rows: Sequence[Mapping[str, Any]]) -> int:
    out = io.StringIO()
    if rows:
        writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows({k: _safe(_cell(v)) for k, v in row.items()} for row in rows)
    write(out.getvalue().rstrip("\n"))
    return 0


def _safe(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text
