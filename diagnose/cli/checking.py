"""The interview at a check: shown on one screen, done, its results asked for or told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.assessment.assess import Assessment
from diagnose.cli.asking import ask_numbers
from diagnose.cli.behind import pages
from diagnose.cli.calculations.questions import calculation_for
from diagnose.cli.history import ask_questions
from diagnose.cli.making_good import ask_state
from diagnose.cli.paging import choose, minded
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.repairing import step_repair
from diagnose.cli.talk import Talk, at, enter, leave_refit, withdraw_last
from diagnose.plan.access import after
from diagnose.plan.plan import Valued
from diagnose.plan.rules import turns_engine
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glances import full_cautions, of_check
from diagnose.trouble.exchanges import read_exchange
from diagnose.trouble.results import Result, read_result

MANY = 3  # results of a check that are asked for one by one without a question
TELL = "What was seen, in your words (Enter: back)"


def step_check(talk: Talk, assessment: Assessment, valued: Valued, chosen: bool = False) -> bool:
    """Show a check and act on one key; return True, as there is always another step."""
    check = valued.located.check
    numbers = calculation_for(tuple(talk.network.symptoms[n].symptom.role for n in valued.located.nodes))
    cautions = full_cautions(talk.network, assessment, valued)
    glance = of_check(talk.network, assessment, valued, at(talk), talk.noted(), bool(numbers))
    text = choose(talk, glance, set("dnoftpb") | ({"m"} if numbers else set()), pages(talk, assessment, cautions, check, valued))
    if text == "b":
        return True if chosen else withdraw_last(talk)
    if text == "o":
        return other_check(talk, assessment)
    if text == "n":
        talk.record("decline", {"check": valued.located.id, "reason": "cannot be done here"})
    elif text == "f":
        return step_repair(talk, assessment, lambda: other_check(talk, assessment), chosen=True)
    elif text == "t":
        tell(talk, nodes=valued.located.nodes)
    elif text == "p":
        ask_questions(talk, None)
    elif (turns_engine(talk.network.base, check) and ask_state(talk)) or not minded(talk, cautions):
        return True  # what was said of the aircraft may bar the step
    elif text == "m":
        _numbers_of(talk, valued, numbers)
    else:
        _results_of(talk, valued)
    return True


def tell(talk: Talk, check: str = "", nodes: Sequence[str] = ()) -> bool:
    """Take a result in people's words, said at a check with these results or at none; return whether something was recorded."""
    text = ask(talk.out, TELL, None)
    return text.lower() not in ("", "b") and enter(talk, text, check=check, nodes=nodes)


def ask_symptom(talk: Talk, name: str, check: str, extra: Mapping[str, str] | None = None) -> str:
    """Ask for one located symptom and record the answer, unless it is a step back or a key of `extra`, which is returned."""
    located = talk.network.symptoms[name]
    where = screens.place_words(talk.network, located.place)
    when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
    answer = ask_choice(talk.out, f"{located.symptom.ask} [{where}{when}]", dict(located.symptom.grades), extra)
    if answer not in ("back", *(extra or {})):
        talk.record("result", {"result": f"{name}={answer}", "check": check})
    return answer


def _numbers_of(talk: Talk, valued: Valued, calculation: str) -> None:
    """Take a check in numbers: its own place and regime are filled in."""
    located = valued.located
    gained = after(talk.network.base, located.check.access, talk.case().trouble.access)
    regime = talk.network.symptoms[located.nodes[0]].regime
    if ask_numbers(talk.out, talk.case(), talk.network, calculation, talk.person, located.id, located.place, regime):
        talk.record("access", {"now": sorted(gained), "check": located.id})
        leave_refit(talk, located.id)


def _results_of(talk: Talk, valued: Valued) -> None:
    """Take the results of a check: a few are asked for one by one, many are told, or called normal."""
    located = valued.located
    gained = after(talk.network.base, located.check.access, talk.case().trouble.access)
    talk.opens = {"now": sorted(gained), "check": located.id}
    few = len(located.nodes) <= MANY
    done = _one_by_one(talk, located.id, located.nodes) if few else _many(talk, valued)
    talk.opens = {}
    if done:
        leave_refit(talk, located.id)
        _exchanged(talk, valued)


def _many(talk: Talk, valued: Valued) -> bool:
    """Ask how the results of a check with many are to be given; return whether any were."""
    located = valued.located
    labels = list(dict.fromkeys(talk.network.symptoms[n].symptom.label for n in located.nodes))
    screens.heading(talk.out, f"RESULT   {screens.check_words(talk.network, valued)}")
    screens.line(talk.out, f"{len(located.nodes)} things to look at: {'; '.join(labels[:6])}{'; ...' if len(labels) > 6 else ''}.")
    while True:
        text = ask(talk.out, "a all normal, t tell what was not, s one by one, b back", {"a", "t", "s", "b"})
        if text == "b":
            return False
        if text == "a":
            return _normal(talk, located.id, located.nodes)
        if text == "s":
            return _one_by_one(talk, located.id, located.nodes)
        if tell(talk, located.id, located.nodes):
            return _rest(talk, valued)


def _rest(talk: Talk, valued: Valued) -> bool:
    """Ask whether what was not told of a check was normal."""
    newest = talk.case().trouble.looks[-1].results
    told = [r for r in newest if not r.history]
    open_ = [r for text in talk.open for r in read_result(text, talk.network.base, talk.network.layout)]
    left = [n for n in valued.located.nodes if not any(_about(talk, r, n) for r in (*told, *open_))]
    if left and not any(r.several for r in told):
        answer = ask(talk.out, f"Was the rest of it normal ({len(left)})? y yes, all looked at; Enter: not looked at", {"", "y", "b"})
        if answer == "y":
            _normal(talk, valued.located.id, left)
    return True


def _about(talk: Talk, result: Result, name: str) -> bool:
    """Return whether a result says something of what a check asks, whatever regime it was told in: a cylinder's is of its plugs too."""
    asked = talk.network.symptoms[name]
    of = {asked.place, asked.place.partition("-")[0], talk.network.layout.side_of.get(asked.place, asked.place)}
    return result.symptom == asked.symptom.id and bool(of & set(result.places))


def _normal(talk: Talk, check: str, nodes: Sequence[str]) -> bool:
    for name in nodes:
        talk.record("result", {"result": f"{name}={talk.network.symptoms[name].symptom.names[0]}", "check": check})
    return True


def _one_by_one(talk: Talk, check: str, nodes: Sequence[str]) -> bool:
    """Ask result after result; at any of them the rest can be called normal or left. Return whether one was given."""
    position = 0
    while position < len(nodes):
        left = len(nodes) - position
        rest = {"a": f"this and the rest normal ({left})", "e": "enough"} if left > 1 else {}
        answer = ask_symptom(talk, nodes[position], check, rest)
        if answer == "back":
            if position == 0:
                return False
            position -= 1
            withdraw_last(talk)
            continue
        if answer == "a":
            return _normal(talk, check, nodes[position:])
        if answer == "e":
            return position > 0
        position += 1
    return True


def _exchanged(talk: Talk, valued: Valued) -> None:
    """After a check that exchanges a part: ask where the part stands now; what follows is about that place."""
    check, here = valued.located.check, valued.located.place
    if not check.part:
        return
    question = f"Where does the {check.part} of {here} stand now, for example {_example(talk, here)} (Enter: back in its own place)"
    while text := ask(talk.out, question, None):
        try:
            done = read_exchange(f"{check.id}@{here},{text}", talk.network.base, talk.network.layout)
        except BadInput as error:
            screens.line(talk.out, str(error))
            continue
        talk.record("exchange", {"exchange": str(done)})
        return


def _example(talk: Talk, here: str) -> str:
    layout = talk.network.layout
    return next(iter(layout.related(here, "next_circuit")), "") or next(p for p in layout.places("cylinder") if p != here)


def other_check(talk: Talk, assessment: Assessment) -> bool:
    """Let the person choose another check; the reason is kept."""
    shown = list(assessment.plan.checks[:9])
    screens.heading(talk.out, "OTHER CHECKS, best first")
    for number, valued in enumerate(shown, 1):
        note = "" if valued.pays else ", saves less time than it takes"
        screens.line(talk.out, f"{number}  {screens.check_words(talk.network, valued)}: {valued.minutes:.0f} min{note}")
    text = ask(talk.out, "Number (Enter or b: back to the step)", {"", "b", *(str(n) for n in range(1, len(shown) + 1))})
    if text in ("", "b"):
        return True
    chosen = shown[int(text) - 1]
    reason = ask(talk.out, "Why this one (kept in the record; Enter: skip, b: back)", None)
    if reason.lower() == "b":
        return True
    talk.record("note", {"chosen": chosen.located.id, "offered": assessment.plan.checks[0].located.id, "reason": reason})
    return step_check(talk, assessment, chosen, chosen=True)
