"""`demo`: shows the built-in trouble to its end, on a terminal a screen at a time, and writes only where told."""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose import loaded
from diagnose.assessment.advice import advice
from diagnose.assessment.assess import Assessment, assess
from diagnose.assessment.steps import next_step, remedy_order
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.cli.keys import single
from diagnose.cli.prompt import Leave, ask
from diagnose.plan.access import after
from diagnose.plan.make_good import MakeGood
from diagnose.plan.to_run import WHOLE_RUN, otherwise
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glance import Glance, composed, prompt_lines
from diagnose.report.glances import glance_of, group_words, of_check, of_repair
from diagnose.report.text import size
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.scenario import Demo, answer, read_demo, reading
from diagnose.trouble.network import Network

if TYPE_CHECKING:
    from rich.console import Console

MOST_STEPS = 40
PERSON = "invented"


ON = "Enter: on, q leave"
HEIGHT = 10  # lines of a step where nothing stops: the same screen, only shorter


class _Run:
    """One demo under way, in a real case file."""

    def __init__(self, demo: Demo, path: Path, network: Network, out: Console) -> None:
        self.demo, self.path, self.network, self.out = demo, path, network, out
        self.repaired: list[str] = []

    def record(self, kind: str, **data: object) -> None:
        log.append(self.path, kind, PERSON, data)

    def assessed(self) -> Assessment:
        return assess(self.network, load(self.path, self.network.base).trouble)

    def result(self, node: str, check: str) -> str:
        symptom = self.network.symptoms[node].symptom
        grade = answer(self.demo, self.repaired, node, symptom.names[0])
        told = reading(self.demo, self.repaired, node)
        self.record("result", result=f"{node}={grade}", check=check, **({"reading": told} if told else {}))
        return grade


def demo(args: argparse.Namespace) -> int:
    """Run the demo; 0 when it ends confirmed."""
    story = read_demo(shipped("cases") / "demo" / "two-faults.yaml")
    if args.save and Path(args.save).exists():
        raise BadInput(f"'{args.save}' exists already; give a new path with --save")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(args.save) if args.save else Path(folder) / "demo.case"
        network = loaded.network_of(tuple(args.rulebase), story.layout)
        run = _Run(story, path, network, screens.console())
        try:
            _begin(run)
            state = _follow(run)
        except Leave:
            return 0
    if args.save:
        screens.line(run.out, f"The case file is {args.save}; read it with: diagnose log {args.save}")
    return 0 if state == "confirmed" else 1


def _begin(run: _Run) -> None:
    out, story = run.out, run.demo
    screens.heading(out, f"DEMO - {story.title}")
    screens.line(out, "Everything here is invented: aircraft, people, readings.", "dim")
    screens.line(out, f'{story.nickname}. Reported: "{story.words}"')
    data = {"nickname": story.nickname, "words": story.words, "invented": True}
    open_case(run.path, run.network.base, run.network.layout, PERSON, data)
    for text in story.units:
        name, _, told = text.partition(": ")
        run.record("unit", unit=name, text=told)
    for text in story.history:
        run.record("result", result=text)
    for text in story.complaint:
        told = reading(story, [], text.partition("=")[0])
        run.record("result", result=text, complaint=True, **({"reading": told} if told else {}))
    kept = [screens.result_words(run.network, text) for text in (*story.complaint, *story.history)]
    screens.line(out, f"Kept: {'; '.join(kept)}.")


def _follow(run: _Run) -> str:
    """Take the story's path through what the tool offers, until it is confirmed."""
    path = list(run.demo.path)
    for number in range(1, MOST_STEPS + 1):
        assessment = run.assessed()
        run.record("advice", **advice(assessment, run.network.base))
        if assessment.finding.state == "confirmed":
            _end(run)
            return "confirmed"
        at = f"step {number}"
        step = next_step(run.network, assessment)
        if step is not None and step.make_good is not None:
            _show(run, glance_of(run.network, assessment, step, at))
            _make_good(run, step.make_good)
        elif step is not None and step.look_at:
            _show(run, glance_of(run.network, assessment, step, at))
            _confirm(run, step.look_at)
        elif path and path[0] != "repair":
            _check(run, assessment, path.pop(0), at)
        elif not path or not _repair(run, assessment, at):
            break
        else:
            path.pop(0)
    screens.line(run.out, "The demo did not reach its end.", "bold")
    return "open"


def _show(run: _Run, glance: Glance) -> None:
    """Show a step: on a terminal one screen that waits, else a few lines."""
    stops = single()
    width, height = size()
    glance = replace(glance, keys=ON)
    lines = composed(glance, width, height if stops else HEIGHT)
    body = lines[: len(lines) - len(prompt_lines(ON, width))]
    for text in ("", *body) if not stops else body:
        run.out.print(text, style="bold" if text.startswith("DO NEXT") else None, soft_wrap=True)
    if stops:
        for _ in range(height - len(lines)):
            run.out.print()
        ask(run.out, ON, {""})


def _make_good(run: _Run, item: MakeGood) -> None:
    screens.line(run.out, "Done (invented).", "bold")
    if item.check:
        run.result(f"{run.network.base.checks[item.check.partition('@')[0]].gives[0]}", item.check)
    elif item.closes:
        run.record("note", note="made good (invented)", closes=item.closes)
    else:
        run.record("state", state=dict(item.states))


def _check(run: _Run, assessment: Assessment, wanted: str, at: str) -> None:
    offered = assessment.plan.checks
    valued = next((v for v in offered if v.located.id == wanted), offered[0])
    noted = ""
    if valued is not offered[0]:
        run.record("note", chosen=wanted, offered=offered[0].located.id, reason="the story's own path (invented)")
        noted = f"Offered first: {screens.check_words(run.network, offered[0])}. Chosen in this story:"
    _show(run, of_check(run.network, assessment, valued, at, noted))
    check = valued.located.check
    run.record("access", now=sorted(after(run.network.base, check.access, assessment.trouble.access)), check=valued.located.id)
    seen = []
    for node in valued.located.nodes:
        grade = run.result(node, valued.located.id)
        if grade != run.network.symptoms[node].symptom.names[0]:
            seen.append(screens.result_words(run.network, f"{node}={grade}"))
    rest = len(valued.located.nodes) - len(seen)
    more = f"; the other {rest} normal" if seen and rest else ""
    screens.line(run.out, f"Seen (invented): {'; '.join(seen) or 'all normal'}{more}.", "bold")


def _repair(run: _Run, assessment: Assessment, at: str) -> bool:
    order = remedy_order(run.network, assessment)
    if not order:
        return False
    _show(run, of_repair(run.network, assessment, at))
    group = assessment.groups[order[0]]
    told = run.demo.repairs[len(run.repaired)] if len(run.repaired) < len(run.demo.repairs) else None
    more = {key: value for key, value in vars(told).items() if value} if told else {}
    run.record("repair", remedy=group.key, note="done as described (invented)", **more)
    run.repaired.append(group.place)
    screens.line(run.out, f"Done (invented): {group_words(run.network, group)}.", "bold")
    return True


def _confirm(run: _Run, waiting: Sequence[str]) -> None:
    for thing in otherwise(run.assessed().trouble.aircraft, WHOLE_RUN):
        run.record("state", state={thing.thing: thing.must_be})
        screens.line(run.out, f"First (invented): {thing.do}.")
    seen = [screens.result_words(run.network, f"{node}={run.result(node, 'confirming_run')}") for node in waiting]
    screens.line(run.out, f"Seen (invented): {'; '.join(seen)}.", "bold")


def _end(run: _Run) -> None:
    seen = []
    for text in run.demo.run:
        run.result(text.partition("=")[0], "confirming_run")
        seen.append(screens.result_words(run.network, text))
    screens.heading(run.out, "COMPLAINT GONE - it did not show again under its own conditions")
    screens.line(run.out, f"The rest of the run (invented): {'; '.join(seen)}.")
    screens.line(run.out, f"What was really wrong in this invented story: {run.demo.hidden}.")
    screens.line(
        run.out,
        "Now the record: what was found, what was done, the confirming numbers. "
        "A licensed person decides about the aircraft; this tool releases nothing.",
    )
