"""Numbers asked for one by one: a calculation as questions, its results into the case."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.calc.answer import Answer
from diagnose.case import log
from diagnose.cli.calculating import compute, record
from diagnose.cli.calculations.known import Known
from diagnose.cli.calculations.questions import QUESTIONS, Question
from diagnose.cli.judging import doubt, judged, rise
from diagnose.cli.paging import page
from diagnose.cli.parser import make_parser
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.calculation import limit_text
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results

BACK = "b"
AGAIN = "--rise-repeated"  # the option that says that a rise was read a second time
TOOL = (
    Question("--tool", "Tool and its identity"),
    Question("--calibration", 'Its calibration due: 2026-11-30, or "none needed"', kind="date", or_word="none needed", of="--tool"),
)
HELP = "Enter: not read, or what stands in brackets; u: not read; b: one back, from the first to the step."


def ask_numbers(
    talk: Talk, name: str, title: str, check: str = "", place: str = "", regime: str = "", complaint: bool = False
) -> tuple[str, ...] | None:
    """Ask for the numbers of one calculation, show what they say and record them; return its results, None where they were given up.

    A number that cannot be used is explained at its own prompt, and nothing of it is kept.
    """
    given: dict[str, str] = {}
    page(talk, title)
    screens.line(talk.out, f"Numbers. {HELP}", "dim")
    while True:
        if not _ask_all(talk, name, title, place, given):
            return None
        try:
            answer = _answer(talk, name, given, regime, check, complaint)
        except BadInput as error:
            screens.line(talk.out, _in_words(name, str(error)))
            continue
        page(talk, title)
        _show(talk, answer)
        return answer.results


def _show(talk: Talk, answer: Answer) -> None:
    """Print what the numbers say, the limits they were held against, and which results they came to: the normal ones only as a count."""
    for text in answer.says:
        screens.line(talk.out, text, "", 2)
    for limit in answer.limits:
        screens.line(talk.out, f"held against: {limit.name} {limit_text(limit)}", "dim", 2)
    found = read_results(answer.results, talk.network.base, talk.network.layout)
    told = [r for r in found if not r.normal]
    for result in told:
        screens.line(talk.out, f"recorded: {screens.result_words(talk.network, str(result))}", "dim")
    rest = len(found) - len(told)
    if rest:
        screens.line(talk.out, f"recorded: {'the other ' if told else ''}{rest} normal", "dim")
    talk.kept += [screens.result_words(talk.network, str(r)) for r in (told or found)[-1:]]


def _in_words(name: str, error: str) -> str:
    """Return what a calculation refuses with the questions in place of its options."""
    for question in sorted((*QUESTIONS[name], *TOOL), key=lambda q: -len(q.option)):
        error = error.replace(question.option, f"'{question.words}'")
    return error.removeprefix(f"calc {name}: ")


def _ask_all(talk: Talk, name: str, title: str, place: str, given: dict[str, str]) -> bool:
    asked = (*QUESTIONS[name], *TOOL)
    position = 0
    while position < len(asked):
        question = asked[position]
        if not _due(question, given):
            given.pop(question.option, None)
            position += 1
            continue
        here = place if question.place and _fits(talk.network, question, place) else ""
        text = _ask_one(talk, question, here, given)
        if text == BACK:
            before = [p for p in range(position) if _due(asked[p], given)]
            if not before:
                return False
            position = before[-1]
            page(talk, title)
            continue
        if text:
            given[question.option] = text
        else:
            given.pop(question.option, None)
        position += 1
    return True


def _due(question: Question, given: Mapping[str, str]) -> bool:
    """Return whether a question is asked, by what was given before."""
    return not question.of or given.get(question.of, "") not in ("", question.unless)


def _ask_one(talk: Talk, question: Question, here: str, given: dict[str, str]) -> str:
    """Return the answer to one question, judged as it is typed: what is known where nothing is, `b` for a step back.

    `here`: the place of the check, which its numbers are of.
    """
    known = given.get(question.option) or here
    shown = f" [{known}]" if known else ""
    while True:
        text = ask(talk.out, f"{question.words}{shown}", None, HELP) or known
        if text.lower() == BACK:
            return BACK
        text = "" if text.lower() == "u" else text
        if not text and (question.needed or (question.instead and question.instead not in given)):
            why = "without it there is nothing to work out" if question.needed else "neither this nor the one in its place was read"
            screens.line(talk.out, f"{question.words}: {why}; give it, or b to go back")
        elif not text:
            return ""
        elif _sure(talk, question, text, given):
            found = judged(question, text, talk.network.layout, given)
            if not here or found == here:
                return found
            screens.line(talk.out, f"This check is done at {here}; for {found} go back with b and take the check there (o)")


def _sure(talk: Talk, question: Question, text: str, given: dict[str, str]) -> bool:
    """Return whether an answer can be, and is meant; what is wrong with it is said."""
    try:
        text = judged(question, text, talk.network.layout, given)
    except BadInput as error:
        screens.line(talk.out, str(error))
        return False
    above = rise(question, text, given)
    if above:
        words = f"{text} is {above:.0f} rpm above the {given[question.against]} on BOTH, a rise; read both again"
        again = ask(talk.out, f"{words}. y read again and it is so, n type it again", {"y", "n"}) == "y"
        if again:
            given[AGAIN] = ""
        return again
    doubted = doubt(question, text, given)
    return not doubted or ask(talk.out, f"{doubted}: is that right? y yes, n type it again", {"y", "n"}) == "y"


def _fits(network: Network, question: Question, place: str) -> bool:
    if question.choices:
        return place in question.choices
    return place in network.layout.places(question.kind)


def _answer(talk: Talk, name: str, given: Mapping[str, str], regime: str, check: str, complaint: bool) -> Answer:
    """Return the recorded answer. Raises BadInput where the calculation refuses its numbers."""
    words = [option if option == AGAIN else f"{option}={text}" for option, text in given.items()]
    args = make_parser("calc").parse_args(["calc", name, *words])
    if hasattr(args, "layout"):
        args.layout = talk.network.layout.id
    if regime and hasattr(args, "regime"):
        args.regime = regime
    if regime == "hot" and hasattr(args, "hot"):
        args.hot = True
    args.person, args.check, args.complaint = talk.person, check, complaint
    answer = compute(args, Known(lambda: talk.network.base))
    made = record(talk.case(), talk.network, answer, args, mixed=True)
    opens = talk.opened()
    made += log.append_all(talk.path, talk.person, opens) if opens else ()
    talk.given.add(f"the numbers of: {answer.title}", [e.seq for e in made])
    return answer
