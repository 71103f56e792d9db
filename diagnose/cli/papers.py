"""`record`, `report`, `handover`: the three papers of a case, each in four forms."""

from __future__ import annotations

import argparse
import json
from importlib import import_module

from diagnose.cli.opened import opened
from diagnose.cli.output import put_out
from diagnose.cli.progress import followed
from diagnose.report.paper.model import Paper
from diagnose.report.paper.story import story_of

PAPERS = {"record": "entry_draft", "report": "worksheet", "handover": "handover"}


def record(args: argparse.Namespace) -> int:
    """Write out the draft of a maintenance-record entry."""
    return _paper(args, "record")


def report(args: argparse.Namespace) -> int:
    """Write out the diagnosis worksheet."""
    return _paper(args, "report")


def handover(args: argparse.Namespace) -> int:
    """Write out the hand-over sheet."""
    return _paper(args, "handover")


def _paper(args: argparse.Namespace, command: str) -> int:
    case, network = opened(args)
    story = story_of(case, network, lambda steps: followed("going through the entries", steps, len(case.events)))
    name = PAPERS[command]
    paper: Paper = getattr(import_module(f"diagnose.report.paper.{name}"), name)(story)
    put_out(args.out, written(paper, args.format))
    return 0


def written(paper: Paper, form: str) -> str:
    """Return a paper in one of the forms: text, html, markdown or json."""
    if form == "html":
        from diagnose.report.paper.as_html import paper_html

        return paper_html(paper)
    if form == "markdown":
        from diagnose.report.paper.as_markdown import paper_markdown

        return paper_markdown(paper)
    if form == "json":
        from diagnose.report.paper.as_json import paper_document

        return json.dumps(paper_document(paper), indent=1, ensure_ascii=False) + "\n"
    from diagnose.report.paper.as_text import paper_text

    return paper_text(paper)
