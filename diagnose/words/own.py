"""The program's own words read back: labels, questions and grades as screens and papers print them."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.rulebase.records import RuleBase
from diagnose.words.lexicon import split_words


def squeezed(text: str) -> str:
    """Return a text with nothing but its words and numbers."""
    return " ".join(w for w in split_words(text) if w[0].isalnum())


def own_sentences(base: RuleBase) -> dict[str, tuple[str, str]]:
    """Return each label, question and "label: grade" -> (id, grade); what two entries share stands for neither."""
    found: dict[str, tuple[str, str]] = {}
    shared: set[str] = set()
    for text, meant in _sentences(base):
        if found.setdefault(text, meant) != meant:
            shared.add(text)
    return {text: meant for text, meant in found.items() if text not in shared}


def _sentences(base: RuleBase) -> Iterator[tuple[str, tuple[str, str]]]:
    for symptom in base.symptoms.values():
        worst = symptom.names[1]
        for text in (symptom.label, symptom.ask):
            yield squeezed(text), (symptom.id, worst)
            yield from ((squeezed(f"{text} {told}"), (symptom.id, grade)) for grade, told in symptom.grades.items())
    for history in base.history.values():
        first = next(iter(history.answers))
        for text in (history.label, history.ask):
            yield squeezed(text), (history.id, first)
            yield from ((squeezed(f"{text} {told}"), (history.id, answer)) for answer, told in history.answers.items())
