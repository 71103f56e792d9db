"""`chase`: the interview. Every answer is on disk before the next question appears."""

from __future__ import annotations

import argparse
import os
import sys

from diagnose import loaded
from diagnose.assessment.advice import advice
from diagnose.assessment.assess import Assessment
from diagnose.assessment.steps import Step, next_step, steps
from diagnose.case.kinds import CONFIRMING
from diagnose.case.standing import advice_due
from diagnose.case.still_open import of_aircraft
from diagnose.cli.again import ask_again
from diagnose.cli.behind import pages
from diagnose.cli.checking import ask_symptom, other_check, step_check, tell
from diagnose.cli.closing import RUN, end
from diagnose.cli.history import ask_past, ask_questions
from diagnose.cli.intake import complaint, danger, safety
from diagnose.cli.making_good import make_good, may_turn
from diagnose.cli.opened import opened
from diagnose.cli.paging import choose, minded, page
from diagnose.cli.prompt import Leave, ask
from diagnose.cli.repairing import step_repair
from diagnose.cli.talk import Talk, at, step_back, withdraw_last
from diagnose.cli.working import working
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glances import glance_of, run_cautions
from diagnose.trouble.aircraft import FULL_POWER


def chase(args: argparse.Namespace) -> int:
    """Lead a person from question to question; 0 also when they leave before the end."""
    case, network = opened(args)
    talk = Talk(case.path, args.person, network, screens.console())
    if not sys.stdin.isatty() and not os.environ.get("DIAGNOSE_ASK"):
        raise BadInput("chase asks questions and needs a terminal; use enter, next and remedy in scripts")
    try:
        safety(talk, case)
        told_now = complaint(talk)
        if told_now:
            danger(talk)
        ask_past(talk, told_now, every=args.all_questions)
        talk.noted()  # what the opening kept was shown as it was said
        while _safely(talk):
            pass
    except Leave:
        screens.line(talk.out, f"Left. Everything answered is in {case.path}; go on with: diagnose chase {case.path}")
        for item in of_aircraft(talk.case().trouble.aircraft):
            screens.line(talk.out, f"STILL OPEN: {item.text}")
    return 0


def _safely(talk: Talk) -> bool:
    """Take one step; where an answer excludes the earlier ones, say so and offer to take it back."""
    try:
        return _step(talk)
    except loaded.CannotAllBeTrue as error:
        screens.line(talk.out, str(error), "bold")
        ask(talk.out, "b take back the last answer, q leave", {"b"})
        return step_back(talk)


def _step(talk: Talk) -> bool:
    """Show the next step on one screen and take it; return whether there is another."""
    if not any(look.complaint for look in talk.case().trouble.looks):
        complaint(talk)  # taken back
    if ask_again(talk):
        return True
    case = talk.case()
    with working(talk.out):
        assessment = loaded.assessed(talk.network, case.trouble)
        if advice_due(case.events):
            talk.record("advice", advice(assessment, talk.network.base))
        step = next_step(talk.network, assessment)
    put_off = step is not None and step.make_good is not None and step.make_good in assessment.make_good
    if step is not None and step.make_good is not None and put_off and make_good(talk, assessment, step.make_good):
        return True
    step = next((s for s in steps(talk.network, assessment) if s.make_good is None), None)
    if assessment.finding.state == "confirmed" and not (step is not None and step.look_at):
        return end(talk, case, assessment)
    if step is None or step.kind == "help":
        return _help(talk, assessment, put_off)
    if step.kind == "finish_run":
        return _confirming_run(talk, assessment, step, put_off)
    if step.check is not None and assessment.plan.paying:
        return step_check(talk, assessment, step.check, inner=put_off)
    return step_repair(talk, assessment, lambda: other_check(talk, assessment), inner=put_off) or True


def _help(talk: Talk, assessment: Assessment, inner: bool = False) -> bool:
    """Say that nothing stands out; a check, a result or an answer about the past may bring something."""
    glance = glance_of(talk.network, assessment, Step("help"), at(talk), talk.noted())
    text = choose(talk, glance, {"o", "t", "p", "b"}, pages(talk, assessment, ()))
    return other_check(talk, assessment) or True if text == "o" else _aside(talk, text, inner)


def _aside(talk: Talk, text: str, inner: bool) -> bool:
    """Act on a key that every step has; with `inner`, b goes back to the step that was put off."""
    if text == "b":
        return True if inner else step_back(talk)
    if text == "t":
        tell(talk)
    elif text == "p":
        ask_questions(talk, None)
    return True


def _confirming_run(talk: Talk, assessment: Assessment, step: Step, inner: bool = False) -> bool:
    """Have the run that a repair wants made: what is looked at again, one by one; b in it goes back one answer."""
    cautions = run_cautions(talk.network)
    glance = glance_of(talk.network, assessment, step, at(talk), talk.noted())
    text = choose(talk, glance, {"d", "o", "t", "b"}, pages(talk, assessment, cautions))
    if text == "o":
        return other_check(talk, assessment) or True
    if text != "d":
        return _aside(talk, text, inner)
    at_power = any(talk.network.symptoms[name].regime == FULL_POWER for name in step.look_at)
    if not may_turn(talk, WHOLE_RUN if at_power else {"run"}) or not minded(talk, cautions):
        return True  # what was said may bar the run
    position = 0
    with talk.given.step():
        while 0 <= position < len(step.look_at):
            page(talk, f"{RUN}   {position + 1} of {len(step.look_at)}")
            back = ask_symptom(talk, step.look_at[position], check=CONFIRMING) == "back"
            position += -1 if back else 1
            if back and position >= 0:
                withdraw_last(talk)
    return True
