"""The start of an interview: safety, what happened before, and the complaint."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.case.case import Case
from diagnose.cli.asking import ask_numbers
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.talk import Talk, enter, withdraw_last
from diagnose.plan.warnings import ALWAYS
from diagnose.report import screens
from diagnose.rulebase.records import History
from diagnose.trouble.complaint import squawked

SAFETY = (
    *ALWAYS,
    "Before anybody touches the propeller: switch OFF, mixture cut off, throttle closed, chocks, arc clear.",
    "If it fires with the switch OFF, or a P-lead is off: tag the propeller and stop by mixture only.",
)


def safety(talk: Talk, case: Case) -> None:
    """Say what must hold before anything is touched, and record that it was read."""
    if any(e.kind == "note" and e.data.get("safety") for e in case.events):
        screens.line(talk.out, f"! {SAFETY[0]}", "bold")
        return
    screens.heading(talk.out, "SAFETY FIRST")
    for text in SAFETY:
        screens.line(talk.out, f"! {text}", "bold")
    screens.line(talk.out, "At any question: u unknown, c cannot check here, b back, q leave (all is kept).", "dim")
    ask(talk.out, "Press Enter when this holds", {""})
    talk.record("note", {"safety": "read"})


def before(talk: Talk) -> None:
    """Ask what happened before, once each; b goes back one."""
    case = talk.case()
    asked = {r.symptom for look in case.trouble.looks for r in look.results if r.history}
    every = talk.network.base.history.values()
    todo = sorted((h for h in every if h.id not in asked), key=lambda h: bool(h.part_of))  # the wider questions first
    if not todo or squawked(talk.network.base, case.trouble):
        return
    screens.heading(talk.out, f"WHAT HAPPENED BEFORE ({len(todo)} questions)")
    said: dict[str, str] = {}
    while open_ := [h for h in todo if h.id not in said and not _implied(h, said)]:
        history = open_[0]
        answer = ask_choice(talk.out, history.ask, dict(history.answers), extra={"s": "skip the rest"})
        if answer == "back":
            if said:
                said.popitem()
                withdraw_last(talk)
            continue
        if answer == "s":
            return
        talk.record("result", {"result": f"{history.id}@engine={answer}"})
        said[history.id] = answer


def _implied(history: History, said: Mapping[str, str]) -> bool:
    """Return whether the answer follows: nothing was touched of the whole that this is a part of."""
    return history.part_of in said and said[history.part_of] == history.nothing


def complaint(talk: Talk) -> None:
    """Ask for the complaint: words kept as said, then the results it comes to."""
    case = talk.case()
    if squawked(talk.network.base, case.trouble):
        return
    screens.heading(talk.out, "THE COMPLAINT")
    _words(talk, case)
    squawks = [s for s in talk.network.base.symptoms.values() if s.kind == "squawk"]
    for number, symptom in enumerate(squawks, 1):
        screens.line(talk.out, f"{number:>3}  {symptom.label}")
    numbered = {str(number): symptom.id for number, symptom in enumerate(squawks, 1)}
    screens.line(talk.out, "Give numbers, or results such as drop@left=excessive, one a line; m: a mag check in rpm; Enter ends.", "dim")
    while True:
        text = ask(talk.out, "Wrong is", None)
        if text:
            _wrong(talk, text, numbered)
        elif any(look.complaint for look in talk.case().trouble.looks):
            return
        else:
            screens.line(talk.out, "At least one, or q to leave.")


def _wrong(talk: Talk, text: str, numbered: Mapping[str, str]) -> None:
    """Take one answer to what is wrong: back, a mag check in numbers, the number of a squawk, or results."""
    if text.lower() in ("b", "back"):
        withdraw_last(talk)
    elif text.lower() == "m":
        ask_numbers(talk.out, talk.case(), talk.network, "mag-check", talk.person, regime="runup", complaint=True)
    elif text in numbered:
        _squawk(talk, numbered[text])
    else:
        enter(talk, text, complaint=True)


def _words(talk: Talk, case: Case) -> None:
    """Ask for the reporter's own words, once."""
    if not case.opening.get("words") and not any(e.data.get("words") for e in case.events if e.kind == "note"):
        words = ask(talk.out, "In the reporter's own words (Enter to skip)", None)
        if words:
            talk.record("note", {"words": words})


def _squawk(talk: Talk, ident: str) -> None:
    """Turn one squawk into a result: where, when, how bad."""
    symptom = talk.network.base.symptoms[ident]
    places = [p for kind in symptom.at for p in talk.network.layout.places(kind)]
    place = places[0]
    if len(places) > 1:
        text = ask(talk.out, f"Where ({', '.join(places)}; Enter: not known, b back)", {"", "b", *places})
        if text == "b":
            return
        place = text or "some"
    regime = symptom.default
    if len(symptom.regimes) > 1:
        text = ask(talk.out, f"When ({', '.join(symptom.regimes)}; Enter: {regime}, b back)", {"", "b", "any", *symptom.regimes})
        if text == "b":
            return
        regime = text or regime
    grades = dict(list(symptom.grades.items())[1:])
    grade = next(iter(grades))
    if len(grades) > 1:
        answer = ask_choice(talk.out, symptom.ask, grades)
        if answer in ("back", "unknown", "cannot"):
            return
        grade = answer
    enter(talk, f"{ident}.{regime}@{place}={grade}", complaint=True)
