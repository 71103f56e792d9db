"""A check in a drill: chosen by key or in words, its cautions named first, its result foreseen, then read in numbers and words."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from diagnose.assessment.assess import Assessment
from diagnose.cli.drills.board import SHORT
from diagnose.cli.drills.session import Session, state_line, words_of
from diagnose.places import SIDES
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.rules import forbidden
from diagnose.plan.warnings import before_turning, check_warnings
from diagnose.report import screens
from diagnose.report.brief import short_caution
from diagnose.report.said import alarms
from diagnose.rulebase.records import Check, Remedy
from diagnose.training.judged import came_true
from diagnose.training.offered import caution_ids, every_check, found_checks, to_name
from diagnose.training.still_in import wrong
from diagnose.trouble.aircraft import turning

MOST_FORESEEN = 12  # kinds of result a trainee chooses from


def by_key(s: Session, a: Assessment, check: Check) -> None:
    """Do the check of a key: where it can be done at several places, one is asked for."""
    located = [c for c in every_check(s.network) if c.check.id == check.id]
    rows = {c.id: screens.place_words(s.network, c.place) for c in located}
    chosen = located[0].id if len(located) == 1 else s.pick([f"{check.label}: where?", ""], rows)
    if chosen:
        do(s, a, next(c for c in located if c.id == chosen))


def by_words(s: Session, a: Assessment) -> None:
    """Find a check by the trainee's own words and do the one he means."""
    text = s.panel(["What do you want to look at, and where? Say it as you would in the hangar."], "In your words (Enter: back)")
    if text in ("", "b"):
        return
    located = {c.id: c for c in every_check(s.network)}
    names = {name: words_of(s.network, c.check.label, c.place) for name, c in located.items()}
    found = found_checks(s.network, text, names, 9)
    if not found:
        s.noted = f"No check is like '{text[:50]}'. Say it otherwise, or turn the pages with n."
        return
    if not _says_where(text):
        checks = {located[name].check.id: located[name].check for name in found}
        chosen = s.pick([f'"{text[:70]}" - which of these?', ""], {name: check.label for name, check in checks.items()})
        if chosen:
            by_key(s, a, checks[chosen])
        return
    chosen = s.pick([f'"{text[:70]}" - which of these?', ""], {name: names[name] for name in found})
    if chosen:
        do(s, a, located[chosen])


def _says_where(text: str) -> bool:
    """Return whether words name a cylinder or a side, so that the place need not be asked for."""
    words = text.lower().split()
    return any(c.isdigit() for c in text) or any(side in words for side in SIDES)


def do(s: Session, a: Assessment, located: LocatedCheck) -> None:
    """Do a check, if it is safe: cautions, what is foreseen, result."""
    if _page(s, located) == "b" or not safe(s, a, located.check, located.place):
        return
    heeded = name_cautions(s, located.check)
    if heeded is None:
        return
    guess, sure = _foreseen(s, located)
    move = {"guess": guess, "sure": sure, **heeded}
    read, found = s.work.check(located, move)
    s.noted = f"Done: {words_of(s.network, located.check.label, located.place)}."
    shown = [words_of(s.network, located.check.label, located.place), "", *read, "", *in_words(s, found), *_met(s, guess, found)]
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


def name_cautions(s: Session, entry: Check | Remedy) -> dict[str, list[str]] | None:
    """Have the cautions of a step named before they are shown in full; None for a step back.

    Returns those `named`, those `missed`, and the `extra` ones, which are not of this step.
    """
    base = s.network.base
    wanted = caution_ids(base, entry)
    known = {str(c) for e in s.work.moves for c in e.data.get("named", ())}
    mixed = to_name(base, wanted, known, s.work.task.exercise.seed + len(s.work.moves))
    chosen = _chosen_cautions(s, mixed) if mixed else []
    if chosen is None:
        return None
    missed = [c for c in mixed if c in wanted and c not in chosen]
    extra = [c for c in chosen if c not in wanted]
    warned = check_warnings(base, entry) if isinstance(entry, Check) else ()
    _in_full(s, wanted, known, missed, warned)
    if extra:
        s.show(["NOT OF THIS STEP, and named:", "", *(base.cautions[c].label for c in extra)], "Enter: on")
    return {"named": [c for c in mixed if c in wanted and c in chosen], "missed": missed, "extra": extra}


def _chosen_cautions(s: Session, mixed: Sequence[str]) -> list[str] | None:
    rows = {c: s.network.base.cautions[c].label for c in mixed}
    title = ["BEFORE THIS STEP: which of these does it want? One that it wants and you leave out is counted.", ""]
    return s.picks(title, rows, "Numbers, such as 1 3; 0 none (Enter: back, not done)")


def _in_full(s: Session, wanted: Sequence[str], known: Collection[str], missed: Sequence[str], warned: Sequence[str]) -> None:
    """Show all cautions of a step: new ones in full, the missed ones marked, those named at a step before in short."""
    texts = s.network.base.cautions
    told = [f"!! left out: {texts[c].label}" for c in missed]
    told += [f"! {texts[c].label}" for c in wanted if c not in missed and c not in known]
    told += [f"! {text}" for text in warned]
    told += [f"! as before: {short_caution(texts[c].label)}" for c in wanted if c in known]
    if told:
        s.show(["CAUTIONS OF THIS STEP", "", *told], "Enter: all of it is seen to")


def _foreseen(s: Session, located: LocatedCheck) -> tuple[str, float | None]:
    """Ask what the check will show, and how sure the trainee is; empty where he does not say."""
    rows = kinds(s, located.nodes)
    title = ["BEFORE YOU LOOK: what is the first thing this will show to be wrong?", "", " 0  nothing: all of it normal"]
    text = s.panel(
        [*title, *(f"{n:>2}  {words}" for n, words in enumerate(rows.values(), 1))],
        "Number (Enter: I cannot say)",
        {"", "0", *(str(n) for n in range(1, len(rows) + 1))},
    )
    if text == "":
        return "", None
    guess = "normal" if text == "0" else list(rows)[int(text) - 1]
    said = "all normal" if text == "0" else rows[guess]
    return guess, s.percent([f"You expect: {said}."], "How sure are you?")


def kinds(s: Session, nodes: Sequence[str]) -> Mapping[str, str]:
    """Return what a check looks at by symptom and condition, in words, the most telling first."""
    rows: dict[str, str] = {}
    for name in nodes:
        located = s.network.symptoms[name]
        when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
        rows.setdefault(name.partition("@")[0], f"{located.symptom.label}{when}")
    return dict(list(rows.items())[:MOST_FORESEEN])


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


def _met(s: Session, guess: str, found: list[str]) -> list[str]:
    if not guess:
        return []
    return [
        "",
        "As you foresaw." if came_true(guess, found) else "Not what you foresaw: what does that rule out, and what does it bring in?",
    ]
