"""`chase`: the interview. Every answer is on disk before the next question appears."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Mapping

from diagnose import loaded
from diagnose.assessment.advice import advice
from diagnose.assessment.assess import Assessment, repair_warning
from diagnose.assessment.explain import accounts, why_check
from diagnose.assessment.steps import Step, next_step, remedy_order, steps
from diagnose.case.case import Case
from diagnose.case.kinds import CONFIRMING
from diagnose.case.standing import advice_due, open_items
from diagnose.cli.asking import ask_numbers
from diagnose.cli.calculations.questions import calculation_for
from diagnose.cli.intake import before, complaint, safety
from diagnose.cli.making_good import ask_state, make_good
from diagnose.cli.opened import opened
from diagnose.cli.prompt import Leave, ask, ask_choice
from diagnose.cli.talk import Talk, enter, leave_refit, withdraw_last
from diagnose.plan.access import after
from diagnose.plan.plan import Valued
from diagnose.plan.rules import turns_engine
from diagnose.plan.warnings import OFF_CHECK
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.review.shelf import earlier_lines
from diagnose.trouble.complaint import confirming_rest
from diagnose.trouble.exchanges import read_exchange
from diagnose.trouble.looks import Repair

# The first asks whether there is anything to tell; skipped, the others are not asked.
REPAIR_ASKED = (
    ("found", "As found"),
    ("left", "As left"),
    ("off", "Part off: number, serial, condition, where it is now"),
    ("on", "Part on: number, serial, its paper"),
    ("procedure", "Done by: document, section, revision"),
)


def chase(args: argparse.Namespace) -> int:
    """Lead a person from question to question; 0 also when they leave before the end."""
    case, network = opened(args)
    talk = Talk(case.path, args.person, network, screens.console())
    if not sys.stdin.isatty() and not os.environ.get("DIAGNOSE_ASK"):
        raise BadInput("chase asks questions and needs a terminal; use enter, next and remedy in scripts")
    try:
        safety(talk, case)
        before(talk, told_now=complaint(talk))
        while _safely(talk):
            pass
    except Leave:
        screens.line(talk.out, f"Left. Everything answered is in {case.path}; go on with: diagnose chase {case.path}")
    return 0


def _safely(talk: Talk) -> bool:
    """Take one step; where an answer excludes the earlier ones, say so and offer to take it back."""
    try:
        return _step(talk)
    except loaded.CannotAllBeTrue as error:
        screens.line(talk.out, str(error), "bold")
        ask(talk.out, "b take back the last answer, q leave", {"b"})
        return withdraw_last(talk)


def _step(talk: Talk) -> bool:
    """Show where things stand and take one step; return whether there is another."""
    case = talk.case()
    assessment = loaded.assessed(talk.network, case.trouble)
    if advice_due(case.events):
        talk.record("advice", advice(assessment, talk.network.base))
    screens.show_ranking(talk.out, talk.network, assessment, count=5)
    step = next_step(talk.network, assessment)
    if step is not None and step.make_good is not None and make_good(talk, assessment, step.make_good):
        return True
    step = next((s for s in steps(talk.network, assessment) if s.make_good is None), None)
    if step is not None and step.look_at:
        return _confirming_run(talk, assessment, step)
    if assessment.finding.state == "confirmed":
        return _end(talk, case, assessment)
    if step is not None and step.kind == "finish_run":
        return _confirming_run(talk, assessment, step)
    if assessment.plan.paying:
        return _do_check(talk, assessment, assessment.plan.paying[0])
    return _repair(talk, assessment)


def _end(talk: Talk, case: Case, assessment: Assessment) -> bool:
    """Ask for the rest of the confirming run; what is left out stays an open item. Return whether to go on."""
    rest = confirming_rest(talk.network.base, case.trouble.looks)
    if rest and not assessment.bars.powered and not _left_open(case):
        screens.line(talk.out, f"The complaint is gone. A confirming run is all of it; still to do: {'; '.join(rest)}.")
        text = ask(talk.out, "m mag check in rpm, s static rpm and OFF check, b back, Enter: leave it as an open item", {"", "m", "s", "b"})
        if text == "b":
            return withdraw_last(talk)
        if text:
            ask_numbers(talk.out, case, talk.network, {"m": "mag-check", "s": "static"}[text], talk.person, CONFIRMING, regime="runup")
            return True
        talk.record("note", {"note": f"Confirming run, still to do: {'; '.join(rest)}", "open": True, "confirming": True})
    if case.trouble.aircraft.off_due is not None:
        screens.line(talk.out, f"! {OFF_CHECK}", "bold")
    for seq, text in open_items(talk.case().events).items():
        screens.line(talk.out, f'Open: {text} (when done: diagnose note {talk.path} "what was done" --closes {seq})')
    screens.line(talk.out, "The complaint is gone under its own conditions. Write the record; a licensed person decides.")
    return False


def _left_open(case: Case) -> bool:
    last = max((e.seq for e in case.events if e.kind in ("repair", "result")), default=0)
    return any(e.kind == "note" and e.data.get("confirming") and e.seq > last for e in case.events)


def _confirming_run(talk: Talk, assessment: Assessment, step: Step) -> bool:
    screens.show_run(talk.out, talk.network, assessment, step.look_at, step.rest)
    if ask_state(talk):
        return True  # what was said may bar the run
    for name in step.look_at:
        answer = _ask_symptom(talk, name, check=CONFIRMING)
        if answer == "back":
            return withdraw_last(talk)
    return True


def _ask_symptom(talk: Talk, name: str, check: str, extra: Mapping[str, str] | None = None) -> str:
    located = talk.network.symptoms[name]
    symptom = located.symptom
    where = screens.place_words(talk.network, located.place)
    when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
    answer = ask_choice(talk.out, f"{symptom.ask} [{where}{when}]", dict(symptom.grades), extra)
    if answer not in ("back", *(extra or {})):
        talk.record("result", {"result": f"{name}={answer}", "check": check})
    return answer


def _do_check(talk: Talk, assessment: Assessment, valued: Valued) -> bool:
    paying = assessment.plan.paying
    others = [v for v in paying if v is not valued]
    screens.show_check(talk.out, talk.network, assessment, valued, others[0] if others else None)
    numbers = calculation_for(tuple(talk.network.symptoms[n].symptom.role for n in valued.located.nodes))
    more = ", m measured numbers" if numbers else ""
    while True:
        text = ask(
            talk.out,
            f"d do it{more}, w why, o other, n not here, f repair, r result, b back, q leave",
            set("dwonfrb") | ({"m"} if numbers else set()),
        )
        if text == "w":
            screens.line(talk.out, why_check(valued, others[0] if others else None))
            top = [r.id for r in assessment.finding.causes[:2]]
            screens.show_accounts(talk.out, talk.network, accounts(talk.network, assessment.trouble.looks, top))
        elif text == "o":
            return _other(talk, assessment)
        elif text == "n":
            talk.record("decline", {"check": valued.located.id, "reason": "cannot be done here"})
            return True
        elif text == "f":
            return _repair(talk, assessment)
        elif text == "r":
            enter(talk, ask(talk.out, "Result, in your words or as SYMPTOM@PLACE=GRADE", None))
            return True
        elif text == "b":
            return withdraw_last(talk)
        elif _turns(talk, valued) and ask_state(talk):
            return True  # what was said of the aircraft may bar the step
        elif text == "m":
            return _numbers_of(talk, valued, numbers)
        else:
            return _results_of(talk, valued)


def _turns(talk: Talk, valued: Valued) -> bool:
    return turns_engine(talk.network.base, valued.located.check)


def _numbers_of(talk: Talk, valued: Valued, calculation: str) -> bool:
    """Take a check in numbers: its own place and regime are filled in."""
    located = valued.located
    gained = after(talk.network.base, located.check.access, talk.case().trouble.access)
    regime = talk.network.symptoms[located.nodes[0]].regime
    if ask_numbers(talk.out, talk.case(), talk.network, calculation, talk.person, located.id, located.place, regime):
        talk.record("access", {"now": sorted(gained), "check": located.id})
        leave_refit(talk, located.id)
    return True


def _results_of(talk: Talk, valued: Valued) -> bool:
    """Ask for the results of a check, one by one; at any of them the rest can be called normal or left."""
    check = valued.located.check
    gained = after(talk.network.base, check.access, talk.case().trouble.access)
    talk.record("access", {"now": sorted(gained), "check": valued.located.id})
    nodes = valued.located.nodes
    for position, name in enumerate(nodes):
        left = len(nodes) - position
        rest = {"a": f"this and the rest normal ({left})", "e": "enough"} if left > 1 else {}
        answer = _ask_symptom(talk, name, valued.located.id, rest)
        if answer == "back":
            return withdraw_last(talk)
        if answer != "cannot":
            leave_refit(talk, valued.located.id)
        if answer == "a":
            for other in nodes[position:]:
                normal = talk.network.symptoms[other].symptom.names[0]
                talk.record("result", {"result": f"{other}={normal}", "check": valued.located.id})
        if answer in ("a", "e"):
            break
    return _exchanged(talk, valued)


def _exchanged(talk: Talk, valued: Valued) -> bool:
    """After a check that exchanges a part: ask where the part stands now; what follows is about that place."""
    check, here = valued.located.check, valued.located.place
    if not check.part:
        return True
    question = f"Where does the {check.part} of {here} stand now, for example {_example(talk, here)} (Enter: back in its own place)"
    while text := ask(talk.out, question, None):
        try:
            done = read_exchange(f"{check.id}@{here},{text}", talk.network.base, talk.network.layout)
        except BadInput as error:
            screens.line(talk.out, str(error))
            continue
        talk.record("exchange", {"exchange": str(done)})
        break
    return True


def _example(talk: Talk, here: str) -> str:
    layout = talk.network.layout
    return next(iter(layout.related(here, "next_circuit")), "") or next(p for p in layout.places("cylinder") if p != here)


def _other(talk: Talk, assessment: Assessment) -> bool:
    """Let the person choose another check; the reason is kept."""
    shown = list(assessment.plan.checks[:9])
    for number, valued in enumerate(shown, 1):
        note = "" if valued.pays else " - does not pay"
        screens.line(
            talk.out, f"{number}  {screens.check_words(talk.network, valued)}: {valued.information:.2f} bit, {valued.minutes:.0f} min{note}"
        )
    text = ask(talk.out, "Number (Enter: back to the offered one)", {"", *(str(n) for n in range(1, len(shown) + 1))})
    if not text:
        return True
    chosen = shown[int(text) - 1]
    reason = ask(talk.out, "Why this one (kept in the record; Enter to skip)", None)
    offered = assessment.plan.checks[0].located.id
    talk.record("note", {"chosen": chosen.located.id, "offered": offered, "reason": reason})
    screens.show_check(talk.out, talk.network, assessment, chosen, None)
    if _turns(talk, chosen) and ask_state(talk):
        return True
    return _results_of(talk, chosen)


def _repair(talk: Talk, assessment: Assessment) -> bool:
    screens.show_repair(talk.out, talk.network, assessment)
    order = remedy_order(talk.network, assessment)
    if not order:
        raise Leave
    suspects = {c.partition("@")[0] for key in order for c in assessment.groups[key].causes}
    for told in earlier_lines(talk.case(), talk.network, suspects):
        screens.line(talk.out, f"Repaired before on this aircraft: {told}. The fault may be back, or was never that.", "bold")
    allowed = {str(n) for n in range(1, len(order) + 1)} | {"o", "b", "r"}
    text = ask(talk.out, "Number of the remedy done, o a check, r result, b back, q leave", allowed)
    if text == "o":
        return _other(talk, assessment)
    if text == "b":
        return withdraw_last(talk)
    if text == "r":
        enter(talk, ask(talk.out, "Result, in your words or as SYMPTOM@PLACE=GRADE", None))
        return True
    group = assessment.groups[order[int(text) - 1]]
    warning = repair_warning(talk.network, Repair(group.remedy.id, group.place), assessment)
    reason = ""
    if warning:
        screens.line(talk.out, f"! {warning}", "bold")
        reason = ask(talk.out, "Reason for going on (Enter: go back)", None)
        if not reason:
            return True
    talk.record("repair", {"remedy": group.key, "reason": reason, "warning": warning, **_told_of_repair(talk)})
    return True


def _told_of_repair(talk: Talk) -> dict[str, object]:
    """Ask what the record should hold of a repair; nothing where the first question is skipped."""
    told: dict[str, object] = {}
    for key, words in REPAIR_ASKED:
        text = ask(talk.out, f"{words} (Enter: {'skip' if told else 'skip all of this'})", None)
        if text:
            told[key] = [text] if key in ("off", "on") else text
        elif not told:
            break
    return told
