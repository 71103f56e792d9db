"""`show` and `check`: the rule base itself."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import loaded
from diagnose.cli.pager import on_screen, show_lines
from diagnose.problems import BadInput, Problem
from diagnose.report import documents
from diagnose.report.text import EXTRA, columns, listed, listing, say, size, wrapped, write, write_json
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.questions import QUESTIONS, by_question
from diagnose.rulebase.reader import read_rulebase
from diagnose.rulebase.records import RuleBase, Settings


def show(args: argparse.Namespace) -> int:
    """Print a list or one entry of the rule base."""
    base = loaded.rulebase(tuple(args.rulebase))
    layout = loaded.layout_named(base, args.layout) if args.layout else None
    makers = {
        "symptoms": lambda: documents.show_symptoms(base, layout),
        "causes": lambda: documents.show_causes(base),
        "checks": lambda: documents.show_checks(base),
        "remedies": lambda: documents.show_remedies(base),
        "history": lambda: documents.show_history(base),
        "effects": lambda: documents.show_effects(base),
        "cautions": lambda: documents.show_cautions(base),
        "layouts": lambda: documents.show_layouts(base),
        "limits": lambda: documents.show_limits(base),
        "sources": lambda: documents.show_sources(base),
    }
    if args.what == "questions":
        return _questions(base, args.json)
    if args.what in makers:
        document = makers[args.what]()
        if args.json:
            write_json(document)
        elif on_screen():
            from diagnose.report.tables import table_lines

            heads = ("id", " ".join(EXTRA[args.what]).replace("_", " "), "what it is")
            show_lines(table_lines(heads, listed(document[args.what], args.what), size()[0]))
        else:
            write(listing(document[args.what], args.what))
        return 0
    from diagnose.report.entries import entry_lines

    lines = entry_lines(base, args.what.split("@")[0], makers, brief=not (args.all or args.json))
    if args.json:
        write_json({"schema": "show/1", "id": args.what, "lines": lines})
    else:
        show_lines(wrapped(lines).splitlines())
    return 0


def _questions(base: RuleBase, as_json: bool) -> int:
    """Print the vocabulary by the six questions its words answer."""
    rows = list(by_question(base))
    if as_json:
        words = [{"question": question, "word": word, "label": label} for question, word, label in rows]
        write_json({"schema": "show-questions/1", "questions": QUESTIONS, "words": words})
        return 0
    lines = []
    for question, asked in QUESTIONS.items():
        lines += [asked, *columns([(w, label) for q, w, label in rows if q == question], size()[0]), ""]
    show_lines(lines)
    return 0


def check(args: argparse.Namespace) -> int:
    """Print the problems of a rule base, exit code 1 where there are any; or the schema of its files."""
    if args.schema:
        from diagnose.rulebase.schema import schema

        write_json(schema())
        return 0
    folder = shipped("rulebase") if args.dir is None else Path(args.dir)
    if not folder.is_dir():
        why = "is a file" if folder.exists() else "does not exist"
        raise BadInput(f"folder '{folder}' {why}; give the folder of a rule base")
    base, problems, over = _checked(folder, [Path(d) for d in args.rulebase])
    if args.json:
        write_json(documents.check_document(problems))
    else:
        for problem in problems:
            write(str(problem))
        say(
            f"{over}{len(problems)} problems; {len(base.causes)} causes, {len(base.symptoms)} symptoms, "
            f"{len(base.checks)} checks, {len(base.remedies)} remedies, {len(base.layouts)} layouts"
        )
    return 1 if problems else 0


def _checked(folder: Path, more: list[Path]) -> tuple[RuleBase, list[Problem], str]:
    """Return a folder read as the program would use it, and how: one that states no version of its own lies over the shipped one."""
    base, problems = read_rulebase([folder, *more])
    if base.settings.version != Settings().version:
        return base, problems, ""
    return *read_rulebase([shipped("rulebase"), folder, *more]), f"{folder} over the shipped rule base: "
