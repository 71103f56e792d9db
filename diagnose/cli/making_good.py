"""The interview where the state of the aircraft is asked, and where something is made good before anything turns the engine."""

from __future__ import annotations

from collections.abc import Collection

from diagnose.assessment.assess import Assessment
from diagnose.assessment.steps import Step
from diagnose.cli.behind import pages
from diagnose.cli.paging import choose, minded, page
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.talk import Talk, at, step_back
from diagnose.plan.make_good import MakeGood
from diagnose.plan.rules import POWERED, bars
from diagnose.plan.to_run import otherwise
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glances import glance_of, made_cautions
from diagnose.trouble.aircraft_words import P_LEADS, kept, said

BEFORE = "BEFORE ANYTHING TURNS THE ENGINE"
LEADS = {
    "on": "both on: nothing taken off since it last ran",
    "left": "the left one is off",
    "right": "the right one is off",
    "off": "both are off",
}


def may_turn(talk: Talk, turns: Collection[str], access: Collection[str] = ()) -> bool:
    """Ask, before a step that turns the engine so, what nobody has recorded and whether what is off is back; return whether it may go on.

    `access`: what the step needs open. Nothing that is off, out, grounded or tagged is taken as put back unless somebody says so here.
    """
    if not turns:
        return True
    if talk.case().trouble.aircraft.leads_unasked:
        if not _leads_told(talk):
            return False
        forbids = bars(talk.network, talk.case().trouble, {})
        if forbids.powered or forbids.by_hand:
            return False
    return not POWERED & set(turns) or _back(talk, turns, access)


def _leads_told(talk: Talk) -> bool:
    """Ask for the P-leads, and for whatever else is off; return whether it was answered."""
    missing = talk.case().trouble.aircraft.leads_unasked
    page(talk, BEFORE)
    answer = ask_choice(talk.out, "Are the P-leads on the magnetos?", LEADS)
    if answer == "back":
        return False
    if answer in ("unknown", "cannot"):
        told = dict.fromkeys(missing, "unknown")
    else:
        told = {P_LEADS[side]: "off" if answer in (side, "off") else "on" for side in P_LEADS}
    talk.record("state", {"state": {name: now for name, now in told.items() if name in missing} | _the_rest(talk)})
    return True


def _the_rest(talk: Talk) -> dict[str, str]:
    """Ask once for anything else that is off, out or tagged; Enter says that nothing further is: what is recorded as off stays so."""
    while True:
        text = ask(
            talk.out, "Anything else off, out, open or tagged, such as: plug 3-bottom=out, parts off=cowl flap (Enter: nothing else)", None
        )
        if not text:
            facts = talk.case().trouble.aircraft.facts
            each = {"plug": "plugs", "lead": "leads"}
            told = {each.get(thing.partition(" ")[0], thing) for thing in facts}
            return {thing: now for thing, now in (("plugs", "in"), ("leads", "on"), ("parts off", "none")) if thing not in told}
        try:
            return kept(said([text], talk.network.layout))
        except BadInput as error:
            screens.line(talk.out, str(error))


def _back(talk: Talk, turns: Collection[str], access: Collection[str], items: bool = True) -> bool:
    """Ask, one by one, whether what is off (and, with `items`, what a step left to be made good) is put back; return whether all of it is.

    Each yes is recorded.
    """
    while True:
        aircraft = talk.case().trouble.aircraft
        if items and aircraft.left:
            item = aircraft.left[0]
            words, kind, done = f"{item.text} Done?", "note", {"note": "made good", "closes": item.entry}
        elif found := otherwise(aircraft, turns, access):
            thing = found[0]
            words = f"{thing.thing} - {thing.fact.words or thing.fact.now} (entry {thing.fact.stamp.entry}). Now: {thing.do}?"
            kind, done = "state", {"state": {thing.thing: thing.must_be}}
        else:
            return True
        page(talk, BEFORE)
        screens.line(talk.out, words)
        if ask(talk.out, "y yes, seen to be so; n not yet: the engine is not turned; b back", {"y", "n", "b"}) != "y":
            talk.said = f"The engine is not turned before this: {words.rpartition('Now: ')[2].rstrip('?')}"
            return False
        talk.record(kind, done)


def make_good(talk: Talk, assessment: Assessment, item: MakeGood) -> bool:
    """Show one thing to be made good and record that it was; False where something else is to be done first."""
    cautions = made_cautions(talk.network, item)
    check = talk.network.base.checks.get(item.check.partition("@")[0])
    while True:
        glance = glance_of(talk.network, assessment, Step("make_good", make_good=item), at(talk), talk.noted())
        text = choose(talk, glance, {"d", "o", "b"}, pages(talk, assessment, cautions, check))
        if text == "b":
            return step_back(talk)
        if text == "o":
            return False
        if minded(talk, cautions) and _made(talk, item):
            return True


def _made(talk: Talk, item: MakeGood) -> bool:
    """Record one thing as made good; return whether something was recorded."""
    if item.check:
        return _off_check(talk, item)
    page(talk, f"MADE GOOD   {item.label}")
    if not _seen_done(talk, item):
        return False
    if item.closes:
        told = ask(talk.out, "What was done, for the record (b back)", None) or "made good"
        if told.lower() == "b":
            return False
        talk.record("note", {"note": told, "closes": item.closes})
    else:
        talk.record("state", {"state": dict(item.states)})
    return True


def _seen_done(talk: Talk, item: MakeGood) -> bool:
    """Return whether somebody says that it is done: no words about it are ever taken for that."""
    left = next((i.text for i in talk.case().trouble.aircraft.left if i.entry == item.closes), "")
    now = "; ".join(f"{thing} {state}" for thing, state in item.states.items())
    for line in filter(None, (left, f"It will stand in the record as: {now}." if now else "")):
        screens.line(talk.out, line)
    if ask(talk.out, "All of it done, and seen to be so? y yes; n not yet: nothing is recorded; b back", {"y", "n", "b"}) == "y":
        return True
    talk.said = "Nothing is recorded: it stays as it was. Broken there? o, then t to tell it."
    return False


def _off_check(talk: Talk, item: MakeGood) -> bool:
    """Ask for the result of the OFF check, which runs the engine; return whether one was given."""
    check = talk.network.base.checks[item.check.partition("@")[0]]
    if talk.case().trouble.aircraft.leads_unasked and not _leads_told(talk):
        return False
    if talk.case().trouble.aircraft.leads_not_on:
        return True  # what was said comes first
    if not _back(talk, POWERED, check.access, items=False):  # what was left open may wait for this very check
        return False
    first = check.gives[0]
    symptom = talk.network.base.symptoms[first.symptom]
    page(talk, f"RESULT   {check.label}")
    answer = ask_choice(talk.out, symptom.ask, dict(symptom.grades))
    if answer == "back":
        return False
    talk.record("result", {"result": f"{symptom.id}.{first.regime or symptom.default}@{check.at}={answer}", "check": item.check})
    return True
