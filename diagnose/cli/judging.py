"""A field judged as it is typed: whether it can be, and whether it is likely to be meant."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.calc.units import read_quantity
from diagnose.cli.calculations.options import needed
from diagnose.cli.calculations.questions import Question
from diagnose.problems import BadInput

SPANS = {"rpm": (300.0, 5000.0), "rpm drop": (1.0, 1000.0)}  # as `calc mag-check` takes them
BIG_DROP = 500.0  # rpm: more than several silent cylinders cost; rather a slip of the pen (estimate)
BIG_RISE = 60.0  # rpm: a magneto check does not gain so much (estimate)


def judged(question: Question, text: str, cylinders: int) -> str:
    """Return an answer as it is kept. Raises BadInput where it cannot be one."""
    if question.choices:
        return _choice(question, text)
    if question.or_word and text.lower() == question.or_word:
        return question.or_word
    if question.kind in SPANS:
        low, high = SPANS[question.kind]
        value = needed(text, question.words, "rpm")
        if not low <= value <= high:
            raise BadInput(f"{question.words}: {text} is not between {low:g} and {high:g} rpm; type it again")
    elif question.kind in ("temperature", "height"):
        read_quantity(text, question.kind, question.words)
    elif question.kind == "per cylinder":
        count = len(text.split(","))
        if count != cylinders:
            raise BadInput(f"{count} numbers for {cylinders} cylinders; from No. 1 on, with commas, - where not read")
    return text


def doubt(question: Question, text: str, given: Mapping[str, str]) -> str:
    """Return what makes a number unlikely to be meant, to be asked about; empty where nothing does."""
    both = given.get(question.against, "")
    if not both or text == question.or_word:
        return ""
    drop = needed(both, "rpm on both", "rpm") - needed(text, question.words, "rpm")
    if drop > BIG_DROP:
        return f"A drop of {drop:.0f} rpm, from {both} to {text}"
    return f"A rise of {-drop:.0f} rpm, from {both} to {text}" if drop < -BIG_RISE else ""


def _choice(question: Question, text: str) -> str:
    """Return the choice meant: its first letters are enough."""
    exact = [c for c in question.choices if c.lower() == text.lower()]
    found = exact or [c for c in question.choices if c.lower().startswith(text.lower())]
    if len(found) != 1:
        raise BadInput(f"'{text[:40]}' is none of: {', '.join(question.choices)}")
    return found[0]
