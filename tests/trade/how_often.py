"""How often each fault shows each of its signs, as somebody of the trade put it without seeing the numbers of the rule base.

Most links of every cause have a row in `how_often/`: a fault at one place of one layout, a result, a word. The words
were written from how the circuit works, before they were held against the rule base. Where the two
lay apart and the number was kept, the row carries `settled`: it then guards against change and proves nothing. So does
`alike`: the fault shows there as in another place or regime, in the same word, and the number was seen to fit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from diagnose.trouble.network import Network

FOLDER = Path(__file__).parent / "how_often"
# Out of a hundred engines with the fault, looked at once: least and most for each word. Estimates, no source.
WORDS = {"nearly_always": (0.7, 1.0), "usually": (0.42, 0.85), "often": (0.17, 0.55), "seldom": (0.035, 0.25), "rarely": (0.0, 0.075)}


@dataclass(frozen=True)
class Row:
    """One fault, one result (that grade or worse), one word."""

    layout: str
    cause: str
    finding: str
    grade: str
    word: str
    settled: bool
    alike: bool = False


@cache
def rows() -> tuple[Row, ...]:
    """Return every row of every file."""
    return tuple(row for path in sorted(FOLDER.glob("*.yaml")) for row in _rows(yaml.load(path.read_text(), yaml.CSafeLoader)))


def _rows(layouts: dict[str, dict[str, dict[str, str]]]) -> Iterator[Row]:
    for layout, causes in layouts.items():
        for cause, results in causes.items():
            for result, text in results.items():
                finding, grade = result.split("=")
                word, *settled = text.split(", ")
                yield Row(layout, cause, finding, grade, word, settled == ["settled"], settled == ["alike"])


@cache
def rows_of(cause: str) -> tuple[Row, ...]:
    """Return the rows about a cause, by its id without the place."""
    return tuple(row for row in rows() if row.cause.split("@")[0] == cause)


def shown(network: Network, cause: str, finding: str, grade: str) -> float:
    """Return how often a cause alone shows a result or worse in one look; no leak, no other cause."""
    level = network.symptoms[finding].symptom.names.index(grade)
    known, total = network.cause_nodes[cause], 0.0
    for reached, chance in enumerate(known.reach):
        hidden = 1.0
        for effect in (e for e in known.effects if e.step <= reached):
            for link in (x for x in effect.links if x.finding == finding):
                hidden *= 1.0 - effect.strength * sum(link.levels[level:])
        total += chance * (1.0 - hidden)
    return total


def failing(network: Network, row: Row) -> str:
    """Return what is wrong with a row on a network of its layout; empty where it holds."""
    grades = network.symptoms[row.finding].symptom.names
    if row.word not in WORDS or row.grade not in grades:
        return f"{row.cause}: `{row.finding}={row.grade}: {row.word}` wants a grade of {', '.join(grades[1:])} and a word of {', '.join(WORDS)}"
    share = shown(network, row.cause, row.finding, row.grade)
    least, most = WORDS[row.word]
    if least <= share <= most:
        return ""
    return f"{row.cause} shows {row.finding}={row.grade} in {share:.2f}, not {row.word.replace('_', ' ')} ({least}-{most})"
