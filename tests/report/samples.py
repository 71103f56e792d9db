"""Invented cases for the papers: one with every field filled, one of hostile texts, one with almost nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import open_case
from diagnose.report.paper.story import Story, story_of

LAYOUT = "opposed-4"
HOW = {
    "conditions": "2000 rpm, full rich, oil 75 C, outside 14 C",
    "procedure": "Flight handbook 4-12, revision 7",
    "tool": "shop tachometer T-11",
    "calibration": "2027-03-31",
    "limit": "150 rpm",
    "limit_document": "Flight handbook 4-12, revision 7",
}
RUN = {"tool": "shop tachometer T-11", "procedure": "Flight handbook 4-12, revision 7", "calibration": "2027-03-31"}
FULL: tuple[tuple[str, str, dict[str, Any]], ...] = (
    ("unit", "A. Alder", {"unit": "aircraft", "text": "trainer, serial 0001, total 4210.5 h"}),
    ("unit", "A. Alder", {"unit": "engine", "text": "four-cylinder, serial E-22, 812 h since overhaul"}),
    ("unit", "A. Alder", {"unit": "left magneto", "text": "part LM-1, serial L-77, 480 h since internal inspection"}),
    ("unit", "A. Alder", {"unit": "right magneto", "text": "part RM-1, serial R-78, 120 h since internal inspection"}),
    ("unit", "A. Alder", {"unit": "harness", "text": "part H-9, 812 h"}),
    ("note", "A. Alder", {"safety": "read"}),
    (
        "state",
        "A. Alder",
        {
            "state": {
                "switch": "OFF, key out",
                "P-lead left": "connected",
                "P-lead right": "connected",
                "cowl": "on",
                "propeller tag": "tag on",
            }
        },
    ),
    ("result", "A. Alder", {"result": "plug_hours_over_100@engine=yes"}),
    ("result", "A. Alder", {"result": "rough.runup@left=yes", "complaint": True, **HOW, "reading": "shakes, 260 rpm drop"}),
    ("result", "A. Alder", {"result": "drop.runup@left=excessive", "complaint": True, **HOW, "reading": "260 rpm"}),
    (
        "advice",
        "",
        {
            "state": "unsettled",
            "top": [["plug_lead_fouled@3-bottom", 0.2]],
            "unmodelled": 0.01,
            "check": "egt_each_magneto@engine",
            "place": "engine",
            "minutes": 20,
            "information": 1.34,
            "value": 6.2,
            "why": "tells 1.34 bit about what to repair in 20 min",
            "runner_up": "magneto check leaned, 0.38 bit in 16 min",
        },
    ),
    ("access", "A. Alder", {"now": ["engine_running"], "check": "egt_each_magneto@engine"}),
    (
        "reading",
        "A. Alder",
        {
            "calculation": "egt",
            "inputs": [{"name": "cylinder_3", "value": 640, "unit": "F", "note": "left magneto"}],
            "values": [{"name": "below_others", "value": 710, "unit": "F"}],
            "limits": [{"name": "egt_low", "value": 100, "unit": "F", "document": "shop sheet 3", "revision": "B"}],
            "says": ["No. 3 does not fire on the left magneto"],
            "results": ["egt_low.runup@3-bottom=yes"],
        },
    ),
    (
        "result",
        "A. Alder",
        {
            "result": "egt_low.runup@3-bottom=yes",
            "check": "egt_each_magneto@engine",
            "from": 14,
            "reading": "640 F",
            "conditions": "1800 rpm, lean of peak",
            "tool": "panel gauge G-2",
        },
    ),
    (
        "result",
        "A. Alder",
        {
            "result": "egt_low.runup@1-bottom=no",
            "check": "egt_each_magneto@engine",
            "reading": "1350 F",
            "conditions": "1800 rpm, rich of peak",
            "tool": "panel gauge G-2",
        },
    ),
    ("result", "A. Alder", {"result": "egt_low.runup@2-top=cannot", "check": "egt_each_magneto@engine", "note": "probe lead chafed"}),
    ("note", "B. Birch", {"chosen": "look_at_plug@3-bottom", "offered": "swap_plug@3-bottom", "reason": "cowl is coming off anyway"}),
    ("access", "B. Birch", {"now": ["cowl_off"], "check": "look_at_plug@3-bottom"}),
    (
        "result",
        "B. Birch",
        {
            "result": "plug_lead.static@3-bottom=no",
            "check": "look_at_plug@3-bottom",
            "procedure": "Engine manual 74-20, revision 4",
            "tool": "glass X-3",
            "reading": "beads on the nose",
        },
    ),
    ("correct", "B. Birch", {"corrects": 20, "result": "plug_lead.static@3-bottom=yes", "reason": "wrong tray read out"}),
    (
        "result",
        "B. Birch",
        {
            "result": "plug_gap_wide.static@3-bottom=no",
            "check": "look_at_plug@3-bottom",
            "reading": "0.017 in",
            "limit": "0.016 to 0.018 in",
            "limit_document": "Plug manual P-1, revision 2",
        },
    ),
    ("decline", "B. Birch", {"check": "lead_voltage_test@3-bottom", "reason": "no tester here"}),
    (
        "repair",
        "B. Birch",
        {
            "remedy": "clean_plug@3-bottom",
            "warning": "A check would still pay.",
            "reason": "flying at noon",
            "found": "gap 0.017 in, lead beads",
            "left": "gap 0.016 in, clean",
            "off": ["plug PN-5 SN-31, fouled, tag 12"],
            "on": ["plug PN-5 SN-31, cleaned and tested", "gasket PN-6, new"],
            "procedure": "Engine manual 74-20, revision 4",
            "note": "torque 330 in-lb",
        },
    ),
    (
        "result",
        "C. Cedar",
        {
            "result": "rough.runup@left=no",
            "check": "confirming_run",
            **RUN,
            "conditions": HOW["conditions"],
            "reading": "smooth, 70 rpm drop",
        },
    ),
    (
        "result",
        "C. Cedar",
        {"result": "drop.runup@left=normal", "check": "confirming_run", **RUN, "conditions": HOW["conditions"], "reading": "70 rpm"},
    ),
    ("note", "C. Cedar", {"note": "Both magnetos looked at on the run", "confirming": True}),
    ("note", "C. Cedar", {"note": "EGT probe lead of No. 2 is chafed", "open": True}),
    ("note", "C. Cedar", {"note": "Tray of plugs to go back to the bench", "open": True}),
    ("note", "B. Birch", {"note": "Tray is back", "closes": 29}),
    ("state", "C. Cedar", {"state": {"cowl": "off", "P-lead left": "off at the magneto", "plugs": "all in"}}),
)


def make(path: Path, entries: tuple[tuple[str, str, dict[str, Any]], ...], person: str = "A. Alder", **opening: Any) -> Path:
    """Write a case, a minute an entry, and return its path."""
    base = loaded.rulebase()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DIAGNOSE_CLOCK", "2026-05-04T08:00:00Z")
        open_case(path, base, base.layouts[LAYOUT], person, opening)
        for number, (kind, who, data) in enumerate(entries, 1):
            patch.setenv("DIAGNOSE_CLOCK", f"2026-05-0{4 + (number >= 23)}T{8 + number // 60:02d}:{number % 60:02d}:00Z")
            log.append(path, kind, who, data)
    return path


def full(path: Path) -> Path:
    """Return a case that holds every field of every kind of entry."""
    return make(
        path, FULL, nickname="Blue trainer", words="It shook on the left mag and nearly died.", told_by="the student of the morning"
    )


def story_at(path: Path) -> Story:
    """Return the story of a case."""
    return story_of(*loaded.case_at(str(path)))


NASTY = (
    "\x1b[31mred\u202eabc\u2066 <script>alert(1)</script> & \"q\" 'a' [x](http://e.example) `c` *b* _u_ ~~s~~ | # h\n"
    "- item\n1. one\n===\n> q\n\u2028end\\"
)
LONG = ("word " * 1000 + "x" * 5000)[:10_000]
HOSTILE: tuple[tuple[str, str, dict[str, Any]], ...] = (
    ("unit", NASTY, {"unit": "left magneto", "text": NASTY}),
    ("unit", "A", {"unit": NASTY, "text": "own word"}),
    ("result", NASTY, {"result": "rough.runup@left=yes", "complaint": True, "reading": NASTY, "conditions": LONG}),
    ("note", NASTY, {"chosen": NASTY, "offered": NASTY, "reason": NASTY}),
    ("result", NASTY, {"result": "drop.runup@left=excessive", "check": NASTY, "tool": NASTY, "note": NASTY}),
    ("reading", NASTY, {"calculation": NASTY, "inputs": [{"name": NASTY, "value": NASTY, "unit": NASTY}], "says": [NASTY]}),
    ("correct", NASTY, {"corrects": 4, "result": "rough.high_power@left=yes", "reason": NASTY}),
    ("repair", NASTY, {"remedy": "clean_plug@1-top", "note": LONG, "off": [NASTY, LONG], "on": NASTY, "found": NASTY, "left": NASTY}),
    ("state", NASTY, {"state": {NASTY: NASTY, "P-lead left": NASTY}}),
    ("note", NASTY, {"note": NASTY, "open": True}),
    ("note", NASTY, {"note": LONG, "open": True, "safety": True}),
    ("note", "A", {"note": NASTY, "closes": 11}),
    ("decline", NASTY, {"check": NASTY, "reason": NASTY}),
    ("advice", NASTY, {"check": NASTY, "why": NASTY, "runner_up": NASTY}),
    ("whim", NASTY, {"thing": [NASTY, {"inner": NASTY}]}),
)


def hostile(path: Path) -> Path:
    """Return a case in which everything a person can write is hostile."""
    return make(path, HOSTILE, NASTY, nickname=NASTY, words=NASTY + LONG, told_by=NASTY)


def bare(path: Path) -> Path:
    """Return a case in which almost nothing is recorded."""
    return make(path, (("result", "", {"result": "rough.runup@left=yes", "complaint": True}),), "")


def contradictory(path: Path) -> Path:
    """Return a case whose results cannot all be true: it shakes somewhere, and nowhere."""
    nowhere = tuple(("result", "A", {"result": f"rough.runup@{p}=no", "check": "mag_check@engine"}) for p in ("left", "right", "engine"))
    return make(path, (("result", "A", {"result": "rough.runup@some=yes", "complaint": True}), *nowhere))
