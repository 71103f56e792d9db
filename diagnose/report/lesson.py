"""A principle as a page, as a document, and as a list of topics."""

from __future__ import annotations

from typing import Any

from diagnose.places import Layout
from diagnose.report.drawings.as_text import text_of
from diagnose.report.drawings.made import MAKERS
from diagnose.report.entries import cite
from diagnose.report.text import WIDTH, columns, folded
from diagnose.rulebase.records import Principle, RuleBase

DECIDES = "The manufacturer's current manual and local rules decide; licensed people do the work."


def topic_lines(base: RuleBase, width: int = WIDTH) -> list[str]:
    """Return every topic on a line of its own."""
    rows = [(p.id, "drawn" if p.drawing else "", p.label) for p in base.principles.values()]
    return ["Topics: diagnose explain TOPIC. The id of a check or a cause leads to its own.", *columns(rows, width)]


def lesson_lines(base: RuleBase, principle: Principle, layout: Layout, width: int = WIDTH) -> list[str]:
    """Return a topic as it is read: the drawing, why, what it means for finding a fault, cautions, where to go on, sources.

    The drawing comes first, so that the end of a screen does not cut it.
    """
    lines = [principle.label.upper()]
    if principle.drawing:
        lines += ["", *text_of(MAKERS[principle.drawing](layout), width)]
    for text in principle.plain:
        lines += ["", *folded(text, width)]
    lines += ["", "FINDING A FAULT", *folded(principle.isolates, width)]
    if principle.cautions:
        lines += ["", "CAUTION, each where that work is done"]
        for name in principle.cautions:
            lines += folded(f"! {base.cautions[name].label}", width, "", "  ")
        lines += folded(DECIDES, width)
    lines += ["", "CHECKS THAT WORK BY IT", *columns([(c, base.checks[c].label) for c in principle.checks], width)]
    return [*lines, "", *folded(f"Source: {'; '.join(_cited(base, principle))}", width, "", "  ")]


def _cited(base: RuleBase, principle: Principle) -> list[str]:
    """Return every document once, with all its pages."""
    pages: dict[str, list[str]] = {}
    for citation in principle.source:
        ident, _, page = citation.partition(" ")
        pages.setdefault(ident, []).extend([page] if page else [])
    return [", ".join((cite(base, ident), *found)) for ident, found in pages.items()]


def topics_document(base: RuleBase) -> dict[str, Any]:
    """Return the `explain-topics/1` document."""
    rows = [{"id": p.id, "label": p.label, "short": p.short, "drawing": p.drawing or None} for p in base.principles.values()]
    return {"schema": "explain-topics/1", "topics": rows}


def lesson_document(base: RuleBase, principle: Principle, layout: Layout) -> dict[str, Any]:
    """Return the `explain/1` document."""
    return {
        "schema": "explain/1",
        "id": principle.id,
        "label": principle.label,
        "short": principle.short,
        "plain": list(principle.plain),
        "isolates": principle.isolates,
        "drawing": text_of(MAKERS[principle.drawing](layout)) if principle.drawing else [],
        "cautions": [{"id": c, "text": base.cautions[c].label} for c in principle.cautions],
        "checks": list(principle.checks),
        "causes": list(principle.causes),
        "source": [cite(base, c) for c in principle.source],
    }
