"""Which causes the cases of a folder ever rank first: a tolerant reader, and the ranking of what it reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose import results
from diagnose.audit.findings import NOTICE, Found
from diagnose.evidence import LookResults, prepare
from diagnose.finding import rank
from diagnose.network import Network
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase


@dataclass(frozen=True)
class CaseText:
    """A case as texts: the layout's id, what was complained of, every other result; `name` says where it stands."""

    layout: str
    complaint: tuple[str, ...]
    results: tuple[str, ...]
    name: str = ""


def read_cases(folder: Path) -> Iterator[CaseText | Found]:
    """Yield the cases of every YAML file under a folder that has a `case:` mapping (or `cases:`, a list of them).

    A file without either is passed over; one that cannot be read is a finding. A missing folder yields nothing.
    """
    for path in sorted(folder.rglob("*.yaml")):
        try:
            document = _loaded(path)
        except (OSError, ValueError) as error:
            yield Found(NOTICE, "case-unreadable", str(path.relative_to(folder)), f"{path.name} cannot be read: {error}".split("\n")[0],
                        "mend the file")  # fmt: skip
            continue
        if not isinstance(document, Mapping):
            continue
        listed = document.get("cases")
        for case in [document.get("case"), *(listed if isinstance(listed, list) else ())]:
            if isinstance(case, Mapping):
                yield CaseText(str(case.get("layout", "")), _texts(case.get("complaint")), _texts(case.get("results")),
                               str(path.relative_to(folder)))  # fmt: skip


def _loaded(path: Path) -> Any:
    """Return a YAML document; ValueError where it is none."""
    import yaml

    try:
        return yaml.safe_load(path.read_text("utf-8"))
    except yaml.YAMLError as error:
        raise ValueError(str(error)) from error


def _texts(given: object) -> tuple[str, ...]:
    """Return results as texts from a list, a text with blanks between, or a map subject -> grade."""
    if isinstance(given, str):
        return tuple(given.split())
    if isinstance(given, Mapping):
        # YAML reads a bare yes or no as true or false.
        return tuple(f"{subject}={ {True: 'yes', False: 'no'}.get(grade, grade) }" for subject, grade in given.items())
    return tuple(str(one) for one in given) if isinstance(given, list | tuple) else ()


def first_of(network: Network, complaint: Sequence[str], given: Sequence[str]) -> str:
    """Return the located cause ranked first for a case given as texts; BadInput where a text is not readable."""
    base, layout = network.base, network.layout
    every = results.read_results((*complaint, *given), base, layout)
    subjects = {r.subject for r in results.read_results(complaint, base, layout)}
    named = tuple(r for r in every if r.subject in subjects) or results.default_complaint(every, base)
    return rank(network, prepare(network, (LookResults(every, named),)))[1][0].id


def findings(base: RuleBase, network_of: Callable[[str], Network], cases: Iterable[CaseText | Found]) -> list[Found]:
    """Return the causes no case ranks first, and the cases that cannot be used.

    `network_of` returns the network of a layout by id. Without any case one notice says so.
    """
    found: list[Found] = []
    first: set[str] = set()
    count = 0
    for case in cases:
        if isinstance(case, Found):
            found.append(case)
            continue
        count += 1
        try:
            if case.layout not in base.layouts:
                raise BadInput(f"layout '{case.layout}' is not known")
            first.add(first_of(network_of(case.layout), case.complaint, case.results).partition("@")[0])
        except (BadInput, ArithmeticError) as error:
            found.append(Found(NOTICE, "case-unreadable", case.name or f"case {count}", f"{case.name}: {error}", "mend the case"))
    if not count:
        return [*found, Found(NOTICE, "no-cases", "cases", "there are no cases, so no cause is known to come first in any",
                              "write cases: a layout, a complaint, results, and what is expected first")]  # fmt: skip
    return [*found, *(
        Found(NOTICE, "never-first", cause, f"{cause} is ranked first by none of the {count} cases", "write a case of it")
        for cause in base.causes if cause not in first
    )]  # fmt: skip
