"""A result as a mechanic says it: the place first, what was found, the condition last. The words stand in the rule base."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.places import Layout, kind_of
from diagnose.rulebase.records import RuleBase
from diagnose.rulebase.speech import Sentence

HERE = "..."  # where the sentence stands among the words of its place
NOT_SEEN = {"unknown": "not known", "cannot": "could not be checked"}


def sentence_of(base: RuleBase, layout: Layout, result: str) -> str:
    """Return a canonical result (`symptom.regime@place=grade`) as a sentence without its stop.

    Raises KeyError where this rule base does not know it.
    """
    subject, _, grade = result.rpartition("=")
    if grade in NOT_SEEN:
        return f"{question_of(base, layout, subject)} {NOT_SEEN[grade]}"
    sentence, regime, place = _subject(base, subject)
    texts = [_whole(base, layout, sentence, place, regime, sentence.texts[g]) for g in grade.split("|")]
    return _alternatives(texts)


def question_of(base: RuleBase, layout: Layout, subject: str) -> str:
    """Return what a result looks at (`symptom.regime@place`): its first abnormal grade, with a question mark."""
    sentence, regime, place = _subject(base, subject)
    symptom = base.symptoms.get(sentence.id)
    grade = symptom.names[1] if symptom is not None else next(iter(base.history[sentence.id].answers))
    return f"{_whole(base, layout, sentence, place, regime, sentence.texts[grade])}?"


def finding_of(base: RuleBase, result: str) -> str:
    """Return what a sentence says without its place: what was found, and the condition."""
    subject, _, grade = result.rpartition("=")
    sentence, regime, _ = _subject(base, subject)
    return f"{sentence.texts[grade]} {_when(base, sentence, regime)}".strip()


def _subject(base: RuleBase, subject: str) -> tuple[Sentence, str, str]:
    """Return sentence, regime (empty for history) and place; a regime left out is the default one."""
    name, _, place = subject.partition("@")
    ident, _, regime = name.partition(".")
    if ident in base.symptoms:
        regime = regime or base.symptoms[ident].default
    return base.sentences[ident], regime, place


def _whole(base: RuleBase, layout: Layout, sentence: Sentence, place: str, regime: str, text: str) -> str:
    where = _where(base, layout, sentence, place)
    said = where.replace(HERE, text) if HERE in where else f"{where} {text}".strip()
    return f"{said} {_when(base, sentence, regime)}".strip()


def _when(base: RuleBase, sentence: Sentence, regime: str) -> str:
    if regime in sentence.when:
        return sentence.when[regime]
    return "" if regime in ("", "static") else base.when[regime].said


def _where(base: RuleBase, layout: Layout, sentence: Sentence, place: str) -> str:
    """Return the words of a place, of one or another where several kinds are meant; empty where none are wanted."""
    words: Mapping[str, str] = base.where[sentence.of].words if sentence.of else {}
    told = [
        " ".join(words[kind].format(**_slots(layout, place, kind)).split()) for kind in _kinds(base, sentence.id, place) if kind in words
    ]
    return " or ".join(dict.fromkeys(told))


def _kinds(base: RuleBase, ident: str, place: str) -> tuple[str, ...]:
    """Return the kinds of place meant."""
    some, all_ = place.startswith("some"), place.startswith("all")
    if not some and not all_:
        return (kind_of(place),)
    if "-" in place or "/" in place:
        return ("circuit",)
    entry = base.symptoms.get(ident)
    return (entry.some or entry.at[-1:]) if entry is not None else (base.history[ident].at,)


def _slots(layout: Layout, place: str, kind: str) -> Mapping[str, str]:
    """Return what stands for each slot of `speech.SLOTS` at a place."""
    for word, count in (("some", "one"), ("all", "each")):
        if place.startswith(word):
            return _several(place.removeprefix(word), count)
    cylinder, _, position = place.partition("-")
    side = place if kind == "side" else layout.side_of.get(place, "")
    named = f"No. {cylinder}"
    return {"no": named, "position": position, "cylinder": named, "the": f"the {side} magneto", "side": side, "owner": side}


def _several(rest: str, count: str) -> Mapping[str, str]:
    """Return the same for one or each of several places; `rest` narrows them: `-bottom`, `/left`."""
    narrowed = rest[1:]
    the = f"the {narrowed} magneto" if rest.startswith("/") else f"its {narrowed} plug" if narrowed else f"{count} magneto"
    position = f"{narrowed}-magneto" if rest.startswith("/") else narrowed
    return {"no": count, "position": position, "cylinder": f"{count} cylinder", "the": the, "side": count, "owner": f"{count} magneto's"}


def _alternatives(texts: list[str]) -> str:
    """Return sentences as one, what they share said once: "left drop over the limit or too big at run-up"."""
    words = [text.split(" ") for text in texts]
    if len(words) == 1:
        return texts[0]
    shortest = min(len(w) for w in words)
    front = next((i for i in range(shortest) if len({w[i] for w in words}) > 1), shortest - 1)
    back = next((i for i in range(shortest) if len({w[-1 - i] for w in words}) > 1), shortest)
    back = min(back, shortest - front - 1)
    middles = [" ".join(w[front : len(w) - back]) for w in words]
    return " ".join([*words[0][:front], " or ".join(middles), *words[0][len(words[0]) - back :]])
