"""How squawks as people write them are read: `python -m tests.words.squawks`; `--each` prints every one that is not read right."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

from diagnose import loaded
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import read_result
from diagnose.words.heard import Reading
from diagnose.words.reading import read_words

FILE = Path(__file__).parent / "squawks.yaml"


@dataclass(frozen=True)
class Squawk:
    """What was written, what became of each finding wanted (`right`, `choice`, `said`: missed and kept as said, `dropped`), what was wrong."""

    words: str
    found: tuple[tuple[str, str], ...]
    wrong: tuple[str, ...]
    read: int


def squawks(base: RuleBase) -> Iterator[Squawk]:
    """Yield every squawk as it is read."""
    for row in yaml.safe_load(FILE.read_text(encoding="utf-8"))["squawks"]:
        layout = base.layouts[row["layout"]]
        reading = read_words(row["words"], base, layout)
        got = {h.result for h in reading.understood}
        wanted = {text: [_meant(one, base, layout) for one in text.split(" / ")] for text in row["want"]}
        used = {r for ways in wanted.values() for way in ways for r in way}
        also = set(row.get("also", ()))
        wrong = tuple(sorted(r for r in got - used if r.partition("@")[0].partition(".")[0] not in also))
        yield Squawk(row["words"], tuple((text, _came_to(ways, got, reading)) for text, ways in wanted.items()), wrong, len(got))


def _meant(text: str, base: RuleBase, layout: Layout) -> frozenset[str]:
    return frozenset(str(r) for r in read_result(text, base, layout))


def _came_to(ways: list[frozenset[str]], got: set[str], reading: Reading) -> str:
    """Return how one finding was read."""
    if any(way <= got for way in ways):
        return "right"
    if any(way & set(question.choices) for way in ways for question in reading.unsure):
        return "choice"
    return "said" if reading.left or reading.unsure else "dropped"


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", action="store_true")
    each = parser.parse_args().each
    rows = list(squawks(loaded.rulebase()))
    for row in rows:
        if each and (row.wrong or any(how != "right" for _, how in row.found)):
            print(
                row.words,
                *(f"   {how}: {text}" for text, how in row.found if how != "right"),
                *(f"   WRONG {r}" for r in row.wrong),
                sep="\n",
            )
    count = Counter(how for row in rows for _, how in row.found)
    wrong, read = sum(len(row.wrong) for row in rows), sum(row.read for row in rows)
    print(
        f"{len(rows)} squawks, {sum(count.values())} findings: {dict(count)}; wrong {wrong} of {read} results read ({100 * wrong / read:.1f} %)"
    )


if __name__ == "__main__":
    main()
