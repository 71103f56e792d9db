"""What a version stands for, boiled down to a few letters: every number of the rule base, everything the program takes and gives.

Texts do not count: a sentence may be put better without a new version. Numbers are rounded to 9 digits, so that the order of
a sum on another machine is no new version.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from random import Random
from typing import Any

from diagnose.belief import exact
from diagnose.cli.parser import make_parser
from diagnose.places import Layout
from diagnose.report.paper.as_json import paper_document
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.worksheet import worksheet
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import build
from tests.belief import networks
from tests.report.samples import full, story_at

TEXTS = frozenset(
    [
        "mark",
        "marks",
        "layer",
        "label",
        "source",
        "ask",
        "note",
        "how",
        "not_here",
        "refit",
        "tools",
        "synonyms",
        "document",
        "revision",
        "version",
        "updated",
    ]
)


def plain(value: Any) -> Any:
    """Return records, maps and numbers as lists and texts that JSON can order; texts that only explain are left out."""
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value) if f.name not in TEXTS}
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(map(str, value))
    return [plain(inner) for inner in value] if isinstance(value, (list, tuple)) else value


def digest(value: Any) -> str:
    """Return 16 letters that stand for a value."""
    return hashlib.sha256(json.dumps(plain(value), sort_keys=True).encode()).hexdigest()[:16]


def rulebase(folder: Path | None = None) -> str:
    """Return the digest of a rule base (the shipped one): its network on every layout, work, history, limits and settings."""
    base, problems = read_rulebase([folder or shipped("rulebase")])
    assert not problems, problems
    built = {name: network(base, layout) for name, layout in base.layouts.items()}
    rest = (base.settings, base.layouts, base.checks, base.remedies, base.access, base.history, base.limits)
    return digest([built, *rest])


def network(base: RuleBase, layout: Layout) -> list[Any]:
    """Return the numbers of a rule base on a layout, without the order its entries stand in."""
    model = build(base, layout).model
    causes = {c.id: [c.prior, sorted(json.dumps(plain(e), sort_keys=True) for e in c.effects)] for c in model.causes}
    return [causes, model.leaks]


def program(folder: Path) -> str:
    """Return the digest of the program; `folder` takes a case of which the papers are made.

    Commands and options, the fields of the papers, and what belief comes to on drawn numbers.
    """
    return digest([list(_options(make_parser("calc"), "")), _paper_fields(folder), _answers()])


def _options(parser: argparse.ArgumentParser, name: str) -> Iterator[tuple[Any, ...]]:
    for action in parser._actions:
        choices: Any = action.choices or ()
        yield name, action.option_strings, action.dest, str(action.nargs), sorted(map(str, choices)), action.required
        if isinstance(choices, Mapping):
            for command, inner in choices.items():
                yield from _options(inner, f"{name} {command}")


def _paper_fields(folder: Path) -> list[str]:
    """Return the keys of every section, value and table of the three papers of one case."""
    story = story_at(full(folder / "full.case"))
    documents = [paper_document(make(story)) for make in (worksheet, entry_draft, handover)]
    return sorted({f"{d['schema']}{key}" for d in documents for section in d["sections"] for key in _keys(section, "")})


def _keys(section: Mapping[str, Any], above: str) -> Iterator[str]:
    path = f"{above}/{section['key']}"
    yield path
    for block in section["blocks"]:
        yield from (f"{path}/{value['key']}" for value in block.get("values", ()))
        yield from (f"{path}/{block['key']}/{column}" for column in block.get("columns", ()))
    for part in section["parts"]:
        yield from _keys(part, path)


def _answers() -> list[Any]:
    drawn = []
    for seed in range(6):
        rng = Random(seed)
        model = networks.network(rng, 4, 4)
        drawn.append(exact.believe(model, networks.evidence(rng, model, looks=1 + seed % 3)))
    return drawn
