"""An exercise being worked: a case file in which the stand answers, and the engine as it stands now.

Every step is on disk before the next; what an engine of a seed answers depends only on what was asked of it before, so that a drill
gone on with stands where it stood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from diagnose import loaded
from diagnose.assessment.assess import Assessment
from diagnose.case import log
from diagnose.case.case import load, open_case, trouble_after
from diagnose.case.kinds import CONFIRMING
from diagnose.case.open_steps import refit_item
from diagnose.drill import answers
from diagnose.drill.exercise import engine_of, look_at
from diagnose.drill.look import Look
from diagnose.drill.mends import mend
from diagnose.drill.readings import readings
from diagnose.plan.access import after, minutes_to_reach
from diagnose.plan.checks import LocatedCheck
from diagnose.rulebase.records import Check, Remedy
from diagnose.training.offered import not_answered
from diagnose.training.plain_sight import facts, here
from diagnose.training.still_in import still_in, wrong
from diagnose.training.task import Task
from diagnose.trouble.aircraft_words import P_LEADS
from diagnose.trouble.complaint import complaints
from diagnose.trouble.network import Network
from diagnose.trouble.results import node

MOST_RUNS = 5  # a confirming run is made again so often at most until it shows what is so (estimate)
FEW = 8  # after a repair two looks are asked at once: half a minute for every check, a second for the likeliest few
MOVE = "drill"  # the kind of a case entry that holds what the trainee did besides what a case holds
AS_PARKED = {**dict.fromkeys(P_LEADS.values(), "on"), "plugs": "in", "leads": "on", "cowl": "on", "parts off": "none", "chocks": "in"}


def begin(path: Path, network: Network, task: Task, person: str) -> None:
    """Start the file of a drill: a case with its complaint, parked and whole. Raises BadInput where it exists."""
    opening = {"drill": {**task.origin, "id": task.id}, "words": task.story, "nickname": "exercise, no aircraft", "told_by": "the owner"}
    told = [("result", {"result": text, "complaint": True, "check": ""}) for text in task.exercise.complaint]
    told += [("result", {"result": text, "complaint": False, "check": ""}) for text in facts(network, task)]
    open_case(path, network.base, network.layout, person, opening, [("state", {"state": AS_PARKED}), *told])


class Work:
    """One drill under way."""

    def __init__(self, path: Path, network: Network, task: Task, person: str = "") -> None:
        """Take a drill up where its file leaves it."""
        self.path, self.network, self.task, self.person = path, network, task, person
        self.engine = engine_of(network, task.exercise)
        self._assessed: dict[int, Assessment] = {}
        self._not_answered = not_answered(network, task)
        self.case = load(path, network.base)
        for event in self.case.events:
            if event.kind == MOVE:
                self._again(event.data)

    @property
    def moves(self) -> list[log.Event]:
        """Return the trainee's moves, oldest first."""
        return [e for e in self.case.events if e.kind == MOVE]

    @property
    def ended(self) -> bool:
        """Return whether the drill was closed."""
        return any(e.data.get("move") == "end" for e in self.moves)

    @property
    def minutes(self) -> float:
        """Return the minutes of all steps so far, access counted as it was reached."""
        return sum(float(e.data.get("minutes", 0.0)) for e in self.moves)

    def assessment(self, seq: int = 0) -> Assessment:
        """Return what the tool made of it before the entry of a number; of everything where none is given."""
        events = self.case.events[: seq - 1] if seq else self.case.events
        key = max((e.seq for e in events if e.kind != MOVE), default=0)
        if key not in self._assessed:
            few = FEW if any(e.kind == "repair" for e in events) else 0
            trouble = trouble_after(events, self.network.base, self.network.layout)
            trouble = replace(trouble, declined=trouble.declined | self._not_answered)
            self._assessed[key] = loaded.assessed(self.network, trouble, few)
        return self._assessed[key]

    def record(self, *entries: tuple[str, Mapping[str, Any]]) -> None:
        """Put entries on disk together and read the case again."""
        log.append_all(self.path, self.person, list(entries))
        self.case = load(self.path, self.network.base)

    def minutes_of(self, entry: Check | Remedy) -> float:
        """Return the minutes of a step with the access it lacks now."""
        base = self.network.base
        return entry.minutes.value + minutes_to_reach(base, entry.access, self.case.trouble.access)

    def check(self, located: LocatedCheck, move: Mapping[str, Any]) -> tuple[list[str], list[str]]:
        """Do a check; return its readings, and its results as texts. `move` holds what the trainee foresaw and missed."""
        minutes, found, read = self.minutes_of(located.check), *self._answers(located.nodes, located.check.id)
        gained = sorted(after(self.network.base, located.check.access, self.case.trouble.access))
        told = {**move, "move": "check", "check": located.id, "nodes": list(located.nodes), "minutes": minutes, "read": read}
        left = refit_item(self.network.base, self.case.events, located.id)
        self.record(
            (MOVE, told),
            ("access", {"now": gained, "check": located.id}),
            *(("result", {"result": text, "complaint": False, "check": located.id}) for text in found),
            *([("note", left)] if left is not None else []),
        )
        return read, found

    def repair(self, remedy: Remedy, place: str, move: Mapping[str, Any]) -> None:
        """Do a remedy at a place; `move` holds how sure the trainee was, `repair` fields of the entry under `told`."""
        told = {**move, "move": "repair", "remedy": f"{remedy.id}@{place}", "minutes": self.minutes_of(remedy)}
        mend(self.engine, remedy.id, place)
        self.record((MOVE, told), ("repair", {"remedy": told["remedy"], "reason": str(move.get("reason", ""))}))

    def confirming_nodes(self) -> list[str]:
        """Return what a whole confirming run looks at: the complaint under its own conditions, then every part of the run."""
        told = (c.result for c in complaints(self.case.trouble.looks))
        wanted = [node(r.symptom, r.regimes[0], p) for r in told for p in r.places]
        parts = [node(p.symptom, p.regime, p.place) for p in self.network.base.confirming.values()]
        return [n for n in dict.fromkeys((*wanted, *parts)) if n in self.network.symptoms]

    def confirm(self, move: Mapping[str, Any]) -> tuple[list[str], list[str]]:
        """Make the confirming run; return its readings and results."""
        nodes = self.confirming_nodes()
        found, read, runs = self._run_answers(nodes, self.still_in())
        told = {**move, "move": "confirm", "nodes": nodes, "minutes": self.network.base.settings.retest_minutes, "read": read, "runs": runs}
        self.record((MOVE, told), *(("result", {"result": text, "complaint": False, "check": CONFIRMING}) for text in found))
        return read, found

    def _answers(self, nodes: Sequence[str], check: str) -> tuple[list[str], list[str]]:
        look = self._look()
        found = here(self.task, answers.results(self.network, look, nodes, check))
        spots = [(s.symptom.id, s.regime, s.place) for s in (self.network.symptoms[n] for n in nodes)]
        return found, readings(look, spots)

    def _run_answers(self, nodes: Sequence[str], still: bool) -> tuple[list[str], list[str], int]:
        """Return results, readings and number of runs of a confirming run, made again until it shows what is so.

        The scatter of one run ends no fault. Where a fault that shows the squawk is in and no run shows it, the owner has it again after
        the run: the squawk stands.
        """
        squawk = set(self._squawk())
        for runs in range(1, MOST_RUNS + 1):
            found, read = self._answers(nodes, "")
            if any(wrong(text) for text in found if text.partition("=")[0] in squawk) == still:
                return found, read, runs
        told = self._squawk()
        if still:
            read = [*read, "flown again, the squawk came back: see the complaint"]
            found = [f"{n}={told[n]}" if n in told else text for n, text in zip(nodes, found, strict=True)]
        return found, read, MOST_RUNS

    def _squawk(self) -> dict[str, str]:
        return {text.partition("=")[0]: text.partition("=")[2] for text in self.task.exercise.complaint}

    def still_in(self) -> bool:
        """Return whether a fault that shows the squawk is left after all that was done so far."""
        steps = (str(e.data.get("check" if e.data.get("move") == "check" else "remedy", "")) for e in self.moves)
        return still_in(self.network, self.task, [step for step in steps if step])

    def _look(self) -> Look:
        return look_at(self.network, self.task.exercise, self.engine)

    def _again(self, move: Mapping[str, Any]) -> None:
        """Do on the engine what a move of the file did."""
        if move.get("move") == "check":
            self._answers([str(n) for n in move["nodes"]], str(move["check"]).partition("@")[0])
        elif move.get("move") == "confirm":
            for _ in range(int(move.get("runs", 1))):
                self._answers([str(n) for n in move["nodes"]], "")
        elif move.get("move") == "repair":
            name, _, place = str(move["remedy"]).partition("@")
            mend(self.engine, name, place)
