"""The start of an interview: safety, the complaint, and what happened before."""

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


def before(talk: Talk, told_now: bool) -> None:
    """Ask what happened before, once each, where the complaint was told just now or the questions were broken off; b goes back one."""
    case = talk.case()
    asked = {r.symptom for look in case.trouble.looks for r in look.results if r.history}
    every = talk.network.base.history.values()
    todo = sorted((h for h in every if h.id not in asked), key=lambda h: bool(h.part_of))  # the wider questions first
    broken_off = bool(asked) and not any(e.kind in ("advice", "repair", "access") for e in case.events)
    if not todo or not (told_now or broken_off):
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


def complaint(talk: Talk) -> bool:
    """Ask for the complaint in the words one would use to a colleague, kept as said; return whether it had to be asked for."""
    if squawked(talk.network.base, talk.case().trouble):
        return False
    screens.heading(talk.out, "THE COMPLAINT")
    squawks = [s for s in talk.network.base.symptoms.values() if s.kind == "squawk"]
    numbered = {str(number): symptom.id for number, symptom in enumerate(squawks, 1)}
    screens.line(
        talk.out, "Such as: left mag drops 250 and shakes, fine above 2000. l: a list to choose from; m: a mag check in rpm.", "dim"
    )
    while True:
        told = any(look.complaint for look in talk.case().trouble.looks)
        question = "Anything else? Enter ends" if told else "What is wrong? Say it as you would to a colleague"
        text = ask(talk.out, question, None)
        if text.lower() == "l":
            for number, symptom in enumerate(squawks, 1):
                screens.line(talk.out, f"{number:>3}  {symptom.label}")
        elif text:
            _wrong(talk, text, numbered)
        elif told:
            return True
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
