"""Numbers asked for one by one: a calculation as questions, its results into the case."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.case.case import Case
from diagnose.cli.calculating import compute, record
from diagnose.cli.calculations.known import Known
from diagnose.cli.calculations.questions import QUESTIONS, Question
from diagnose.cli.judging import doubt, judged
from diagnose.cli.parser import make_parser
from diagnose.cli.prompt import ask
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results

if TYPE_CHECKING:
    from rich.console import Console

BACK = "b"
TOOL = (Question("--tool", "Tool and its identity"), Question("--calibration", 'Its calibration due: 2026-11-30, or "none needed"'))


def ask_numbers(
    out: Console,
    case: Case,
    network: Network,
    name: str,
    person: str,
    check: str = "",
    place: str = "",
    regime: str = "",
    complaint: bool = False,
) -> bool:
    """Ask for the numbers of one calculation, show what they say and record them; False where they were given up.

    A number that cannot be used is explained, and the questions come again with what was given before.
    """
    given: dict[str, str] = {}
    screens.line(out, "Numbers. Enter: not read, or as before; b one back, from the first to the step.", "dim")
    while True:
        if not _ask_all(out, network, name, place, given):
            return False
        try:
            answer = _answer(network, name, given, regime, person, check, complaint, case)
        except BadInput as error:
            screens.line(out, str(error))
            continue
        _show(out, network, answer)
        return True


def _show(out: Console, network: Network, answer: Answer) -> None:
    """Print what the numbers say and which results they came to: the normal ones only as a count."""
    for text in answer.says:
        screens.line(out, text, "", 2)
    found = read_results(answer.results, network.base, network.layout)
    told = [r for r in found if not r.normal]
    for result in told:
        screens.line(out, f"recorded: {screens.result_words(network, str(result))}", "dim")
    rest = len(found) - len(told)
    if rest:
        screens.line(out, f"recorded: {'the other ' if told else ''}{rest} normal", "dim")


def _ask_all(out: Console, network: Network, name: str, place: str, given: dict[str, str]) -> bool:
    asked = (*QUESTIONS[name], *TOOL)
    position = 0
    while position < len(asked):
        question = asked[position]
        known = given.get(question.option) or (place if question.place and _fits(network, place) else "")
        text = _ask_one(out, network, question, known, given)
        if text == BACK and position == 0:
            return False
        position += -1 if text == BACK else 1
        if text and text != BACK:
            given[question.option] = text
    return True


def _ask_one(out: Console, network: Network, question: Question, known: str, given: Mapping[str, str]) -> str:
    """Return the answer to one question, judged as it is typed: what is known where nothing is, `b` for a step back."""
    shown = f" [{known}]" if known else ""
    while True:
        text = ask(out, f"{question.words}{shown}", None)
        if not text or text.lower() == BACK:
            return text.lower() or known
        if text.lower() == "u":
            return ""
        try:
            text = judged(question, text, network.layout.cylinders)
        except BadInput as error:
            screens.line(out, str(error))
            continue
        doubted = doubt(question, text, given)
        if not doubted or ask(out, f"{doubted}: is that right? y yes, n type it again", {"y", "n"}) == "y":
            return text


def _fits(network: Network, place: str) -> bool:
    return place in network.layout.places("circuit") or place in network.layout.places("side") or place.isdigit()


def _answer(
    network: Network, name: str, given: dict[str, str], regime: str, person: str, check: str, complaint: bool, case: Case
) -> Answer:
    """Return the recorded answer. Raises BadInput where the calculation refuses its numbers."""
    words = [f"{option}={text}" for option, text in given.items()]
    args = make_parser("calc").parse_args(["calc", name, *words])
    if hasattr(args, "layout"):
        args.layout = network.layout.id
    if regime and hasattr(args, "regime"):
        args.regime = regime
    if regime == "hot" and hasattr(args, "hot"):
        args.hot = True
    args.person, args.check, args.complaint = person, check, complaint
    answer = compute(args, Known(lambda: network.base))
    record(case, network, answer, args)
    return answer
