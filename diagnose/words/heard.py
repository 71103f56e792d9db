"""What was heard of a saying: results with their words, questions, and what was not understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.words.matching import CHOICES


@dataclass(frozen=True)
class Heard:
    """One result understood, and the words it came from."""

    result: str
    words: str


@dataclass(frozen=True)
class Unsure:
    """Words that can mean two or three things."""

    words: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class Reading:
    """What a saying came to. Nothing of it is believed before a person has confirmed it."""

    understood: tuple[Heard, ...] = ()
    unsure: tuple[Unsure, ...] = ()
    left: tuple[str, ...] = ()


def settled(heard: Sequence[Heard], unsure: Sequence[Unsure], left: Sequence[str]) -> Reading:
    """Return the reading with each result once; what was said both ways is asked about."""
    by_subject: dict[str, dict[str, Heard]] = {}
    for one in heard:
        by_subject.setdefault(one.result.partition("=")[0], {}).setdefault(one.result, one)
    clear = [next(iter(said.values())) for said in by_subject.values() if len(said) == 1]
    torn = [
        Unsure("; ".join(dict.fromkeys(h.words for h in said.values())), tuple(said)[:CHOICES])
        for said in by_subject.values()
        if len(said) > 1
    ]
    known = {h.result for h in clear}
    asked = [u for u in (*unsure, *torn) if not set(u.choices) <= known]
    return Reading(tuple(clear), tuple(dict.fromkeys(asked)), tuple(dict.fromkeys(left)))
