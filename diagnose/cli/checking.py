"""The interview at a check: shown on one screen, done, its results asked for or told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.assessment.assess import Assessment
from diagnose.cli import keys
from diagnose.cli.asking import ask_numbers
from diagnose.cli.behind import pages
from diagnose.cli.calculations.questions import calculation_for
from diagnose.cli.choosing import chosen_check
from diagnose.cli.history import ask_questions
from diagnose.cli.making_good import may_turn
from diagnose.cli.paging import choose, minded, page
from diagnose.cli.prompt import ask, ask_choice
from diagnose.cli.repairing import step_repair
from diagnose.cli.talk import Talk, at, enter, leave_refit, step_back, withdraw_last
from diagnose.plan.access import after
from diagnose.plan.plan import Valued
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.glances import full_cautions, of_check
from diagnose.trouble.aircraft import turning
from diagnose.trouble.exchanges import read_exchange, taken_to
from diagnose.trouble.looks import exchanges
from diagnose.trouble.results import Result, read_result, read_results

MANY = 3  # results of a check that are asked for one by one without a question
TELL = "What was seen, in your words (Enter: back)"


def step_check(talk: Talk, assessment: Assessment, valued: Valued, chosen: bool = False, inner: bool = False) -> bool:
    """Show a check and act on keys until something was recorded or taken back; return True, as there is always another step.

    `chosen`: the person chose it, and b takes the choice back. `inner`: something else is the next step, and b goes back to that.
    """
    check = valued.located.check
    numbers = calculation_for(tuple(talk.network.symptoms[n].symptom.role for n in valued.located.nodes))
    cautions = full_cautions(talk.network, assessment, valued)
    while True:
        glance = of_check(talk.network, assessment, valued, at(talk), talk.noted(), bool(numbers))
        glance = replace(glance, mark="YOU CHOSE") if chosen else glance
        text = choose(talk, glance, set("dnoftpb") | ({"m"} if numbers else set()), pages(talk, assessment, cautions, check, valued))
        if text == "b":
            return True if inner else step_back(talk)
        if _acted(talk, assessment, valued, text, numbers, cautions):
            return True


def _acted(talk: Talk, assessment: Assessment, valued: Valued, text: str, numbers: str, cautions: Sequence[str]) -> bool:
    """Act on one key; return whether something was recorded or another step taken."""
    check = valued.located.check
    if text == "o":
        return other_check(talk, assessment)
    if text == "n":
        talk.record("decline", {"check": valued.located.id, "reason": "cannot be done here"})
        return True
    if text == "f":
        return step_repair(talk, assessment, lambda: other_check(talk, assessment), inner=True)
    if text == "t":
        return tell(talk, nodes=valued.located.nodes)
    if text == "p":
        return ask_questions(talk, None)
    entries = len(talk.case().events)
    if not may_turn(talk, turning(talk.network.base, check), check.access):
        return len(talk.case().events) > entries  # what was said may make another step the next
    if not minded(talk, cautions):
        return False
    with talk.given.step():
        return _numbers_of(talk, valued, numbers) if text == "m" else _results_of(talk, valued)


def tell(talk: Talk, check: str = "", nodes: Sequence[str] = ()) -> bool:
    """Take a result in people's words, said at a check with these results or at none; return whether something was recorded."""
    if not talk.title:
        page(talk, "TELL   what was seen, heard or felt")
    text = ask(talk.out, TELL, None)
    return text.lower() not in ("", "b") and enter(talk, text, check=check, nodes=nodes)


def ask_symptom(talk: Talk, name: str, check: str, extra: Mapping[str, str] | None = None, kept: str = "") -> str:
    """Ask for one located symptom and record the answer, unless it is a step back or a key of `extra`, which is returned.

    `kept`: the located symptom it is recorded of, where its part stands somewhere else now.
    """
    located = talk.network.symptoms[name]
    where = screens.place_words(talk.network, located.place)
    when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
    ask_of = located.symptom.ask if located.place == "engine" else screens.asked_at(located.symptom.ask, located.place)
    question = f"{ask_of} [{where}{when}]"
    answer = ask_choice(talk.out, question, dict(located.symptom.grades), extra)
    if answer not in ("back", *(extra or {})):
        talk.record("result", {"result": f"{kept or name}={answer}", "check": check})
    return answer


def opens(talk: Talk, check: str) -> None:
    """Have the access of a check (`CHECK@PLACE`) recorded with its first result; of what is no check, none."""
    entry = talk.network.base.checks.get(check.partition("@")[0])
    if entry is not None:
        talk.opens = {"now": sorted(after(talk.network.base, entry.access, talk.case().trouble.access)), "check": check}


def _numbers_of(talk: Talk, valued: Valued, calculation: str) -> bool:
    """Take a check in numbers, its own place and regime filled in, then the rest of its questions; return whether any were given."""
    located = valued.located
    regime = talk.network.symptoms[located.nodes[0]].regime
    opens(talk, valued.located.id)
    results = ask_numbers(talk, calculation, f"NUMBERS   {screens.check_words(talk.network, valued)}", located.id, located.place, regime)
    talk.opens = {}
    if results is None:
        return False
    leave_refit(talk, located.id)
    told = {name for result in read_results(results, talk.network.base, talk.network.layout) for name in _names(talk, result.subject)}
    rest = [n for n in located.nodes if n not in told]
    if rest:
        screens.line(talk.out, f"The numbers say nothing of the rest of this check: {len(rest)} more to look at.")
    if rest or keys.single():  # else the next screen would wipe out what the numbers say
        ask(talk.out, "Enter: go on", {""})
    if rest:
        _answers_of(talk, valued, rest)
    return True


def _names(talk: Talk, subject: str) -> list[str]:
    """Return the located symptoms of what a result speaks of, its condition written out or not."""
    symptom, _, place = subject.partition("@")
    default = talk.network.base.symptoms[symptom.partition(".")[0]].default
    return [subject, f"{symptom}.{default}@{place}"]


def _results_of(talk: Talk, valued: Valued) -> bool:
    """Take the results of a check; return whether any were given."""
    away = _on_record(talk, valued)
    if away is None:
        return False
    if away:
        page(talk, _title(talk, valued))
        name = valued.located.nodes[0]
        stem, _, place = name.rpartition("@")
        screens.line(talk.out, f"The {valued.located.check.part} from {place} now stands in {away}: what you say is kept as of there.")
        return ask_symptom(talk, name, valued.located.id, kept=f"{stem}@{away}") != "back"
    opens(talk, valued.located.id)
    done = _answers_of(talk, valued, valued.located.nodes)
    talk.opens = {}
    if done:
        leave_refit(talk, valued.located.id)
        _exchanged(talk, valued)
    return done


def _answers_of(talk: Talk, valued: Valued, nodes: Sequence[str]) -> bool:
    """Ask for results of a check: a few one by one, many are told, or called normal. Return whether any were given."""
    if len(nodes) <= MANY:
        return _one_by_one(talk, valued, nodes)
    return _many(talk, valued, nodes)


def _title(talk: Talk, valued: Valued) -> str:
    return f"RESULT   {screens.check_words(talk.network, valued)}"


def _many(talk: Talk, valued: Valued, nodes: Sequence[str]) -> bool:
    """Ask how the results of a check with many are to be given; return whether any were."""
    check = valued.located.id
    labels = list(dict.fromkeys(talk.network.symptoms[n].symptom.label for n in nodes))
    while True:
        page(talk, _title(talk, valued))
        screens.line(talk.out, f"{len(nodes)} things to look at: {'; '.join(labels[:6])}{'; ...' if len(labels) > 6 else ''}.")
        text = ask(talk.out, "a all normal, t tell what was not, s one by one, b back", {"a", "t", "s", "b"})
        if text == "b":
            return False
        if text == "a":
            return _normal(talk, check, nodes)
        if text == "s" and _one_by_one(talk, valued, nodes):
            return True
        if text == "t" and tell(talk, check, valued.located.nodes) and _rest(talk, check, nodes):
            return True


def _rest(talk: Talk, check: str, nodes: Sequence[str]) -> bool:
    """Ask whether what was not told of a check was normal; False where what was told is taken back."""
    newest = talk.case().trouble.looks[-1].results
    told = [r for r in newest if not r.history]
    open_ = [r for text in talk.open for r in read_result(text, talk.network.base, talk.network.layout)]
    left = [n for n in nodes if not any(_about(talk, r, n) for r in (*told, *open_))]
    if left and not any(r.several for r in told):
        answer = ask(talk.out, f"Was the rest of it normal ({len(left)})? y yes, all looked at; n not looked at; b back", {"y", "n", "b"})
        if answer == "y":
            return _normal(talk, check, left)
        return answer == "n" or not withdraw_last(talk)
    return True


def _about(talk: Talk, result: Result, name: str) -> bool:
    """Return whether a result says something of what a check asks, whatever regime it was told in: a cylinder's is of its plugs too."""
    asked = talk.network.symptoms[name]
    of = {asked.place, asked.place.partition("-")[0], talk.network.layout.side_of.get(asked.place, asked.place)}
    return result.symptom == asked.symptom.id and bool(of & set(result.places))


def _normal(talk: Talk, check: str, nodes: Sequence[str]) -> bool:
    """Record results as normal: one answer."""
    rows = [("result", {"result": f"{name}={talk.network.symptoms[name].symptom.names[0]}", "check": check}) for name in nodes]
    talk.record_all(rows, f"looked at and normal: {len(nodes)}")
    return True


def _one_by_one(talk: Talk, valued: Valued, nodes: Sequence[str]) -> bool:
    """Ask result after result; at any of them the rest can be called normal or left. Return whether one was given."""
    check, position = valued.located.id, 0
    while position < len(nodes):
        left = len(nodes) - position
        rest = {"a": f"this and the rest normal ({left})", "e": "enough"} if left > 1 else {}
        page(talk, _title(talk, valued))
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


def _on_record(talk: Talk, valued: Valued) -> str | None:
    """Return where the part of an exchange on record stands, where that exchange is meant; empty for a new one, None for a step back."""
    check, here = valued.located.check, valued.located.place
    now = taken_to(talk.network.base, exchanges(talk.case().trouble.looks), check.id, here) if check.moves else here
    if now == here:
        return ""
    page(talk, _title(talk, valued))
    screens.line(talk.out, f"An exchange is on record: the {check.part} from {here} now stands in {now}.")
    answer = ask(talk.out, "r what that exchange showed, n a new exchange of what stands here now, b back", {"r", "n", "b"})
    return {"r": now, "n": ""}.get(answer)


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
    """Let the person choose another check, the reason kept; return whether one was chosen."""
    found = chosen_check(talk, assessment)
    if found is None:
        return False
    valued, reason = found
    talk.record("note", {"chosen": valued.located.id, "offered": assessment.plan.checks[0].located.id, "reason": reason})
    return step_check(talk, assessment, valued, chosen=True)
