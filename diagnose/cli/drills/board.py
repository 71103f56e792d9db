"""The screen between two steps: squawk, what was seen, what must be heeded, checks to choose from. Never more than the screen has."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.case.log import Event
from diagnose.cli.drills.fitting import cut_apart
from diagnose.cli.drills.session import Session, state_line
from diagnose.plan.warnings import ALWAYS
from diagnose.report import screens
from diagnose.report.glance import prompt_lines
from diagnose.report.said import alarms
from diagnose.report.text import cut, folded, size
from diagnose.rulebase.records import Check
from diagnose.training.offered import caution_ids, pages
from diagnose.training.plain_sight import engine_words
from diagnose.training.still_in import wrong

KEYS = "1-9 check  n next page  t in words  f fits  c change  r run  g put right  s seen  k ranking  e entry  ? help  q"
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
RIGHT = 23  # columns of minutes and cautions at the right
# Lines of squawk, engine, what was tried, what was seen: they give way, in this order, where cautions want the room; then checks do.
ROOMS = ((4, 2, 2, 5), (2, 2, 1, 3), (1, 1, 0, 1))
CHECKS, LEAST_CHECKS = 9, 3  # to a page


def board(s: Session, a: Assessment) -> tuple[list[str], list[Check]]:
    """Return the lines of the screen, and the checks its numbers stand for. What must be heeded is there in full, whatever gives way."""
    width, height = size()
    room = height - len(prompt_lines(KEYS, width))
    alarmed = [line for text in alarms(s.network, a) if text not in ALWAYS for line in folded(f"!! {text}", width, under="   ")]
    noted = folded(s.noted, width)[:2] if s.noted else []
    for squawk, engine, tried, seen in ROOMS:
        head = [*_head(s, width, squawk, engine, tried), *state_line(s), *alarmed, *noted, "", *_seen(s, seen, width), ""]
        checks = room - len(head) - 1
        if checks >= CHECKS:
            break
    every = _pages(s, a, max(LEAST_CHECKS, min(CHECKS, checks)))
    s.page %= len(every)
    shown = every[s.page]
    title = cut(f"CHECKS  page {s.page + 1} of {len(every)}, in no order of worth", width - RIGHT - 1)
    head.append(f"{title:<{width - RIGHT}}{'min + opening cautions':>{RIGHT}}")
    return [*head, *_rows(s, shown, width, room - len(head) - len(shown))], shown


def _pages(s: Session, a: Assessment, size_: int) -> list[list[Check]]:
    return [page[at : at + size_] for page in pages(s.network, s.work.task, a) for at in range(0, len(page), size_)]


def _head(s: Session, width: int, squawk: int, engine: int, tried: int) -> list[str]:
    """Return which drill it is, and of engine, squawk and what was tried as many lines as there are for each."""
    told = "; ".join(screens.result_words(s.network, text) for text in s.work.task.exercise.complaint)
    known = told.lower() in s.work.task.story.lower()
    return [
        cut(f"DRILL {s.work.task.id}   {_steps(s)}   {s.work.minutes:.0f} min{_limit(s)}", width),
        *(_part("ENGINE", engine_words(s.network, s.work.task), width, engine) if _steps(s) == "step 1" else []),
        *_part("SQUAWK", s.work.task.story, width, squawk),
        *(_part("TRIED", told, width, tried) if not known else []),
    ]


def _part(name: str, text: str, width: int, most: int) -> list[str]:
    """Return a text under its name in at most so many lines, marked where it goes on."""
    lines = folded(text, width - 8)
    if len(lines) > most:
        lines = [*lines[: most - 1], cut(" ".join(lines[most - 1 :]), width - 8)] if most else []
    return [f"{name if n == 0 else '':<8}{line}" for n, line in enumerate(lines)]


def _rows(s: Session, checks: Sequence[Check], width: int, spare: int) -> list[str]:
    """Return a check as one line or more: what it is and what must be opened, its minutes and cautions at the right.

    A further line only while there is room for it; else it is cut, so that no two read alike.
    """
    names = [_named(check) for check in checks]
    short = cut_apart(names, width - RIGHT - 5)
    lines: list[str] = []
    for n, (check, name, one) in enumerate(zip(checks, names, short, strict=True), 1):
        first, *more = folded(name, width - RIGHT - 2, f"{n}  ", "   ")
        if len(more) > spare:
            first, more = f"{n}  {one}", []
        spare -= len(more)
        lines += [f"{first:<{width - RIGHT}}{_costs(s, check):>{RIGHT}}", *more]
    return lines


def _named(check: Check) -> str:
    needs = ", ".join(SHORT.get(name, name) for name in check.access)
    return f"{check.label}{f' ({needs})' if needs else ''}"


def _costs(s: Session, check: Check) -> str:
    opening = s.work.minutes_of(check) - check.minutes.value
    return f"{check.minutes.value:3.0f} + {opening:<3.0f} {len(caution_ids(s.network.base, check)):>5} !"


def _steps(s: Session) -> str:
    done = sum(e.data.get("move") in ("check", "repair", "confirm") for e in s.work.moves)
    return f"step {done + 1}"


def _limit(s: Session) -> str:
    return f" of {s.work.task.minutes:.0f}" if s.work.task.minutes else ""


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
