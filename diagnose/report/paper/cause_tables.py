"""Which result speaks of which cause, as a table for each stretch of the work between two repairs.

A cause is shown only up to the repair that ended it: what is normal afterwards shows that the repair held, and says nothing
against the cause.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import prod

from diagnose.assessment.finding import words as scale_word
from diagnose.report.paper.alternatives import repairs
from diagnose.report.paper.model import Block, Section, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import cause_text, located, pct, result_text
from diagnose.review.replay import Ranking
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node

MOST_CAUSES, MOST_ABNORMAL, MOST_NORMAL = 3, 4, 2
LEAST = 0.05  # weaker links are left out
TOLD = "How often each cause, where it is present, makes a result abnormal. A normal result speaks against a cause that often shows there."


@dataclass(frozen=True)
class Stretch:
    """The work up to one repair (or up to now): its results, newest of each subject, and the causes believed at its end."""

    title: str
    results: tuple[Result, ...]
    causes: tuple[tuple[str, float], ...]


def cause_section(story: Story) -> Iterator[Section]:
    """Yield the section of the tables; nothing where there is no complaint or nothing to show."""
    blocks: list[Block] = [_table(story, number, s) for number, s in enumerate(stretches(story), 1)]
    if blocks:
        yield Section("causes", "Which result speaks of which cause", (para(TOLD, "small"), *blocks))


def stretches(story: Story) -> Iterator[Stretch]:
    """Yield each stretch that saw anything abnormal, oldest first."""
    ended: set[str] = set()
    start = 0
    for mended in repairs(story):
        title = f"Before the repair of entry {mended.event.seq}: {located(story.network, str(mended.event.data.get('remedy', '')))}"
        yield from _stretch(story, title, start, mended.event.seq, mended.step.before, ended)
        ended |= {cause for cause, _ in mended.causes}
        start = mended.event.seq
    title = "Since the last repair" if start else "Up to now"
    yield from _stretch(story, title, start, len(story.events) + 1, story.last, ended)


def _stretch(story: Story, title: str, start: int, end: int, belief: Ranking, ended: set[str]) -> Iterator[Stretch]:
    newest: dict[str, Result] = {}
    for event in story.live("result"):
        if start < event.seq < end:
            newest |= {r.subject: r for r in story.read(story.result(event)) if not r.history and r.high >= 0}
    shares = [(r.id, belief.share(r.id)) for r in belief.causes if r.id not in ended]
    causes = tuple(sorted((c for c in shares if c[1] >= LEAST), key=lambda c: (-c[1], c[0]))[:MOST_CAUSES])
    if causes and any(r.abnormal for r in newest.values()):
        yield Stretch(title, tuple(newest.values()), causes)


def strength(network: Network, cause: str, symptom: str) -> float:
    """Return how often a cause that is present makes a located symptom abnormal, whatever its grade."""
    graph = network.graph
    misses: list[float] = [
        1.0 - graph.edges[cause, effect]["strength"] * (1.0 - graph.edges[effect, symptom]["levels"][0])
        for effect in graph.successors(cause)
        if graph.has_edge(effect, symptom)
    ]
    return 1.0 - float(prod(misses))


def links(network: Network, result: Result, causes: Sequence[str]) -> Mapping[str, float]:
    """Return cause -> how often it makes a result abnormal, weak links left out."""
    nodes = [node(result.symptom, r, p) for r in result.regimes for p in result.places]
    found = {c: max(strength(network, c, n) for n in nodes) for c in causes}
    return {c: s for c, s in found.items() if s >= LEAST}


def _table(story: Story, number: int, stretch: Stretch) -> Block:
    names = [c for c, _ in stretch.causes]
    weight = dict(stretch.causes)
    rows = [(r, links(story.network, r, names)) for r in stretch.results if r.abnormal or r.normal]
    kept = [(r, found) for r, found in rows if found]
    kept.sort(key=lambda row: (-sum(weight[c] * s for c, s in row[1].items()), row[0].subject))
    heads = [(f"cause_{n}", f"{cause_text(story.network, c)}, {pct(s)}") for n, (c, s) in enumerate(stretch.causes, 1)]
    columns = (("result", "What was looked at"), ("outcome", "Came out"), *heads)
    abnormal, normal = ([row for row in kept if row[0].abnormal == way] for way in (True, False))
    cells = [_row(story, result, found, names) for result, found in (*abnormal[:MOST_ABNORMAL], *normal[:MOST_NORMAL])]
    return table(f"causes_{number}", stretch.title, columns, cells)


def _row(story: Story, result: Result, found: Mapping[str, float], names: Sequence[str]) -> tuple[str, ...]:
    told = result_text(story.network, str(result))
    outcome = "ABNORMAL" if result.abnormal else "normal"
    return told, outcome, *(f"{scale_word(found[c])}, {pct(found[c])}" if c in found else "-" for c in names)
