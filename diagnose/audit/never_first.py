"""Which causes the cases of a folder never rank first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from diagnose.assessment.finding import rank
from diagnose.audit.findings import NOTICE, Found
from diagnose.problems import BadInput
from diagnose.rulebase.casebook import CaseSheet, read_cases
from diagnose.rulebase.records import RuleBase
from diagnose.trouble import results
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network


def first_of(network: Network, sheet: CaseSheet) -> str:
    """Return the located cause ranked first for a case; BadInput where one of its results is not readable."""
    base, layout = network.base, network.layout
    named = results.as_complaint(results.read_results(sheet.complaint, base, layout))
    every = results.read_results((*sheet.history, *sheet.complaint, *sheet.results), base, layout)
    subjects = {r.subject for r in named}
    chosen = tuple(r for r in every if r.subject in subjects) or results.default_complaint(every, base)
    return rank(network, prepare(network, (LookResults(every, chosen),)))[1][0].id


def findings(base: RuleBase, network_of: Callable[[str], Network], folder: Path) -> list[Found]:
    """Return the causes that no case of a folder ranks first, and what cannot be used of the cases.

    `network_of` returns the network of a layout by id. Without any case one notice says so.
    """
    sheets, problems = read_cases(folder)
    found = [Found(NOTICE, "case-unreadable", f"{p.file}:{p.line}", str(p), "mend the case") for p in problems]
    leading = [s for s in sheets if s.expect.first]
    if not leading:
        return [
            *found,
            Found(
                NOTICE,
                "no-cases",
                "cases",
                "there are no cases, so no cause is known to come first in any",
                "write cases: a layout, a complaint, results, and what is expected first",
            ),
        ]
    first: set[str] = set()
    for sheet in leading:
        if any(_cause(name, base) not in first for name in sheet.expect.first):
            found += _rank(base, network_of, sheet, first)
    return [*found, *_never(base, first, len(leading))]


def _cause(name: str, base: RuleBase) -> str:
    """Return the cause an expectation names; a remedy's group stands for whatever leads it, so it is always ranked."""
    ident = name.partition("@")[0]
    return ident if ident in base.causes else ""


def _rank(base: RuleBase, network_of: Callable[[str], Network], sheet: CaseSheet, first: set[str]) -> Iterator[Found]:
    """Add the cause a case ranks first to `first`; yield what stands in the way."""
    try:
        if sheet.layout not in base.layouts:
            raise BadInput(f"layout '{sheet.layout}' is not known")
        first.add(first_of(network_of(sheet.layout), sheet).partition("@")[0])
    except (BadInput, ArithmeticError) as error:
        yield Found(NOTICE, "case-unreadable", sheet.name, f"{sheet.name}: {error}", "mend the case")


def _never(base: RuleBase, first: set[str], count: int) -> Iterator[Found]:
    for cause in base.causes:
        if cause not in first:
            yield Found(
                NOTICE,
                "never-first",
                cause,
                f"{cause} is ranked first by none of the {count} cases that say what leads",
                "write a case of it",
            )
