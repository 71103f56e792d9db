"""What a trainee has done so far: a line for each drill in a local file, what needs work, and what to do next."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.case.log import now
from diagnose.problems import BadInput
from diagnose.training.judged import HABITS
from diagnose.training.levels import LEVELS, RECORD_CODES, SAFETY_CODES
from diagnose.training.measures import Measures
from diagnose.training.task import truths

SCHEMA = "progress/1"
PASSED = 75  # of a hundred: from here, found and without an unsafe step, a drill counts as passed (estimate)
LAST, OFTEN = 5, 2  # drills that count for a habit, and how often in them makes one (estimates)
ENOUGH = 2  # passed so often, a level is behind the trainee (estimate)
COLUMNS = ("time", "trainee", "exercise", "level", "score", "found", "unsafe", "missed", "confirmed", "minutes", "checks", "ranking")


@dataclass(frozen=True)
class Done:
    """One drill as kept: its fields, `families` of its faults, `habits` counted, `codes` it counts for."""

    fields: Mapping[str, Any]

    @property
    def level(self) -> str:
        """Return its level."""
        return str(self.fields["level"])

    @property
    def passed(self) -> bool:
        """Return whether it was found, safely and well enough."""
        return bool(self.fields["found"]) and not self.fields["unsafe"] and int(self.fields["score"]) >= PASSED


def line_of(m: Measures, trainee: str) -> dict[str, Any]:
    """Return what is kept of a drill."""
    work, network = m.work, m.work.network
    families = sorted({network.causes[c].cause.family for causes in truths(network, work.task) for c in causes})
    level = LEVELS[work.task.level]
    return {
        "schema": SCHEMA,
        "time": now(),
        "trainee": trainee,
        "exercise": work.task.id,
        "level": level.id,
        "families": families,
        "score": m.score,
        "found": all(m.found),
        "unsafe": m.unsafe,
        "missed": m.missed,
        "confirmed": m.confirmed,
        "minutes": round(m.minutes),
        "checks": m.checks,
        "ranking": sum(j.move == "ranking" for j in m.judged),
        "brier": None if m.brier is None else round(m.brier, 3),
        "habits": {name: m.count(name) for name in HABITS if m.count(name)},
        "codes": [*level.codes, *SAFETY_CODES, *RECORD_CODES],
    }


def keep(path: Path, line: Mapping[str, Any]) -> None:
    """Add a drill to the file of a trainee. Raises BadInput where it is another's, or no such file."""
    done = read(path) if path.exists() else []
    others = {str(d.fields["trainee"]) for d in done} - {str(line["trainee"])}
    if others:
        raise BadInput(f"'{path}' is the progress of {', '.join(sorted(others))}; give each trainee a file, or --person as it was")
    with path.open("a", encoding="utf-8") as file:
        file.write(json.dumps(line, ensure_ascii=False) + "\n")


def read(path: Path) -> list[Done]:
    """Return the drills of a file, oldest first. Raises BadInput."""
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        raise BadInput(f"progress '{path}' cannot be read; give the file that --progress wrote") from None
    found = []
    for number, text in enumerate(lines, 1):
        try:
            raw = json.loads(text)
            known = raw["schema"] == SCHEMA and raw["level"] in LEVELS and all(name in raw for name in COLUMNS)
        except (ValueError, KeyError, TypeError):
            known = False
        if not known:
            raise BadInput(f"{path}:{number}: this line is no drill of {SCHEMA}; restore it from a copy, or take the line out")
        found.append(Done(raw))
    return found


@dataclass(frozen=True)
class Next:
    """What to do next: a level, a family where one needs work, and why."""

    level: str
    family: str
    why: str


def next_drill(done: Sequence[Done]) -> Next:
    """Return what to do next: every second drill goes back to what needs work, a family first, then a habit; the others climb the levels.

    A family is drawn with one fault; a habit is worked on at the level it was met at most.
    """
    if len(done) % 2:
        for family in weak_families(done):
            return Next(_level_missed(done, family), family, f"faults of {family.replace('_', ' ')} were missed more often than found")
        for habit, times in _habits(done):
            if times >= OFTEN:
                return Next(_level_of(done[-LAST:], habit), "", f"{HABITS[habit]}, {times} times in the last five drills")
    level = next_level(done)
    passed = sum(d.passed for d in done if d.level == level)
    return Next(level, "", f"passed {passed} of {ENOUGH} times" if passed < ENOUGH else "the lowest mean of all levels")


def _level_missed(done: Sequence[Done], family: str) -> str:
    """Return the level of one fault at which a family was missed last."""
    for drill in reversed(done):
        if family in drill.fields.get("families", ()) and not drill.fields["found"] and LEVELS[drill.level].faults == 1:
            return drill.level
    return next(iter(LEVELS))


def _level_of(done: Sequence[Done], habit: str) -> str:
    """Return the level at which a habit was met most often, the newest among equals."""
    met: Counter[str] = Counter()
    for drill in reversed(done):
        met[drill.level] += int(drill.fields.get("habits", {}).get(habit, 0))
    return met.most_common(1)[0][0]


def next_level(done: Sequence[Done]) -> str:
    """Return the level to do next: the first not passed often enough, else the one with the lowest mean."""
    for level in LEVELS:
        if sum(d.passed for d in done if d.level == level) < ENOUGH:
            return level
    return min(LEVELS, key=lambda level: _mean([int(d.fields["score"]) for d in done if d.level == level]))


def next_seed(done: Sequence[Done]) -> int:
    """Return a seed that no drill of the file has had: they count up."""
    return len(done) + 1


def weak_families(done: Sequence[Done]) -> list[str]:
    """Return the families whose faults were missed more often than found, worst first."""
    missed: Counter[str] = Counter()
    for drill in done:
        for family in drill.fields.get("families", ()):
            missed[str(family)] += -1 if drill.fields["found"] else 1
    return sorted((f for f in missed if missed[f] > 0), key=lambda f: (-missed[f], f))


def weak_habits(done: Sequence[Done]) -> list[tuple[str, int]]:
    """Return the habits that need work, in words, with how often in the last five drills; safety first, then the commonest."""
    return [(HABITS[h], n) for h, n in _habits(done)]


def _habits(done: Sequence[Done]) -> list[tuple[str, int]]:
    counted: Counter[str] = Counter()
    for drill in done[-LAST:]:
        counted.update({str(k): int(v) for k, v in drill.fields.get("habits", {}).items() if k in HABITS})
    safety = ("unsafe", "open_run", "missed")
    return sorted(counted.items(), key=lambda row: (row[0] not in safety, -row[1], row[0]))


def met_codes(done: Sequence[Done]) -> list[str]:
    """Return the element codes of the drills passed, each once, in order."""
    return sorted({str(code) for drill in done if drill.passed for code in drill.fields.get("codes", ())})


def _mean(numbers: Sequence[int]) -> float:
    return sum(numbers) / len(numbers) if numbers else 0.0


def class_rows(files: Sequence[Sequence[Done]]) -> list[dict[str, Any]]:
    """Return a row for each trainee: drills, passed, mean of the last three, unsafe steps, what needs work, what is next."""
    rows = []
    for done in files:
        if done:
            last = [int(d.fields["score"]) for d in done[-3:]]
            habits = weak_habits(done)
            rows.append(
                {
                    "trainee": done[-1].fields["trainee"] or "(no name)",
                    "drills": len(done),
                    "passed": sum(d.passed for d in done),
                    "last three": round(_mean(last)),
                    "unsafe": sum(int(d.fields["unsafe"]) for d in done),
                    "needs work": habits[0][0] if habits else "-",
                    "next level": next_drill(done).level,
                }
            )
    return sorted(rows, key=lambda row: str(row["trainee"]))
