"""The screen between two steps: squawk, what was seen, what must be heeded, checks to choose from. Never more than the screen has."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.case.log import Event
from diagnose.cli.drills.session import Session, state_line
from diagnose.plan.warnings import ALWAYS
from diagnose.report import screens
from diagnose.report.said import alarms
from diagnose.report.text import cut, folded, size
from diagnose.rulebase.records import Check
from diagnose.training.offered import caution_ids, pages
from diagnose.training.plain_sight import engine_words
from diagnose.training.still_in import wrong

KEYS = "1-9 check  n next page  t in words  f fits  c change  r run  g put right  s seen  k ranking  e entry  q"
SHORT = {
    "cowl_off": "cowl off",
    "plugs_out": "plugs out",
    "leads_off": "leads off",
    "engine_running": "running",
    "engine_cold": "cold",
    "engine_damp": "damp",
    "engine_hot": "hot",
    "second_person": "2 people",
}
MOST_SEEN = 5
RIGHT = 23  # columns of minutes and cautions at the right


def board(s: Session, a: Assessment) -> tuple[list[str], list[Check]]:
    """Return the lines of the screen, and the checks its numbers stand for."""
    every = pages(s.network, a)
    s.page %= len(every)
    shown = every[s.page]
    width, height = size()
    head = [cut(f"DRILL {s.work.task.id}   {_steps(s)}   {s.work.minutes:.0f} min{_limit(s)}", width)]
    head += folded(f"ENGINE  {engine_words(s.network, s.work.task)}", width, under=" " * 8)[:2] if _steps(s) == "step 1" else []
    head += folded(f"SQUAWK  {s.work.task.story}", width, under=" " * 8)[:4]
    told = "; ".join(screens.result_words(s.network, text) for text in s.work.task.exercise.complaint)
    head += folded(f"TRIED   {told}", width, under=" " * 8)[:2] if told.lower() not in s.work.task.story.lower() else []
    head += [cut(text, width) for text in state_line(s)]
    warned = [cut(f"!! {text}", width) for text in alarms(s.network, a) if text not in ALWAYS][:2]
    noted = folded(s.noted, width)[:2] if s.noted else []
    title = cut(f"CHECKS  page {s.page + 1} of {len(every)}, in no order of worth", width - RIGHT - 1)
    rows = [_row(s, n, check, width) for n, check in enumerate(shown, 1)]
    room = height - len(head) - len(warned) - len(noted) - len(rows) - 5
    seen = _seen(s, max(1, min(MOST_SEEN, room)), width)
    table = [f"{title:<{width - RIGHT}}{'min + opening cautions':>{RIGHT}}", *_fitted(rows, room - len(seen))]
    return [*head, *warned, *noted, "", *seen, "", *table], shown


def _fitted(rows: Sequence[Sequence[str]], spare: int) -> list[str]:
    """Return rows of one line or several, a further line only while there is room for it."""
    lines: list[str] = []
    for row in rows:
        more = len(row) - 1 if len(row) - 1 <= spare else 0
        spare -= more
        lines += row[: 1 + more] if more or len(row) == 1 else [_cut_short(row[0])]
    return lines


def _cut_short(line: str) -> str:
    """Return the first line of a longer row, marked as cut."""
    left = line[:-RIGHT].rstrip()[: len(line) - RIGHT - 3]
    return f"{left + '..':<{len(line) - RIGHT}}{line[-RIGHT:]}"


def _steps(s: Session) -> str:
    done = sum(e.data.get("move") in ("check", "repair", "confirm") for e in s.work.moves)
    return f"step {done + 1}"


def _limit(s: Session) -> str:
    return f" of {s.work.task.minutes:.0f}" if s.work.task.minutes else ""


def _row(s: Session, number: int, check: Check, width: int) -> list[str]:
    """Return a check as one line or more: what it is and what must be opened, its minutes and cautions at the right."""
    opening = s.work.minutes_of(check) - check.minutes.value
    needs = ", ".join(SHORT.get(name, name) for name in check.access)
    right = f"{check.minutes.value:3.0f} + {opening:<3.0f} {len(caution_ids(s.network.base, check)):>5} !"
    first, *more = folded(f"{check.label}{f' ({needs})' if needs else ''}", width - RIGHT - 2, f"{number}  ", "   ")
    return [f"{first:<{width - RIGHT}}{right:>{RIGHT}}", *more]


def _seen(s: Session, most: int, width: int) -> list[str]:
    told = found_wrong(s)
    lines = [cut(f"SEEN    {text}" if n == 0 else f"        {text}", width) for n, text in enumerate(told[:most])]
    if len(told) > most:
        lines[-1] = cut(lines[-1], width - 14) + f" (s: {len(told)} all)"
    return lines or ["SEEN    nothing wrong yet but what the squawk says"]


def found_wrong(s: Session) -> list[str]:
    """Return what was seen to be wrong since the squawk, in words, each once, newest first."""
    found = (str(e.data["result"]) for e in reversed(_results(s.work.case.events)))
    return list(dict.fromkeys(screens.result_words(s.network, text) for text in found if wrong(text)))


def _results(events: Sequence[Event]) -> list[Event]:
    """Return the results of checks and runs: neither the squawk nor what is in plain sight."""
    return [e for e in events if e.kind == "result" and e.data.get("check")]


def everything(s: Session) -> list[str]:
    """Return all that was seen, step by step: readings, then what was wrong."""
    told = ["SEEN SO FAR", ""]
    network = s.network
    told += [f"Engine: {engine_words(network, s.work.task)}", f"Squawk: {s.work.task.story}"]
    for event in s.work.moves:
        name, _, place = str(event.data.get("check") or event.data.get("remedy") or "").partition("@")
        entry = network.base.checks.get(name) or network.base.remedies.get(name)
        if event.data.get("move") == "confirm" or entry is not None:
            what = entry.label if entry is not None else "Confirming run"
            told += [
                "",
                f"{what}{f' ({place})' if place not in ('', 'engine') else ''}",
                *(f"  {text}" for text in event.data.get("read", ())),
            ]
    return [*told, "", "Wrong so far:", *(f"  {text}" for text in found_wrong(s) or ["nothing but the squawk"])]
