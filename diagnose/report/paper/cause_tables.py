"""Which result speaks of which cause, as a table for each stretch of the work between two repairs.

A cause is shown only up to the repair that ended it: what is normal afterwards shows that the repair held, and says nothing
against the cause.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import prod

from diagnose.assessment.finding import words as scale_word
from diagnose.case.log import Event
from diagnose.report.paper.alternatives import repairs
from diagnose.report.paper.complaints import told_together
from diagnose.report.paper.model import Block, Section, para, table
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import cause_text, located, moved_result, pct
from diagnose.review.replay import Ranking
from diagnose.trouble.exchanges import Moves, moved_links, touched
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, node

MOST_CAUSES, MOST_ABNORMAL, MOST_NORMAL = 3, 6, 2
NEW = "Since the"
LEAST = 0.05  # weaker links are left out
TOLD = "How often each cause, where it is present, makes a result abnormal. A normal result speaks against a cause that often shows there."


@dataclass(frozen=True)
class Looked:
    """A result, with what each cause fed when it was seen: parts may have changed places before it.

    `exchange` is the entry of the last exchange that touched what it looks at; 0 where none did.
    """

    result: Result
    moves: Moves
    exchange: int = 0
    looks: tuple[LookResults, ...] = ()


@dataclass(frozen=True)
class Stretch:
    """The work up to one repair (or up to now): its results, newest of each subject, and the causes believed at its end.

    What an exchange of parts touched was looked at twice: the result before it and the one after it are of different parts.
    """

    title: str
    results: tuple[Looked, ...]
    causes: tuple[tuple[str, float], ...]
    looks: tuple[LookResults, ...] = ()
    past: bool = False


def cause_section(story: Story) -> Iterator[Section]:
    """Yield the section of the tables; nothing where there is no complaint or nothing to show."""
    blocks: list[Block] = [_table(story, number, s) for number, s in enumerate(stretches(story), 1)]
    if blocks:
        yield Section("causes", "Which result speaks of which cause", (para(TOLD, "small"), *blocks))


def stretches(story: Story) -> Iterator[Stretch]:
    """Yield each stretch that saw anything abnormal, oldest first: up to each repair, and up to each further complaint."""
    ended: set[str] = set()
    start, title = 0, ""
    for until, head, before, causes in _cuts(story):
        yield from _stretch(story, title if head.startswith(NEW) else head, start, until, before, ended)
        ended |= causes
        start, title = until - head.startswith(NEW), head if head.startswith(NEW) else "Since the last repair"
    yield from _stretch(story, title or "Up to now", start, story.events[-1].seq + 1, story.last, ended)


def _cuts(story: Story) -> list[tuple[int, str, Ranking, set[str]]]:
    """Return where one stretch ends: entry, what it is called, what was believed before it, and the causes it ends."""
    step = {s.event.seq: s for s in story.steps}
    found = [(t.first, f"{NEW} {t.name.lower()}, entry {t.first}", step[t.first].before, set[str]()) for t in told_together(story)[1:]]
    for mended in repairs(story):
        title = f"Before the repair of entry {mended.event.seq}: {located(story.network, str(mended.event.data.get('remedy', '')))}"
        found.append((mended.event.seq, title, mended.step.before, {cause for cause, _ in mended.causes}))
    return sorted(found, key=lambda cut: cut[0])


def _stretch(story: Story, title: str, start: int, end: int, belief: Ranking, ended: set[str]) -> Iterator[Stretch]:
    newest: dict[tuple[str, int], Looked] = {}
    looks: tuple[LookResults, ...] = ()
    moves: dict[int, Moves] = {}  # exchanges done so far -> what they moved
    for event, trouble in zip(story.events, story.troubles, strict=True):
        if start < event.seq < end:
            looks = trouble.looks
            count = len(exchanges(looks))
            if count not in moves:
                moves[count] = moved_links(story.network, exchanges(looks))
            for seen in _looked(story, event, looks, moves[count]):
                newest[seen.result.subject, seen.exchange] = seen
    shares = [(r.id, belief.share(r.id)) for r in belief.causes if r.id not in ended]
    causes = tuple(sorted((c for c in shares if c[1] >= LEAST), key=lambda c: (-c[1], c[0]))[:MOST_CAUSES])
    if causes and any(seen.result.abnormal for seen in newest.values()):
        yield Stretch(title, tuple(newest.values()), causes, looks, end <= len(story.events))


def _looked(story: Story, event: Event, looks: Sequence[LookResults], moves: Moves) -> Iterator[Looked]:
    """Yield the results of an entry in force that tell something, each with the exchanges before it and what those moved."""
    if event.kind != "result" or story.withdrawn(event):
        return
    done = exchanges(looks)
    made = [e.seq for e in story.live("exchange") if e.seq < event.seq][-len(done) :] if done else []
    for result in story.read(story.result(event)):
        if not result.history and result.high >= 0:
            nodes = {node(result.symptom, r, p) for r in result.regimes for p in result.places}
            mine = [seq for seq, one in zip(made, done, strict=False) if nodes & touched(story.network, one)]
            yield Looked(result, moves, mine[-1] if mine else 0, tuple(looks))


def strength(network: Network, cause: str, symptom: str, moves: Moves | None = None) -> float:
    """Return how often a cause that is present makes a located symptom abnormal, whatever its grade; `moves`: parts exchanged."""
    graph, mine = network.graph, (moves or {}).get(cause, {})
    misses: list[float] = [
        1.0 - graph.edges[cause, effect]["strength"] * (1.0 - graph.edges[effect, shown]["levels"][0])
        for effect in graph.successors(cause)
        for shown in graph.successors(effect)
        if mine.get(shown, shown) == symptom
    ]
    return 1.0 - float(prod(misses))


def links(network: Network, seen: Looked, causes: Sequence[str]) -> Mapping[str, float]:
    """Return cause -> how often it makes a result abnormal, weak links left out."""
    nodes = [node(seen.result.symptom, r, p) for r in seen.result.regimes for p in seen.result.places]
    found = {c: max(strength(network, c, n, seen.moves) for n in nodes) for c in causes}
    return {c: s for c, s in found.items() if s >= LEAST}


def _table(story: Story, number: int, stretch: Stretch) -> Block:
    names = [c for c, _ in stretch.causes]
    weight = dict(stretch.causes)
    rows = [(seen, links(story.network, seen, names)) for seen in stretch.results if seen.result.abnormal or seen.result.normal]
    kept = [(seen, found) for seen, found in rows if found]
    kept.sort(key=lambda row: (-sum(weight[c] * s for c, s in row[1].items()), row[0].result.subject))
    said = [f"{cause_text(story.network, c, stretch.looks, 'then' if stretch.past else 'now')}, {pct(s)}" for c, s in stretch.causes]
    heads = [(f"cause_{n}", text) for n, text in enumerate(said, 1)]
    columns = (("result", "What was looked at"), ("outcome", "Came out"), *heads)
    abnormal, normal = ([row for row in kept if row[0].result.abnormal == way] for way in (True, False))
    cells = [_row(story, seen, found, names) for seen, found in (*abnormal[:MOST_ABNORMAL], *normal[:MOST_NORMAL])]
    return table(f"causes_{number}", stretch.title, columns, cells)


def _row(story: Story, seen: Looked, found: Mapping[str, float], names: Sequence[str]) -> tuple[str, ...]:
    told = moved_result(story, str(seen.result), seen.looks)
    told += f" (after the exchange of entry {seen.exchange})" if seen.exchange else ""
    outcome = "ABNORMAL" if seen.result.abnormal else "normal"
    return told, outcome, *(f"{scale_word(found[c])}, {pct(found[c])}" if c in found else "-" for c in names)
