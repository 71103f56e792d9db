"""A question asked again after its answer was taken back, and those after it whose answers went with it."""

from __future__ import annotations

from diagnose.case.kinds import CONFIRMING
from diagnose.cli.checking import ask_symptom, opens
from diagnose.cli.history import ask_one
from diagnose.cli.paging import page
from diagnose.cli.talk import Talk, leave_refit, step_back
from diagnose.report import screens

LEAVE = {"e": "leave it unanswered"}


def ask_again(talk: Talk) -> bool:
    """Ask the next question whose answer was taken back; return whether there was one."""
    while talk.again:
        name, check = talk.again[-1]
        ident, _, place = name.partition("@")
        if ident in talk.network.base.history:
            page(talk, "WHAT HAPPENED BEFORE   asked again")
            answer = ask_one(talk, talk.network.base.history[ident], place, LEAVE)
        elif name in talk.network.symptoms:
            page(talk, f"RESULT   {_words(talk, check)}, asked again")
            opens(talk, check)
            answer = ask_symptom(talk, name, check, LEAVE)
            talk.opens = {}
        else:  # told of several places at once: there is no one question to it
            answer = "e"
        if answer == "back":
            step_back(talk)
        elif answer == "e":
            talk.again.clear()
        else:
            talk.again.pop()
            leave_refit(talk, check)
        return True
    return False


def _words(talk: Talk, check: str) -> str:
    name, _, place = check.partition("@")
    if name == CONFIRMING or name not in talk.network.base.checks:
        return "CONFIRMING RUN" if name == CONFIRMING else "what was told"
    where = "" if place in ("", "engine") else f", {screens.place_words(talk.network, place)}"
    return f"{talk.network.base.checks[name].label}{where}"
