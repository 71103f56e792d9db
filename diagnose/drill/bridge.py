"""The bridge read from its file: ids of the rule base on one side, names of the stand on the other; nothing else names both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

FILE = Path(__file__).with_name("bridge.yaml")
Words = tuple[str | int | bool, ...]


@dataclass(frozen=True)
class Bridge:
    """`running` and `starting` are the symptoms that want the engine so; `noticed` are (symptom.regime, kind of place) by line.

    `always` are history answers of every engine, `injected` the question for it, `only_fuel` the symptoms that only an injected (True) or
    a carburetted one has, `no_such_unit` cautions for what no engine of the stand has.
    """

    faults: Mapping[str, tuple[str, ...]]
    answers: Mapping[str, Words]
    running: frozenset[str]
    starting: frozenset[str]
    sound: frozenset[str]
    silent: Mapping[str, str]
    burns_clean: frozenset[str]
    noticed: tuple[tuple[tuple[str, str], ...], ...]
    mends: Mapping[str, tuple[str, ...]]
    without_effect: frozenset[str]
    always: Mapping[str, str]
    injected: str
    only_fuel: Mapping[bool, frozenset[str]]
    no_such_unit: frozenset[str]


@cache
def bridge() -> Bridge:
    """Return the shipped bridge, read once."""
    told = yaml.safe_load(FILE.read_text("utf-8"))
    answers, sight = told["answers"], told["plain_sight"]
    return Bridge(
        faults={name: tuple(causes) for name, causes in told["faults"].items()},
        answers={name: tuple(words) for kind in answers.values() for name, words in kind.items()},
        running=frozenset(answers["running"]),
        starting=frozenset(answers["starting"]),
        sound=frozenset(told["sound"]),
        silent=told["silent"],
        burns_clean=frozenset(told["burns_clean"]),
        noticed=tuple(tuple(_at(text) for text in line) for line in told["noticed"]),
        mends={name: tuple(steps) for name, steps in told["mends"].items()},
        without_effect=frozenset(told["without_effect"]),
        always=sight["always"],
        injected=sight["injected"],
        only_fuel={True: frozenset(sight["only_injected"]), False: frozenset(sight["only_carburetted"])},
        no_such_unit=frozenset(sight["no_such_unit"]),
    )


def _at(text: str) -> tuple[str, str]:
    stem, _, kind = text.partition("@")
    return stem, kind
