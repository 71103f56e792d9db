"""The program's own words read back: labels, questions and grades as screens and papers print them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from diagnose.places import SIDES, Layout
from diagnose.rulebase.records import History, RuleBase, Symptom
from diagnose.rulebase.speech import ANY
from diagnose.trouble.results import NOTHING
from diagnose.trouble.sentences import sentence_of
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


def own_results(base: RuleBase, layout: Layout) -> dict[str, str]:
    """Return every sentence that a result of this engine reads as -> the result."""
    found: dict[str, str] = {}
    entries: Mapping[str, Symptom | History] = {**base.symptoms, **base.history}
    for entry in entries.values():
        for subject in _subjects(entry, layout):
            for grade in _grades(entry):
                found.setdefault(squeezed(sentence_of(base, layout, f"{subject}={grade}")), f"{subject}={grade}")
    return found


def _subjects(entry: Symptom | History, layout: Layout) -> Iterator[str]:
    """Yield what results of a symptom or a question can be about: each place, and some of them, in each regime and in any."""
    if isinstance(entry, History):
        yield from (f"{entry.id}@{place}" for place in dict.fromkeys(("engine", *layout.places(entry.at))))
        return
    rests = [*(f"-{p}" for p in layout.positions), *(f"/{s}" for s in SIDES)] if "circuit" in entry.at else []
    several = [f"some{rest}" for rest in ("", *rests)] if len([p for k in entry.some for p in layout.places(k)]) > 1 else []
    regimes = [*entry.regimes, ANY] if len(entry.regimes) > 1 else entry.regimes
    places = [*(p for kind in entry.at for p in layout.places(kind)), *several]
    yield from (f"{entry.id}.{regime}@{place}" for regime in regimes for place in places)


def _grades(entry: Symptom | History) -> Iterator[str]:
    """Yield every grade, each two and all of the abnormal ones, and that it is not known."""
    names = entry.names if isinstance(entry, Symptom) else tuple(entry.answers)
    yield from names
    if isinstance(entry, Symptom) and len(names) > 2:
        yield from dict.fromkeys([*("|".join(two) for two in pairwise(names[1:])), "|".join(names[1:])])
    yield from NOTHING
