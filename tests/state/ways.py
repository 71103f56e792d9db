"""Thirty histories, each in three orders and by each way that can say it; `python -m tests.state.ways` prints the table.

The ways: `enter`, the interview's own recording, and `calc --into` where a calculation gives the results. State, barred steps and
papers (hand-over and draft) must be equal apart from order, times, entry numbers and hashes. Papers are compared within one way for readings in
numbers, which only a calculation records.
"""

from __future__ import annotations

import io
import json
import re
import sys
import tempfile
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path

from rich.console import Console

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import load
from diagnose.cli import talk as interview
from diagnose.plan.rules import bars

LAYOUT = "opposed-4"
ORDERS: tuple[Callable[[Sequence[Said]], list[Said]], ...] = (list, lambda rows: list(reversed(rows)), lambda rows: [*rows[1:], rows[0]])


@dataclass(frozen=True)
class Said:
    """One thing that is said: results (by a check), or a state of the aircraft; `calc`: the calculation that gives the results."""

    results: tuple[str, ...] = ()
    check: str = ""
    state: str = ""
    complaint: bool = False
    calc: str = ""


@dataclass
class History:
    """A history: its name, what is said, and whether it is dangerous."""

    name: str
    said: tuple[Said, ...]
    danger: bool = False
    found: list[str] = field(default_factory=list)


def told(*results: str, check: str = "", calc: str = "") -> Said:
    """Return results of a check."""
    return Said(results, check, calc=calc)


def stands(state: str) -> Said:
    """Return a state of the aircraft."""
    return Said(state=state)


ROUGH = Said(("rough.runup@left=yes",), complaint=True)
HARD = Said(("hard_start.start@engine=yes",), complaint=True)
DROP = told("drop.runup@left=excessive", check="mag_check@engine")
LEADS = stands("P-lead left=on, P-lead right=on")
POINTS = told("points_gap_narrow.static@left=yes", check="gauge_points@left", calc="points --magneto left --clearance '0.008 in'")
PLUG = told(check="look_at_plug@3-bottom", calc="plug --plug 3-bottom --gap '0.6 mm'")
LEAD = told(check="lead_voltage_test@3-bottom", calc="lead --lead 3-bottom --insulation '5 Mohm' --test-voltage '10 kV'")
MAG = told(check="mag_check@engine", calc="mag-check --both 1800 --left 1560 --right 1740")
COMPRESSION = told(calc="compression --cylinder 3 --reading 50/80 --hot --air exhaust")
HISTORIES = (
    History("runs in OFF", (ROUGH, told("runs_in_off.idle@engine=yes"), LEADS), True),
    History("fires when turned", (ROUGH, told("fires_when_turned@engine=yes"), stands("propeller=tagged")), True),
    History("kick-back", (HARD, told("kick_back@engine=yes"), stands("cowl=off")), True),
    History("propeller struck", (ROUGH, told("struck_or_kicked_back@engine=yes"), stands("chocks=in")), True),
    History("coupling cracked", (HARD, told("impulse_cracked@left=yes"), stands("P-lead right=off")), True),
    History("points stand still", (ROUGH, told("points_stand_still@left=yes"), stands("switch=off")), True),
    History("metal on a plug", (ROUGH, told("plug_metal@3-bottom=yes", check="look_at_plug@3-bottom"), stands("cowl=off")), True),
    History("leads crossed", (ROUGH, told("lead_order_wrong@3-bottom=yes"), stands("parts off=none")), True),
    History("P-lead open", (ROUGH, told("p_lead_open@right=yes"), stands("fuel=off")), True),
    History("P-lead off, points gauged", (ROUGH, POINTS, stands("propeller=tagged")), True),
    History("P-lead told off", (ROUGH, DROP, stands("P-lead left=off"))),
    History("P-lead unknown", (ROUGH, DROP, stands("P-lead left=unknown"))),
    History("both leads on", (ROUGH, DROP, LEADS)),
    History("magneto off", (ROUGH, DROP, stands("parts off=left magneto"))),
    History("plugs out", (ROUGH, told("plug_lead.static@3-bottom=yes"), stands("plugs=out of every cylinder"))),
    History("cowl off", (ROUGH, told("plug_lead.static@3-bottom=yes", check="look_at_plug@3-bottom"), stands("cowl=off"))),
    History("mag check in numbers", (ROUGH, MAG, LEADS)),
    History("plug gauged", (ROUGH, PLUG, stands("cowl=off"))),
    History("lead tested", (ROUGH, LEAD, stands("cowl=off"))),
    History("compression", (ROUGH, COMPRESSION, LEADS)),
    History("points gauged, hard start", (HARD, POINTS, stands("cowl=off"))),
    History("points and plug", (ROUGH, POINTS, PLUG)),
    History("plug and lead", (ROUGH, PLUG, LEAD)),  # a run told of after the lead test says that the leads are back on
    History("timing late", (ROUGH, told("timing_late.static@left=yes", check="check_timing@engine"), stands("cowl=off"))),
    History("two complaints", (ROUGH, HARD, DROP)),
    History("both sides", (ROUGH, told("drop.runup@right=excessive"), DROP)),
    History("unknown answers", (ROUGH, told("drop.runup@left=unknown"), told("drop_fast.runup@left=cannot"))),
    History("history told", (ROUGH, told("recent_plug_work@engine=yes"), DROP)),
    History("all normal", (ROUGH, told("drop.runup@left=normal", "drop.runup@right=normal", check="mag_check@engine"), LEADS)),
    History("switch tagged", (ROUGH, DROP, stands("switch=off, fuel=off, chocks=in"))),
)


def by_enter(case: Path, said: Said) -> None:
    """Say it with `enter` and `note --state`."""
    if said.state:
        _run("note", str(case), "--state", said.state)
    else:
        _run("enter", str(case), *said.results, *(["--complaint"] if said.complaint else []), *(["--check", said.check] * bool(said.check)))


def by_interview(case: Path, said: Said) -> None:
    """Say it as the interview records it."""
    network = loaded.network_of((), LAYOUT)
    talk = interview.Talk(case, "", network, Console(file=io.StringIO()))
    if said.state:
        from diagnose.trouble.aircraft_words import kept
        from diagnose.trouble.aircraft_words import said as read

        talk.record("state", {"state": kept(read([said.state]))})
        return
    assert interview.enter(talk, " ".join(said.results), said.complaint, said.check)
    if said.check and not all(r.endswith("=cannot") for r in said.results):
        interview.leave_refit(talk, said.check)


def by_calc(case: Path, said: Said) -> None:
    """Say it with `calc --into` where a calculation gives it."""
    if not said.calc:
        by_enter(case, said)
        return
    import shlex

    _run("calc", *shlex.split(said.calc), "--into", str(case), *(["--check", said.check] * bool(said.check)))


WAYS = {"enter": by_enter, "interview": by_interview, "calc": by_calc}


def _run(*argv: str) -> str:
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = main(list(argv))
    if code:
        raise AssertionError(f"{' '.join(argv)}: {err.getvalue()}")
    return out.getvalue()


def case_of(folder: Path, history: History, order: int, way: str) -> Path:
    """Return a case that holds a history, said in one order by one way."""
    path = folder / f"{order}-{way}.case"
    _run("open", str(path), "--layout", LAYOUT)
    for said in ORDERS[order](history.said):
        WAYS[way](path, said)
    return path


def resolved(folder: Path, history: History) -> History:
    """Return a history with the results of its calculations written out, so that they can be entered too."""
    made = []
    for number, said in enumerate(history.said):
        if said.calc:
            path = folder / f"resolve-{number}.case"
            _run("open", str(path), "--layout", LAYOUT)
            by_calc(path, said)
            results = tuple(str(e.data["result"]) for e in log.read(path).events if e.kind == "result")
            said = Said(results, said.check, calc=said.calc)
        made.append(said)
    return History(history.name, tuple(made), history.danger)


def state_of(path: Path) -> str:
    """Return how the aircraft of a case stands and what that forbids, as text without order, times and entry numbers."""
    case = load(path, loaded.rulebase())
    aircraft = case.trouble.aircraft
    network = loaded.network_of((), LAYOUT)
    forbids = bars(network, case.trouble, {})
    # Which of two steps opened the cowl first is order; what left a P-lead or a part off is not.
    facts = sorted((t, f.now, f.step if t.startswith(("P-lead", "parts")) else "") for t, f in aircraft.facts.items())
    results = sorted(str(r) for look in case.trouble.looks for r in look.results)
    complaint = sorted(str(r) for look in case.trouble.looks for r in look.complaint)
    return plain(
        repr((facts, sorted(case.trouble.access), sorted(i.step for i in aircraft.left), aircraft.off_due is not None, forbids, results))
        + repr(complaint)
    )


def paper_of(path: Path, command: str) -> list[str]:
    """Return every text of a paper, sorted, without times, entry numbers, hashes and the file's name."""
    found: list[str] = []

    def walk(node: object) -> None:
        if isinstance(node, dict) and node.get("label") in BY_ORDER:
            return
        if isinstance(node, dict):
            for value in node.values():
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)
        elif isinstance(node, str):
            parts = (part.strip() for part in re.split(r"[;:.,()\n]", plain(node)))  # lists stand in the order of entry
            found.extend(part for part in parts if part)

    walk(json.loads(_run(command, str(path), "--format", "json")))
    return sorted(found)


def plain(text: str) -> str:
    """Return a text without what may differ: times, entry numbers, counts of entries, hashes, names of case files."""
    for pattern in (
        r"\d{4}-\d\d-\d\dT[\d:]+Z",
        r"\d\d-\d\d \d\d:\d\d",
        r"\b[0-9a-f]{12,64}\b",
        r"\d-\w+\.case",
        r"Stamp\([^)]*\)",
        r"\(by: .*\)(?= \()",
    ):
        text = re.sub(pattern, "~", text)
    return re.sub(r"\(?entr(?:y|ies) \d+(?:[-, ]+\d+)*\)?|\b(\d+) entries|entry=\d+", "~", text)


PAPERS = ("handover", "record")
BY_ORDER = ("Last done", "Ruled down")  # what was done last, and how likely something was on the way: order itself


def differs(folder: Path, history: History, papers: Sequence[str] = PAPERS) -> list[str]:
    """Return what differs between the orders and ways of one history; nothing where they are equal."""
    whole = resolved(folder, history)
    ways = [w for w in WAYS if w != "calc" or any(s.calc for s in whole.said)]
    cases = {(way, order): case_of(folder, whole, order, way) for way in ways for order in range(len(ORDERS))}
    states = {key: state_of(path) for key, path in cases.items()}
    wrong = [f"{history.name}: state by {way}, order {order}" for (way, order), s in states.items() if s != states["enter", 0]]
    for paper in papers:
        texts = {key: paper_of(path, paper) for key, path in cases.items()}
        for (way, order), text in texts.items():
            other = texts["calc" if way == "calc" else "enter", 0]
            if text != other:
                only = [t for t in text if t not in other] + [t for t in other if t not in text]
                wrong.append(f"{history.name}: {paper} by {way}, order {order}: {only[:4]}")
    return wrong


def table() -> int:
    """Print one line for each history; return how many are not equal."""
    bad = 0
    for number, history in enumerate(HISTORIES, 1):
        with tempfile.TemporaryDirectory() as made:
            wrong = differs(Path(made), history)
        bad += bool(wrong)
        ways = 3 if any(s.calc for s in history.said) else 2
        mark = "danger" if history.danger else ""
        print(f"{number:>2}  {history.name:<28} {mark:<7} 3 orders, {ways} ways  {'equal' if not wrong else 'DIFFERS'}", flush=True)
        for line in wrong:
            print(f"      {line}", flush=True)
    print(f"{len(HISTORIES)} histories, {sum(h.danger for h in HISTORIES)} dangerous; {bad} not equal")
    return bad


if __name__ == "__main__":
    sys.exit(1 if table() else 0)
