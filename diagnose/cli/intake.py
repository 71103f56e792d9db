"""The start of an interview: safety, the complaint, and what happened before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.case.case import Case
from diagnose.cli.asking import ask_numbers
from diagnose.cli.paging import page
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.talk import Talk, enter, withdraw_last
from diagnose.places import SIDES
from diagnose.plan.rules import bars
from diagnose.plan.warnings import ALWAYS
from diagnose.report import screens
from diagnose.report.said import alarms_of
from diagnose.trouble.complaint import squawked
from diagnose.trouble.results import side_of_place

SAFETY = (
    *ALWAYS,
    "Before anybody touches the propeller: switch OFF, mixture cut off, throttle closed, chocks, arc clear.",
    "If it fires with the switch OFF, or a P-lead is off: tag the propeller and stop by mixture only.",
)

NO_MORE = ("", "u", "c")  # nothing more is known, or can be looked at
WORDS_HELP = (
    "Say what was seen, heard or felt, where and when, in a line. l: a list to choose from. m: a mag check in rpm. b: take the last back. "
    "q: leave, all is kept. Enter: nothing more."
)


def safety(talk: Talk, case: Case) -> None:
    """Say what must hold before anything is touched, and record that it was read."""
    if any(e.kind == "note" and e.data.get("safety") for e in case.events):
        screens.line(talk.out, f"! {SAFETY[0]}", "bold")
        return
    page(talk, "SAFETY FIRST")
    for text in SAFETY:
        screens.line(talk.out, f"! {text}", "bold")
    screens.line(talk.out, "At any question: u unknown, c cannot check here, b back, q leave (all is kept).", "dim")
    ask(talk.out, "Press Enter when this holds", {""})
    talk.record("note", {"safety": "read"})


def danger(talk: Talk) -> None:
    """Say, before anything else is asked, what of the complaint makes the aircraft dangerous as it stands; nothing where nothing does."""
    trouble = talk.case().trouble
    said = alarms_of(talk.network, trouble, bars(talk.network, trouble, {}))[: -len(ALWAYS)]
    if not said:
        return
    page(talk, "DANGER")
    for text in said:
        screens.line(talk.out, f"! {text}", "bold")
    ask(talk.out, "Press Enter when this holds", {""})


def complaint(talk: Talk) -> bool:
    """Ask for the complaint in the words one would use to a colleague, kept as said; return whether it had to be asked for."""
    if squawked(talk.network.base, talk.case().trouble):
        return False
    page(talk, "THE COMPLAINT")
    squawks = [s for s in talk.network.base.symptoms.values() if s.kind == "squawk"]
    numbered = {str(number): symptom.id for number, symptom in enumerate(squawks, 1)}
    screens.line(
        talk.out, "Such as: left mag drops 250 and shakes, fine above 2000. l: a list to choose from; m: a mag check in rpm.", "dim"
    )
    while True:
        told = any(look.complaint for look in talk.case().trouble.looks)
        question = "Anything else? Enter ends" if told else "What is wrong? Say it as you would to a colleague"
        text = ask(talk.out, question, None, WORDS_HELP)
        if text.lower() == "l":
            page(talk, "THE COMPLAINT")
            for number, symptom in enumerate(squawks, 1):
                screens.line(talk.out, f"{number:>3}  {symptom.label}")
        elif text.lower() in NO_MORE:
            if told:
                return True
            screens.line(talk.out, "At least one thing that is wrong, or q to leave.")
        else:
            _wrong(talk, text, numbered)


def _wrong(talk: Talk, text: str, numbered: Mapping[str, str]) -> None:
    """Take one answer to what is wrong: back, a mag check in numbers, the number of a squawk, or words."""
    if text.lower() in ("b", "back"):
        withdraw_last(talk)
    elif text.lower() == "m":
        ask_numbers(talk, "mag-check", "THE COMPLAINT   a mag check in rpm", regime="runup", complaint=True)
    elif text in numbered:
        _squawk(talk, numbered[text])
    elif len(text) == 1:
        screens.line(talk.out, f"'{text}' is no key here, and one letter is no word. {WORDS_HELP}")
    else:
        enter(talk, text, complaint=True)


def _squawk(talk: Talk, ident: str) -> None:
    """Turn one squawk into a result: where, when, how bad."""
    symptom = talk.network.base.symptoms[ident]
    places = [p for kind in symptom.at for p in talk.network.layout.places(kind)]
    place = _place(talk, places) if len(places) > 1 else places[0]
    if not place:
        return
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


def _place(talk: Talk, places: Sequence[str]) -> str:
    """Ask where; a bare cylinder is its plug on the magneto complained of, else it is asked. Empty for a step back."""
    text = ask(talk.out, f"Where ({', '.join(places)}; Enter: not known, b back)", {"", "b", *places, *_bare(talk, places)})
    if text == "b":
        return ""
    layout = talk.network.layout
    if text not in _bare(talk, places):
        return text or "some"
    plugs = [p for p in layout.circuits if p.partition("-")[0] == text and p in places]
    sides = _sides(talk)
    meant = [p for p in plugs if layout.side_of[p] in sides]
    if len(sides) == 1 and len(meant) == 1:
        screens.line(talk.out, f"Taken as {screens.place_words(talk.network, meant[0])}, as the complaint is on that magneto.", "dim")
        return meant[0]
    choices = {p: screens.place_words(talk.network, p) for p in (*plugs, *([text] if text in places else []))}
    answer = ask_choice(talk.out, f"Which of No. {text}?", choices)
    return {"back": "", "unknown": "some", "cannot": "some"}.get(answer, answer)


def _bare(talk: Talk, places: Sequence[str]) -> tuple[str, ...]:
    """Return the cylinders by which a plug may be meant."""
    layout = talk.network.layout
    return layout.places("cylinder") if any(p in layout.side_of for p in places) else ()


def _sides(talk: Talk) -> set[str]:
    """Return the magnetos that something complained of is told of."""
    told = [r for look in talk.case().trouble.looks for r in look.complaint]
    found = {side_of_place(p, talk.network.layout) for r in told for p in r.places}
    return {side for side in found if side in SIDES}
