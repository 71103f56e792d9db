"""The six questions every word of the vocabulary answers: what, where, when, how it goes, what changed it, what was done."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.rulebase.records import RuleBase, Symptom

QUESTIONS = {
    "what": "What is seen, heard, felt or read?",
    "where": "Where?",
    "when": "When, under which conditions?",
    "how it goes": "How does it go?",
    "what changed it": "What changed it?",
    "what was done": "What was done, and what came before?",
}
PLACES = {
    "engine": "the whole engine, running on BOTH",
    "left, right": "a magneto, and running on it alone",
    "3": "a cylinder",
    "3-bottom, 3/left": "a plug with its lead",
    "switch": "the ignition switch",
    "start": "the start aid's own box and wiring",
    "some": "at one place at least, which one is not known",
    "all": "at each place",
}


def of_symptom(base: RuleBase, symptom: Symptom) -> str:
    """Return the question a symptom answers: those of kind `course` by the templates that show them, the others the first."""
    if symptom.kind != "course":
        return "what"
    changes = {show.ref.symptom for t in base.templates.values() if t.goes == "change" for show in t.shows}
    return "what changed it" if symptom.id in changes else "how it goes"


def by_question(base: RuleBase) -> Iterator[tuple[str, str, str]]:
    """Yield (question, word, meaning) of the whole vocabulary, question by question."""
    for question in QUESTIONS:
        yield from ((question, s.id, s.label) for s in base.symptoms.values() if of_symptom(base, s) == question)
        if question == "where":
            yield from ((question, word, meaning) for word, meaning in PLACES.items())
        if question == "when":
            seen = [r for s in base.symptoms.values() for r in s.regimes]
            yield from ((question, regime, "") for regime in dict.fromkeys(seen))
            yield question, "any", "under one of them at least, which one is not known"
        if question == "what was done":
            yield from ((question, h.id, h.label) for h in base.history.values())
