"""`show` and `check`: the rule base itself."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from diagnose import loaded
from diagnose.problems import BadInput
from diagnose.report import documents
from diagnose.report.text import listing, say, wrapped, write
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase


def show(args: argparse.Namespace) -> int:
    """Print a list or one entry of the rule base."""
    base = loaded.rulebase(tuple(args.rulebase))
    layout = loaded.layout_named(base, args.layout) if args.layout else None
    makers = {
        "symptoms": lambda: documents.show_symptoms(base, layout),
        "causes": lambda: documents.show_causes(base),
        "checks": lambda: documents.show_checks(base),
        "remedies": lambda: documents.show_remedies(base),
        "layouts": lambda: documents.show_layouts(base),
        "limits": lambda: documents.show_limits(base),
        "sources": lambda: documents.show_sources(base),
    }
    if args.what in makers:
        document = makers[args.what]()
        write(json.dumps(document, ensure_ascii=False, indent=1) if args.json else listing(document[args.what], args.what))
        return 0
    from diagnose.report.entries import entry_lines

    lines = entry_lines(base, args.what.split("@")[0])
    write(json.dumps({"schema": "show/1", "id": args.what, "lines": lines}, indent=1) if args.json else wrapped(lines))
    return 0


def check(args: argparse.Namespace) -> int:
    """Print the problems of a rule base, exit code 1 where there are any; or the schema of its files."""
    if args.schema:
        from diagnose.rulebase.schema import schema

        write(json.dumps(schema(), ensure_ascii=False, indent=1))
        return 0
    folder = shipped("rulebase") if args.dir is None else Path(args.dir)
    if not folder.is_dir():
        why = "is a file" if folder.exists() else "does not exist"
        raise BadInput(f"folder '{folder}' {why}; give the folder of a rule base")
    base, problems = read_rulebase([folder, *(Path(d) for d in args.rulebase)])
    if args.json:
        write(json.dumps(documents.check_document(problems), ensure_ascii=False, indent=1))
    else:
        for problem in problems:
            write(str(problem))
        say(
            f"{len(problems)} problems; {len(base.causes)} causes, {len(base.symptoms)} symptoms, "
            f"{len(base.checks)} checks, {len(base.remedies)} remedies, {len(base.layouts)} layouts"
        )
    return 1 if problems else 0
