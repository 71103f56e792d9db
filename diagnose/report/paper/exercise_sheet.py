"""The sheet of an exercise as an instructor hands it out: squawk, engine, limits, blanks to fill in; never the answer."""

from __future__ import annotations

from diagnose.plan.warnings import ALWAYS
from diagnose.report.paper.model import Blanks, Paper, Section, bullets, pair, pairs, para, words
from diagnose.report.paper.wording import result_text
from diagnose.training.entry_fields import FIELDS
from diagnose.training.levels import CODES_FROM, LEVELS, RECORD_CODES, SAFETY_CODES
from diagnose.training.task import Task
from diagnose.trouble.network import Network

STEPS = 6  # rows for steps on paper


def exercise_sheet(network: Network, task: Task) -> Paper:
    """Return the sheet of an exercise."""
    level = LEVELS[task.level]
    told = [
        pair("level", "Level", f"{level.number}, {level.label}"),
        pair("layout", "Engine", network.layout.label),
        pair("weather", "Outside", f"{task.exercise.weather.celsius:.0f} deg C"),
        pair("minutes", "Minutes", f"{task.minutes:.0f} at most" if task.minutes else "no limit"),
        pair("codes", "Counts for", ", ".join((*level.codes, *SAFETY_CODES, *RECORD_CODES))),
    ]
    steps = [(f"Step {n}", "check, cautions, what I expect and how sure in %, what I read, what still fits") for n in range(1, STEPS + 1)]
    return Paper(
        schema="exercise_sheet/1",
        kind="Exercise",
        title=task.title,
        about="An invented trouble on a simulated engine. It describes no aircraft.",
        lead=(para(task.story, "quote"), bullets(result_text(network, text) for text in task.exercise.complaint)),
        sections=(
            Section("set", "What is set", (pairs(told),)),
            Section("steps", "The steps", (Blanks(tuple(steps)),)),
            Section(
                "entry", "What it was, and the entry", (Blanks((("What it was, and where", ""), *((f.label, f.hint) for f in FIELDS))),)
            ),
        ),
        foot=(words(ALWAYS[0]), words(ALWAYS[1]), words(CODES_FROM)),
        mark="Exercise: no aircraft",
    )
