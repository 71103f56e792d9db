"""Which result speaks of which cause: the part of the network between the first causes and what was looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod

from diagnose.assessment.assess import Assessment
from diagnose.assessment.finding import words
from diagnose.report.pictures.levels import short_percent
from diagnose.report.pictures.svg import INK, NORMAL, PAPER, SMALL, Canvas, broken
from diagnose.report.screens import place_words
from diagnose.trouble.network import Network
from diagnose.trouble.results import node

MOST_CAUSES, MOST_RESULTS = 5, 9
LEAST = 0.05  # weaker links are left out
CAUSE_X, CAUSE_WIDE, RESULT_X, RESULT_WIDE = 4.0, 128.0, 206.0, 150.0
LINE = 12.0


@dataclass(frozen=True)
class Observed:
    """A located symptom that was looked at, and how each shown cause feeds it."""

    name: str
    label: str
    where: str
    grade: str
    abnormal: bool
    links: Mapping[str, float]


def cause_map(network: Network, assessment: Assessment, prefix: str = "cause-map") -> str:
    """Return the first causes (left) and the newest results they bear on (right), with how strongly, as SVG.

    A strength is how often the cause, when present, makes that result abnormal; links under `LEAST` are left out.
    """
    causes = _causes(assessment)
    observed = _observed(network, assessment, causes)
    canvas = Canvas(prefix)
    canvas.text(CAUSE_X, 14, "Causes", NORMAL, style="bold")
    canvas.text(RESULT_X, 14, "What was looked at", NORMAL, style="bold")
    results_bottom, ports = _results(canvas, observed, causes)
    causes_bottom = _cause_boxes(canvas, network, causes, ports, results_bottom)
    bottom = max(results_bottom, causes_bottom) + 14
    for text in (
        "Black edge: abnormal. White edge: normal, which speaks against its causes.",
        "Word: how often that cause makes the result abnormal.",
        "Thick line: expected or more; thin: fifty-fifty; broken: less.",
    ):
        bottom = canvas.paragraph(CAUSE_X, bottom, text)
    return canvas.document("Which result speaks of which cause", _says(network, causes, observed), bottom - 6)


def _causes(assessment: Assessment) -> list[tuple[str, float]]:
    """Return the first causes with their shares."""
    rows = [(r.id, r.share) for r in assessment.finding.causes]
    rows.sort(key=lambda row: (-round(row[1], 12), row[0]))
    return [row for row in rows[:MOST_CAUSES] if row[1] >= 0.01] or rows[:1]


def strength(network: Network, cause: str, symptom: str) -> float:
    """Return how often a cause that is present makes a located symptom abnormal, whatever its grade."""
    graph = network.graph
    misses: list[float] = [
        1.0 - graph.edges[cause, effect]["strength"] * (1.0 - graph.edges[effect, symptom]["levels"][0])
        for effect in graph.successors(cause)
        if graph.has_edge(effect, symptom)
    ]
    return 1.0 - float(prod(misses))


def _observed(network: Network, assessment: Assessment, causes: Sequence[tuple[str, float]]) -> list[Observed]:
    """Return the results worth showing: abnormal first, then what links most strongly to the likeliest causes."""
    newest = {}
    for look in assessment.trouble.looks:
        for result in look.results:
            if not result.history and result.high >= 0:
                newest[result.subject] = result
    found = []
    for result in newest.values():
        nodes = [node(result.symptom, r, p) for r in result.regimes for p in result.places]
        links = {c: max(strength(network, c, n) for n in nodes) for c, _ in causes}
        kept = {c: s for c, s in links.items() if s >= LEAST}
        symptom = network.base.symptoms[result.symptom]
        when = "" if result.regime in ("", "static") else f", {result.regime.replace('_', ' ')}"
        where = f"{'which one unknown' if result.several else place_words(network, result.place)}{when}"
        if kept and (result.abnormal or result.normal):
            found.append(Observed(result.subject, symptom.label, where, result.grade, result.abnormal, kept))
    weight = dict(causes)
    found.sort(key=lambda o: (not o.abnormal, -sum(weight[c] * s for c, s in o.links.items()), o.name))
    return found[:MOST_RESULTS]


def _results(
    canvas: Canvas, observed: Sequence[Observed], causes: Sequence[tuple[str, float]]
) -> tuple[float, list[tuple[str, float, float]]]:
    """Draw the results; return the line below and, for each link, its cause, strength and where it arrives."""
    numbers = {cause: n for n, (cause, _) in enumerate(causes, 1)}
    ports = []
    y = 22.0
    if not observed:
        canvas.text(RESULT_X, 34, "nothing yet", SMALL)
    for one in observed:
        lines = broken(one.label, RESULT_WIDE - 16, SMALL, 2) + broken(one.where, RESULT_WIDE - 16, SMALL, 2)
        high = LINE * (len(lines) + 1 + len(one.links)) + 8
        canvas.box(RESULT_X, y, RESULT_WIDE, high, PAPER, result=one.name)
        canvas.box(RESULT_X + RESULT_WIDE - 9, y, 9, high, INK if one.abnormal else PAPER)
        row = y + LINE
        for text in lines:
            canvas.text(RESULT_X + 7, row, text, SMALL)
            row += LINE
        told = f"{'ABNORMAL' if one.abnormal else 'normal'}: {one.grade}"
        canvas.text(RESULT_X + 7, row, told, SMALL, style="bold" if one.abnormal else "")
        row += LINE
        for cause, often in sorted(one.links.items(), key=lambda item: numbers[item[0]]):
            canvas.text(RESULT_X + 7, row, f"{numbers[cause]}: {words(often)}", SMALL, link=f"{cause} {one.name}")
            ports.append((cause, often, row - 3.5))
            row += LINE
        y += high + 7
    return y, ports


def _cause_boxes(
    canvas: Canvas, network: Network, causes: Sequence[tuple[str, float]], ports: Sequence[tuple[str, float, float]], bottom: float
) -> float:
    """Draw the causes spread over the height of the results, each with its links; return the line below."""
    tall = 82.0
    step = max(tall + 8, (bottom - 22) / len(causes))
    for number, (cause, share) in enumerate(causes):
        located = network.causes[cause]
        y = 22.0 + step * number + max(0.0, (step - tall - 8) / 2)
        mine = [port for port in ports if port[0] == cause]
        for place, (_, often, there) in enumerate(mine, 1):
            width, dash = (2.0, "") if often >= 0.625 else (0.9, "") if often >= 0.375 else (0.9, "3 3")
            canvas.line([(CAUSE_X + CAUSE_WIDE, y + tall * place / (len(mine) + 1)), (RESULT_X, there)], width, dash, link=cause)
        canvas.box(CAUSE_X, y, CAUSE_WIDE, tall, width=1.4, cause=cause)
        canvas.text(CAUSE_X + 7, y + 15, f"{number + 1}  {short_percent(share)}", NORMAL + 1, style="bold", of=cause)
        room = CAUSE_WIDE - 12
        lines = broken(located.cause.label, room, SMALL, 3) + broken(place_words(network, located.place), room, SMALL, 1)
        for row, text in enumerate(lines):
            canvas.text(CAUSE_X + 7, y + 30 + LINE * row, text, SMALL)
    return 22.0 + step * len(causes)


def _says(network: Network, causes: Sequence[tuple[str, float]], observed: Sequence[Observed]) -> str:
    named = {c: f"{network.causes[c].cause.label} at {place_words(network, network.causes[c].place)}" for c, _ in causes}
    first = "; ".join(f"{number} {named[c]}, {short_percent(s)}" for number, (c, s) in enumerate(causes, 1))
    told = []
    for one in observed:
        links = ", ".join(f"cause {n} {words(one.links[c])}" for n, (c, _) in enumerate(causes, 1) if c in one.links)
        told.append(f"{one.label} ({one.where}) is {'abnormal' if one.abnormal else 'normal'}: {links}")
    return f"Causes, likeliest first: {first}. How often each makes a result abnormal: {'; '.join(told) or 'nothing was looked at yet'}."
