"""Problems of how results read: a symptom, grade or place without words, words for what does not exist."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from diagnose.problems import Problem, did_you_mean
from diagnose.rulebase.nodes import problem
from diagnose.rulebase.records import History, RuleBase, Symptom
from diagnose.rulebase.speech import ANY, SLOTS, PlaceForm, Sentence

_SLOT = re.compile(r"\{(.*?)\}")
ALONE = ("engine", "switch", "start")  # an engine has one of each: the place need not be said


def sentence_problems(base: RuleBase, sound: RuleBase) -> Iterator[Problem]:
    """Yield every problem of the sections `where`, `when` and `sentences`; `sound` holds the entries without problems of their own."""
    for form in base.where.values():
        yield from _form(form)
    for ident, sentence in base.sentences.items():
        if ident not in base.symptoms and ident not in base.history:
            yield problem(sentence.mark, "reference", f"nothing is called '{ident}'", did_you_mean(ident, [*base.symptoms, *base.history]))
    entries: Mapping[str, Symptom | History] = {**sound.symptoms, **sound.history}
    for ident, entry in entries.items():
        if ident in base.sentences:
            yield from _sentence(base, base.sentences[ident], entry)
        else:
            yield problem(
                entry.mark, "sentence", f"'{ident}' has no sentence for a result", f"write one for each grade under `sentences: {ident}:`"
            )


def _form(form: PlaceForm) -> Iterator[Problem]:
    for kind, words in form.words.items():
        for slot in _SLOT.findall(words):
            if slot not in SLOTS:
                yield problem(form.marks[kind], "slot", f"'{form.id}' leaves '{slot}' open", did_you_mean(slot, SLOTS))


def _sentence(base: RuleBase, sentence: Sentence, entry: Symptom | History) -> Iterator[Problem]:
    grades = entry.names if isinstance(entry, Symptom) else tuple(entry.answers)
    regimes = entry.regimes if isinstance(entry, Symptom) else ()
    places = entry.at if isinstance(entry, Symptom) else (entry.at,)
    for grade in grades:
        if not sentence.texts.get(grade):
            yield problem(sentence.mark, "sentence", f"'{entry.id}' has no sentence for '{grade}'", f"add `{grade}:` to it")
    for grade in sentence.texts:
        if grade not in grades:
            yield problem(sentence.marks[grade], "grade", f"'{entry.id}' has no grade '{grade}'", did_you_mean(grade, grades))
    for regime in sentence.when:
        if regime not in regimes:
            yield problem(
                sentence.marks["when"], "regime", f"'{entry.id}' is not seen in '{regime}'", did_you_mean(regime, regimes or (ANY,))
            )
    yield from _places(base, sentence, places)
    yield from _regimes(base, sentence, regimes)


def _places(base: RuleBase, sentence: Sentence, places: Sequence[str]) -> Iterator[Problem]:
    mark = sentence.marks.get("of", sentence.mark)
    if sentence.of and sentence.of not in base.where:
        yield problem(mark, "reference", f"no form of `where` is called '{sentence.of}'", did_you_mean(sentence.of, base.where))
        return
    said = base.where[sentence.of].words if sentence.of else {}
    for kind in places:
        if kind not in said and kind not in ALONE:
            able = [form.id for form in base.where.values() if kind in form.words]
            yield problem(
                mark, "place", f"the sentences of '{sentence.id}' do not say which {kind}", f"name under `of:` one of {', '.join(able)}"
            )


def _regimes(base: RuleBase, sentence: Sentence, regimes: Sequence[str]) -> Iterator[Problem]:
    for regime in regimes:
        if regime != "static" and regime not in sentence.when and regime not in base.when:
            yield problem(
                sentence.mark,
                "regime",
                f"no words for the regime '{regime}' of '{sentence.id}'",
                f"add `{regime}: {{said: ...}}` to `when:`",
            )
    if len(regimes) > 1 and ANY not in base.when:
        yield problem(
            sentence.mark, "regime", f"no words for '{ANY}' of the regimes of '{sentence.id}'", f"add `{ANY}: {{said: ...}}` to `when:`"
        )
