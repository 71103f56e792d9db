"""`explain`: why things are as they are, in plain words, with a drawing where one is needed."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import loaded
from diagnose.cli.output import write_out
from diagnose.cli.pager import show_lines
from diagnose.places import Layout
from diagnose.problems import BadInput, did_you_mean
from diagnose.report import lesson
from diagnose.report.text import say, size, write_json
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import Principle, RuleBase

USUAL_LAYOUT = "opposed-4"  # the layout drawn where none is named


def explain(args: argparse.Namespace) -> int:
    """Print the topics, or one of them; with --out its drawing as a picture file."""
    base = loaded.rulebase(tuple(args.rulebase))
    if not args.topic:
        if args.json:
            write_json(lesson.topics_document(base))
        else:
            show_lines(lesson.topic_lines(base, size()[0]))
        return 0
    found = topics_of(base, " ".join(args.topic))
    layout = _layout(base, args.layout)
    if args.out:
        return _picture(found[0], layout, Path(args.out))
    if args.json:
        write_json(lesson.lesson_document(base, found[0], layout))
        return 0
    lines = lesson.lesson_lines(base, found[0], layout, size()[0])
    if len(found) > 1:
        lines += ["", f"Also: {', '.join(f'diagnose explain {p.id}' for p in found[1:])}"]
    show_lines(lines)
    return 0


def topics_of(base: RuleBase, words: str) -> list[Principle]:
    """Return the topic of a name as people write it (`E-gap`, `plug rotation`), or those of a check or cause, the first to read first.

    Raises BadInput naming the nearest.
    """
    name = words.partition("@")[0].strip().lower().replace("-", "_").replace(" ", "_")
    by_label = {p.label.lower().replace("-", "_").replace(" ", "_"): p for p in base.principles.values()}
    if name in base.principles or name in by_label:
        return [base.principles.get(name) or by_label[name]]
    entry = base.checks.get(name) or base.causes.get(name)
    found = principles_of(base, entry) if entry is not None else []
    if found:
        return found
    if entry is not None:
        raise BadInput(f"nothing explains '{name}' yet; `diagnose explain` lists what there is")
    raise BadInput(f"no topic is called '{words}'; {did_you_mean(name, [*base.principles, *base.checks, *base.causes])}")


def _layout(base: RuleBase, name: str) -> Layout:
    return loaded.layout_named(base, name or (USUAL_LAYOUT if USUAL_LAYOUT in base.layouts else next(iter(base.layouts))))


def _picture(principle: Principle, layout: Layout, path: Path) -> int:
    if not principle.drawing:
        raise BadInput(f"'{principle.id}' has no drawing; leave --out away to read it")
    from diagnose.report.drawings.as_svg import svg_of
    from diagnose.report.drawings.made import MAKERS

    write_out(path, svg_of(MAKERS[principle.drawing](layout), principle.id) + "\n")
    say(f"drawn: {path}")
    return 0
