"""The end of an interview: the rest of the confirming run, what is closed up, and what is still open, named."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.case.case import Case
from diagnose.case.kinds import CONFIRMING
from diagnose.case.still_open import Open, still_open
from diagnose.cli.asking import ask_numbers
from diagnose.cli.making_good import may_turn
from diagnose.cli.paging import page
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk, step_back
from diagnose.plan.make_good import CLOSED
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import OFF_CHECK
from diagnose.report import screens
from diagnose.report.text import size
from diagnose.trouble.aircraft_words import left_as
from diagnose.trouble.complaint import confirming_rest

RUN = "CONFIRMING RUN"
CLOSING = "BEFORE THE CASE IS CLOSED"
LOOKED = {"cowl": "that the cowling is on", "tools": "that every tool is counted"}
DONE = "The complaint is gone under its own conditions."


def end(talk: Talk, case: Case, assessment: Assessment) -> bool:
    """Ask for the rest of the confirming run and have the aircraft closed up; what is left out is named. Return whether to go on."""
    rest = confirming_rest(talk.network.base, case.trouble.looks)
    if rest and not assessment.bars.powered and not _left_out(case):
        return _rest_of_run(talk, rest)
    if not _closed_up(talk) or not _looked_round(talk):
        return step_back(talk)
    _told(talk)
    return False


def _rest_of_run(talk: Talk, rest: tuple[str, ...]) -> bool:
    page(talk, RUN)
    screens.line(talk.out, f"The complaint is gone. A confirming run is all of it, since the repair; still to do: {'; '.join(rest)}.")
    text = ask(talk.out, "m mag check in rpm, s static rpm and OFF check, b back, e leave it out: it stays open", {"m", "s", "b", "e"})
    if text == "b":
        return step_back(talk)
    if text == "e":
        talk.record("note", {"note": f"Confirming run, still to do: {'; '.join(rest)}", "open": True, "confirming": True})
    elif may_turn(talk, WHOLE_RUN if text == "s" else {"run"}):
        ask_numbers(talk, {"m": "mag-check", "s": "static"}[text], f"{RUN}   numbers", CONFIRMING, regime="runup")
        talk.go_on()
    return True


def _left_out(case: Case) -> bool:
    """Return whether somebody said, since the last repair or result, that the rest of the run is left out."""
    last = max((e.seq for e in case.events if e.kind in ("repair", "result")), default=0)
    return any(e.kind == "note" and e.data.get("confirming") and e.seq > last and e.seq not in case.corrected for e in case.events)


def _closed_up(talk: Talk) -> bool:
    """Ask, one by one, whether what stands open at the end is closed; what is not stays open. Return False for a step back."""
    put_off: set[str] = set()
    while True:
        facts = talk.case().trouble.aircraft.facts
        waits = [t for t in CLOSED if t in facts and t not in put_off and facts[t].now not in left_as(t)]
        if not waits:
            return True
        thing, fact = waits[0], facts[waits[0]]
        page(talk, CLOSING)
        screens.line(talk.out, f"{thing} - {fact.words or fact.now} (entry {fact.stamp.entry}). Now: {CLOSED[thing]}?")
        answer = ask(talk.out, "y yes, seen to be so; n not yet: it stays open; b back", {"y", "n", "b"})
        if answer == "b":
            return False
        if answer == "y":
            talk.record("state", {"state": {thing: left_as(thing)[0]}})
        put_off.add(thing)


def _looked_round(talk: Talk) -> bool:
    """Ask once, where nobody recorded it, whether the cowling is on and the tools are counted; return False for a step back."""
    unseen = [thing for thing in LOOKED if not talk.case().trouble.aircraft.now(thing)]
    if not unseen:
        return True
    page(talk, CLOSING)
    screens.line(talk.out, f"Nobody has recorded {' and '.join(LOOKED[thing] for thing in unseen)}.")
    answer = ask(talk.out, "y yes, seen to be so; n not looked at: it stays not recorded; b back", {"y", "n", "b"})
    if answer == "y":
        talk.record("state", {"state": {thing: left_as(thing)[0] for thing in unseen}})
    return answer != "b"


def _told(talk: Talk) -> None:
    """Say what is still open, as much of it as the screen holds, and what comes next."""
    case = talk.case()
    found = still_open(case, talk.network)
    page(talk, "THE END OF THE CASE" if not found else "STILL OPEN")
    if case.trouble.aircraft.off_due is not None:
        screens.line(talk.out, f"! {OFF_CHECK}", "bold")
    room = max(3, size()[1] // 2 - 3)
    for item in found[:room]:
        screens.line(talk.out, f"- {_item(talk, item)}")
    if len(found) > room:
        screens.line(talk.out, f"- and {len(found) - room} more: diagnose handover {talk.path}")
    unseen = [LOOKED[thing] for thing in LOOKED if not case.trouble.aircraft.now(thing)]
    if unseen:
        screens.line(talk.out, f"Not recorded: {' and '.join(unseen)}.")
    more = f"{len(found)} open, named above" if found else "Nothing is open in the record"
    screens.line(talk.out, f"{DONE} {more}. The draft of the entry: diagnose record {talk.path}. A licensed person decides.")


def _item(talk: Talk, item: Open) -> str:
    """Return an open thing in words, with its entry and, for what a note closes, how."""
    where = f" (entry {item.entry})" if item.entry else ""
    closes = item.kind in ("refit", "note")
    return f"{item.text}{where}" + (f': when done, diagnose note {talk.path} "what was done" --closes {item.entry}' if closes else "")
