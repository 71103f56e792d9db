"""`chase`: the interview. Every answer is on disk before the next question appears."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose import caselog, session
from diagnose.access import after
from diagnose.case import Case, load
from diagnose.chase import Assessment, assess, repair_warning, still_to_look_at
from diagnose.cli.prompt import Leave, ask, ask_choice
from diagnose.evidence import Repair
from diagnose.explain import reasons, why_check
from diagnose.guards import ALWAYS
from diagnose.network import Network
from diagnose.plan import Valued
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.results import read_results

if TYPE_CHECKING:
    from rich.console import Console

SAFETY = (
    *ALWAYS,
    "Before anybody touches the propeller: switch OFF, mixture cut off, throttle closed, chocks, arc clear.",
    "If it fires with the switch OFF, or a P-lead is off: tag the propeller and stop by mixture only.",
)


@dataclass
class _Chase:
    path: Path
    person: str
    network: Network
    out: Console

    def case(self) -> Case:
        return load(self.path, self.network.base)

    def record(self, kind: str, data: dict[str, Any]) -> None:
        caselog.append(self.path, kind, self.person, data)


def chase(args: argparse.Namespace) -> int:
    """Lead a person from question to question; 0 also when they leave before the end."""
    case, network = session.case_at(args.case, tuple(args.rulebase))
    talk = _Chase(case.path, args.person, network, screens.console())
    if not sys.stdin.isatty() and not os.environ.get("DIAGNOSE_ASK"):
        raise BadInput("chase asks questions and needs a terminal; use enter, next and remedy in scripts")
    for warning in case.warnings:
        screens.line(talk.out, f"note: {warning}", "dim")
    try:
        _safety(talk, case)
        _history(talk)
        _complaint(talk)
        while _step(talk):
            pass
    except Leave:
        screens.line(talk.out, f"Left. Everything answered is in {case.path}; go on with: diagnose chase {case.path}")
    return 0


def _safety(talk: _Chase, case: Case) -> None:
    if any(e.kind == "note" and e.data.get("safety") for e in case.events):
        screens.line(talk.out, f"! {SAFETY[0]}", "bold")
        return
    screens.heading(talk.out, "SAFETY FIRST")
    for text in SAFETY:
        screens.line(talk.out, f"! {text}", "bold")
    screens.line(talk.out, "At any question: u unknown, c cannot check here, b back, q leave (all is kept).", "dim")
    ask(talk.out, "Press Enter when this holds", {""})
    talk.record("note", {"safety": "read"})


def _history(talk: _Chase) -> None:
    """Ask what happened before, once each; b goes back one."""
    case = talk.case()
    asked = {r.symptom for look in case.trouble.looks for r in look.results if r.history}
    todo = [h for h in talk.network.base.history.values() if h.id not in asked]
    if not todo or case.trouble.looks[0].complaint:
        return
    screens.heading(talk.out, f"WHAT HAPPENED BEFORE ({len(todo)} questions)")
    index = 0
    while index < len(todo):
        history = todo[index]
        place = "engine"
        answer = ask_choice(talk.out, history.ask, dict(history.answers), extra={"s": "skip the rest"})
        if answer == "back":
            if index:
                index -= 1
                _withdraw_last(talk)
            continue
        if answer == "s":
            return
        talk.record("result", {"result": f"{history.id}@{place}={answer}"})
        index += 1


def _complaint(talk: _Chase) -> None:
    """Ask for the complaint: words kept as said, then the results it comes to."""
    case = talk.case()
    if case.trouble.looks[0].complaint:
        return
    screens.heading(talk.out, "THE COMPLAINT")
    if not case.opening.get("words") and not any(e.data.get("words") for e in case.events if e.kind == "note"):
        words = ask(talk.out, "In the reporter's own words (Enter to skip)", None)
        if words:
            talk.record("note", {"words": words})
    squawks = [s for s in talk.network.base.symptoms.values() if s.kind == "squawk"]
    for number, symptom in enumerate(squawks, 1):
        screens.line(talk.out, f"{number:>3}  {symptom.label}")
    numbered = {str(number): symptom.id for number, symptom in enumerate(squawks, 1)}
    screens.line(talk.out, "Give numbers, or results such as drop@left=excessive, one a line; Enter ends.", "dim")
    while True:
        text = ask(talk.out, "Wrong is", None)
        if not text:
            if talk.case().trouble.looks[0].complaint:
                return
            screens.line(talk.out, "At least one, or q to leave.")
        elif text.lower() in ("b", "back"):
            _withdraw_last(talk)
        elif text in numbered:
            _squawk(talk, numbered[text])
        else:
            _enter(talk, text, complaint=True)


def _squawk(talk: _Chase, ident: str) -> None:
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
    _enter(talk, f"{ident}.{regime}@{place}={grade}", complaint=True)


def _enter(talk: _Chase, text: str, complaint: bool = False, check: str = "") -> bool:
    """Record results written in one line; a wrong one is explained and nothing is recorded."""
    try:
        found = read_results(text.split(), talk.network.base, talk.network.layout)
    except BadInput as error:
        screens.line(talk.out, str(error))
        return False
    for result in found:
        talk.record("result", {"result": str(result), "complaint": complaint and result.abnormal, "check": check})
        screens.line(talk.out, f"recorded: {screens.result_words(talk.network, str(result))}", "dim")
    return True


def _step(talk: _Chase) -> bool:
    """Show where things stand and take one step; return whether there is another."""
    case = talk.case()
    assessment = assess(talk.network, session.completed(talk.network.base, case.trouble))
    screens.show_ranking(talk.out, talk.network, assessment, count=5)
    if assessment.finding.state == "confirmed":
        screens.line(talk.out, "The complaint is gone under its own conditions. Write the record; a licensed person decides.")
        return False
    waiting = still_to_look_at(case.trouble.looks)
    if waiting:
        return _confirming_run(talk, waiting)
    if assessment.plan.paying:
        return _do_check(talk, assessment, assessment.plan.paying[0])
    return _repair(talk, assessment)


def _confirming_run(talk: _Chase, waiting: Sequence[str]) -> bool:
    screens.heading(talk.out, "CONFIRMING RUN: look at the complaint again under its own conditions")
    for caution in ("run_area", "prop_live"):
        screens.line(talk.out, f"! {talk.network.base.cautions[caution].label}", "bold")
    for name in waiting:
        answer = _ask_symptom(talk, name, check="confirming_run")
        if answer == "back":
            return _withdraw_last(talk)
    return True


def _ask_symptom(talk: _Chase, name: str, check: str, extra: Mapping[str, str] | None = None) -> str:
    located = talk.network.symptoms[name]
    symptom = located.symptom
    where = screens.place_words(talk.network, located.place)
    when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
    answer = ask_choice(talk.out, f"{symptom.ask} [{where}{when}]", dict(symptom.grades), extra)
    if answer not in ("back", *(extra or {})):
        talk.record("result", {"result": f"{name}={answer}", "check": check})
    return answer


def _do_check(talk: _Chase, assessment: Assessment, valued: Valued) -> bool:
    paying = assessment.plan.paying
    others = [v for v in paying if v is not valued]
    screens.show_check(talk.out, talk.network, valued, others[0] if others else None)
    while True:
        text = ask(talk.out, "d do it, w why, o other, n not here, f repair, r result, b back, q leave",
                   set("dwonfrb"))  # fmt: skip
        if text == "w":
            screens.line(talk.out, why_check(valued, others[0] if others else None))
            top = [r.id for r in assessment.finding.causes[:2]]
            screens.show_reasons(talk.out, talk.network, assessment, reasons(talk.network, assessment, top))
        elif text == "o":
            return _other(talk, assessment)
        elif text == "n":
            talk.record("decline", {"check": valued.located.id, "reason": "cannot be done here"})
            return True
        elif text == "f":
            return _repair(talk, assessment)
        elif text == "r":
            _enter(talk, ask(talk.out, "Result", None))
            return True
        elif text == "b":
            return _withdraw_last(talk)
        else:
            return _results_of(talk, valued)


def _results_of(talk: _Chase, valued: Valued) -> bool:
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
            return _withdraw_last(talk)
        if answer == "a":
            for other in nodes[position:]:
                normal = talk.network.symptoms[other].symptom.names[0]
                talk.record("result", {"result": f"{other}={normal}", "check": valued.located.id})
        if answer in ("a", "e"):
            break
    return True


def _other(talk: _Chase, assessment: Assessment) -> bool:
    """Let the person choose another check; the reason is kept."""
    shown = list(assessment.plan.checks[:9])
    for number, valued in enumerate(shown, 1):
        note = "" if valued.pays else " - does not pay"
        screens.line(talk.out, f"{number}  {screens.check_words(talk.network, valued)}: {valued.information:.2f} bit, "
                     f"{valued.minutes:.0f} min{note}")  # fmt: skip
    text = ask(talk.out, "Number (Enter: back to the offered one)", {"", *(str(n) for n in range(1, len(shown) + 1))})
    if not text:
        return True
    chosen = shown[int(text) - 1]
    reason = ask(talk.out, "Why this one (kept in the record; Enter to skip)", None)
    offered = assessment.plan.checks[0].located.id
    talk.record("note", {"chosen": chosen.located.id, "offered": offered, "reason": reason})
    screens.show_check(talk.out, talk.network, chosen, None)
    return _results_of(talk, chosen)


def _repair(talk: _Chase, assessment: Assessment) -> bool:
    screens.show_repair(talk.out, talk.network, assessment)
    order = screens.remedy_order(assessment)
    if not order:
        raise Leave
    allowed = {str(n) for n in range(1, len(order) + 1)} | {"o", "b", "r"}
    text = ask(talk.out, "Number of the remedy done, o a check, r result, b back, q leave", allowed)
    if text == "o":
        return _other(talk, assessment)
    if text == "b":
        return _withdraw_last(talk)
    if text == "r":
        _enter(talk, ask(talk.out, "Result", None))
        return True
    group = assessment.groups[order[int(text) - 1]]
    warning = repair_warning(talk.network, Repair(group.remedy.id, group.place), assessment)
    reason = ""
    if warning:
        screens.line(talk.out, f"! {warning}", "bold")
        reason = ask(talk.out, "Reason for going on (Enter: go back)", None)
        if not reason:
            return True
    note = ask(talk.out, "As found / as left, parts off and on (Enter to skip)", None)
    talk.record("repair", {"remedy": group.key, "reason": reason, "note": note, "warning": warning})
    return True


def _withdraw_last(talk: _Chase) -> bool:
    """Take back the newest answer: it stays in the file, marked withdrawn."""
    case = talk.case()
    live = [e for e in case.events if e.kind in ("result", "repair", "decline") and e.seq not in case.corrected]
    if not live:
        screens.line(talk.out, "Nothing to take back.")
        return True
    last = live[-1]
    talk.record("correct", {"corrects": last.seq, "withdrawn": True, "reason": "taken back in the interview"})
    told = last.data.get("result") or last.data.get("remedy") or last.data.get("check")
    screens.line(talk.out, f"taken back (kept in the file): {told}", "dim")
    return True
