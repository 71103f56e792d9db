"""A check in a drill: chosen by key or in words, its cautions named first, its result foreseen, then read in numbers and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.assessment.assess import Assessment
from diagnose.cli.drills.before import Cautions, Foresight
from diagnose.cli.drills.board import SHORT
from diagnose.cli.drills.session import Session, state_line, walk, words_of
from diagnose.places import SIDES
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.rules import forbidden
from diagnose.plan.warnings import before_turning
from diagnose.report import screens
from diagnose.report.said import alarms
from diagnose.rulebase.records import Check, Remedy
from diagnose.training.judged import came_true
from diagnose.training.offered import found_checks, offered_checks
from diagnose.training.still_in import wrong
from diagnose.trouble.aircraft import turning


def by_key(s: Session, a: Assessment, check: Check) -> bool:
    """Do the check of a key: where it can be done at several places, one is asked for. Return False for a step back."""
    located = {c.id: c for c in offered_checks(s.network, s.work.task) if c.check.id == check.id}
    if len(located) == 1:
        return do(s, a, next(iter(located.values())))
    return _one_of(s, a, f"{check.label}: where?", {name: screens.place_words(s.network, c.place) for name, c in located.items()}, located)


def _one_of(s: Session, a: Assessment, title: str, rows: Mapping[str, str], located: Mapping[str, LocatedCheck]) -> bool:
    """Have one of several located checks chosen and do it; a step back from it asks again. Return False for a step back from here."""
    while True:
        chosen = s.pick([title, ""], rows)
        if not chosen:
            return False
        if do(s, a, located[chosen]):
            return True


def by_words(s: Session, a: Assessment) -> None:
    """Find a check by the trainee's own words and do the one he means."""
    located = {c.id: c for c in offered_checks(s.network, s.work.task)}
    names = {name: words_of(s.network, c.check.label, c.place) for name, c in located.items()}
    said = ""
    while True:
        told = ["What do you want to look at, and where? Say it as you would in the hangar."]
        text = s.panel(told, "In your words (Enter: back)", said=said)
        if text.lower() in ("", "b"):
            return
        found = found_checks(s.network, text, names, 9)
        said = "" if found else f"No check is like '{text[:40]}'. Say it otherwise, or go back and turn the pages."
        if found and _of_words(s, a, text, {name: names[name] for name in found}, located):
            return


def _of_words(s: Session, a: Assessment, text: str, found: Mapping[str, str], located: Mapping[str, LocatedCheck]) -> bool:
    """Do one of the checks that words may mean, the place asked for where they name none; False for a step back."""
    title = f'"{text[:70]}" - which of these?'
    if _says_where(text):
        return _one_of(s, a, title, found, located)
    checks = {located[name].check.id: located[name].check for name in found}
    while True:
        chosen = s.pick([title, ""], {name: check.label for name, check in checks.items()})
        if not chosen:
            return False
        if by_key(s, a, checks[chosen]):
            return True


def _says_where(text: str) -> bool:
    """Return whether words name a cylinder or a side, so that the place need not be asked for."""
    words = text.lower().split()
    return any(c.isdigit() for c in text) or any(side in words for side in SIDES)


def do(s: Session, a: Assessment, located: LocatedCheck) -> bool:
    """Do a check, if it is safe: cautions, what is foreseen, result. Return False for a step back, before anything is done."""
    while _page(s, located) != "b":
        if not safe(s, a, located.check, located.place):
            return True
        cautions, foresight = Cautions(s, located.check), Foresight(s, located)
        if walk([*cautions.questions, *foresight.questions]):
            _done(s, located, {"guess": foresight.guess, "sure": foresight.sure, **cautions.heeded})
            return True
    return False


def _done(s: Session, located: LocatedCheck, move: Mapping[str, Any]) -> None:
    """Do a check on the engine and show its result."""
    words = words_of(s.network, located.check.label, located.place)
    read, found = s.work.check(located, move)
    s.noted = f"Done: {words}."
    shown = [words, "", *read, "", *in_words(s, found), *_met(str(move["guess"]), found)]
    s.show([text for n, text in enumerate(shown) if text or shown[n - 1]])


def _page(s: Session, located: LocatedCheck) -> str:
    """Show what the check is and costs."""
    check, work = located.check, s.work
    needs = ", ".join(SHORT.get(n, n) for n in check.access) or "nothing"
    facts = f"{check.minutes.value:.0f} min, and {work.minutes_of(check) - check.minutes.value:.0f} to open what it needs: {needs}."
    told = [
        words_of(s.network, check.label, located.place),
        "",
        facts,
        *state_line(s),
        f"People: {check.people}. Tools: {', '.join(check.tools) or 'none'}.",
        "",
    ]
    told += [check.how, *([f"Afterwards: {check.refit}"] if check.refit else [])]
    return s.panel(told, "Enter: go on, b back", {"", "b"})


def safe(s: Session, a: Assessment, entry: Check | Remedy, place: str) -> bool:
    """Return whether a step may be done as things stand; one that may not is told, counted and not done."""
    aircraft, words, step = s.work.case.trouble.aircraft, words_of(s.network, entry.label, place), f"{entry.id}@{place}"
    if forbidden(s.network.base, entry, a.bars):
        stopped(s, words, step, list(alarms(s.network, a)))
        return False
    why = before_turning(turning(s.network.base, entry), aircraft, entry.access)
    if why:
        held(s, words, step, why)
    return not why


def held(s: Session, words: str, step: str, why: Sequence[str]) -> None:
    """Stop a step that would turn the engine before all is back; with no P-lead off it is asked first, and taken back it counts nothing."""
    aircraft = s.work.case.trouble.aircraft
    if aircraft.leads_not_on or aircraft.left:
        stopped(s, words, step, why)
        return
    told = [f"!! NOT YET: {words}", "", *(f"! {text}" for text in why), "", "g puts it right. Taken back now, nothing is counted."]
    if s.panel(told, "Enter: back; 1 run it all the same", {"", "b", "1"}) == "1":
        stopped(s, words, step, why, open_only=True)
    else:
        s.noted = f"Taken back: {words}. g puts right what is out or off."


def stopped(s: Session, words: str, step: str, why: Sequence[str], open_only: bool = False) -> None:
    """Tell and count a step that would have hurt somebody, or with `open_only` one tried with plugs or parts out; nothing of it is done."""
    s.move("unsafe", step=step, why=list(why), open=open_only)
    counted = "a run tried with something out or off" if open_only else "an unsafe step"
    told = [f"!! STOP. Not done: {words}", "", *(f"! {text}" for text in why), ""]
    s.show([*told, f"This counts as {counted}. g puts right what is off or open."])
    s.noted = f"Stopped, and counted as {counted}: {words}"


def in_words(s: Session, found: Sequence[str]) -> list[str]:
    """Return results as sentences: what is wrong, what is left open, and how much was normal or cannot be told."""
    bad = [screens.result_words(s.network, text) for text in found if wrong(text)]
    open_ = [screens.result_words(s.network, text) for text in found if "|" in text and not wrong(text)]
    blank = sum(text.endswith("=unknown") for text in found)
    normal = len(found) - len(bad) - len(open_) - blank
    told = [f"WRONG   {text}" for text in bad]
    told += [f"OPEN    {text}" for text in open_[:3]]
    told += (
        [f"NORMAL  {'all the rest' if bad or open_ else 'all of it'}, {normal} thing{'s' if normal != 1 else ''} looked at"]
        if normal
        else []
    )
    return told + ([f"NOT KNOWN  {blank} thing{'s' if blank != 1 else ''} this does not tell here"] if blank else [])


def _met(guess: str, found: list[str]) -> list[str]:
    """Return what to say of the guess: that it came, that it did not, or that this could not tell."""
    if not guess:
        return []
    told = {
        True: "As you foresaw.",
        False: "Not what you foresaw: what does that rule out, and what does it bring in?",
        None: "What you foresaw cannot be told from this here: it counts neither as right nor as wrong.",
    }
    return ["", told[came_true(guess, found)]]
