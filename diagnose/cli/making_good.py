"""The interview where the state of the aircraft is asked, and where something is made good before anything turns the engine."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.assessment.steps import Step
from diagnose.cli.behind import pages
from diagnose.cli.paging import choose, minded
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.talk import Talk, at, withdraw_last
from diagnose.plan.make_good import MakeGood
from diagnose.plan.rules import bars
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glances import glance_of, made_cautions
from diagnose.trouble.aircraft_words import P_LEADS, kept, said

LEADS = {
    "on": "both on: nothing taken off since it last ran",
    "left": "the left one is off",
    "right": "the right one is off",
    "off": "both are off",
}


def ask_state(talk: Talk) -> bool:
    """Ask, before the first step that turns the engine, what nobody has recorded; return whether that step must wait for what was said."""
    missing = talk.case().trouble.aircraft.leads_unasked
    if not missing:
        return False
    screens.heading(talk.out, "BEFORE ANYTHING TURNS THE ENGINE")
    answer = ask_choice(talk.out, "Are the P-leads on the magnetos?", LEADS)
    if answer == "back":
        return True
    if answer in ("unknown", "cannot"):
        told = dict.fromkeys(missing, "unknown")
    else:
        told = {P_LEADS[side]: "off" if answer in (side, "off") else "on" for side in P_LEADS}
    talk.record("state", {"state": {name: now for name, now in told.items() if name in missing} | _the_rest(talk)})
    forbids = bars(talk.network, talk.case().trouble, {})
    return forbids.powered or forbids.by_hand


def _the_rest(talk: Talk) -> dict[str, str]:
    """Ask once for anything else that is off, out or tagged; Enter says that nothing is."""
    while True:
        text = ask(talk.out, "Anything else off, out, open or tagged, such as plugs=out, parts off=cowl flap (Enter: nothing)", None)
        if not text:
            return {"plugs": "in", "leads": "on", "parts off": "none"}
        try:
            return kept(said([text]))
        except BadInput as error:
            screens.line(talk.out, str(error))


def make_good(talk: Talk, assessment: Assessment, item: MakeGood) -> bool:
    """Show one thing to be made good and record that it was; False where something else is to be done first."""
    cautions = made_cautions(talk.network, item)
    check = talk.network.base.checks.get(item.check.partition("@")[0])
    glance = glance_of(talk.network, assessment, Step("make_good", make_good=item), at(talk), talk.noted())
    text = choose(talk, glance, {"d", "o", "b"}, pages(talk, assessment, cautions, check))
    if text == "b":
        return withdraw_last(talk)
    if text == "o":
        return False
    if not minded(talk, cautions):
        return True
    if item.check:
        _off_check(talk, item)
    elif item.closes:
        told = ask(talk.out, "What was done, for the record", None) or "made good"
        talk.record("note", {"note": told, "closes": item.closes})
    else:
        talk.record("state", {"state": dict(item.states)})
    return True


def _off_check(talk: Talk, item: MakeGood) -> None:
    """Ask for the result of the OFF check."""
    check = talk.network.base.checks[item.check.partition("@")[0]]
    first = check.gives[0]
    symptom = talk.network.base.symptoms[first.symptom]
    answer = ask_choice(talk.out, symptom.ask, dict(symptom.grades))
    if answer != "back":
        talk.record("result", {"result": f"{symptom.id}.{first.regime or symptom.default}@{check.at}={answer}", "check": item.check})
