"""One entry of the rule base as text: every number with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.problems import BadInput, did_you_mean
from diagnose.report.documents import number_text
from diagnose.rulebase.records import Cause, Check, Entry, History, Remedy, RuleBase, Symptom


def entry_lines(base: RuleBase, ident: str) -> list[str]:
    """Return the page of one entry; BadInput names the nearest ids."""
    found = [s[ident] for s in _sections(base) if ident in s]
    if not found:
        known = [name for s in _sections(base) for name in s]
        raise BadInput(f"nothing is called '{ident}'; {did_you_mean(ident, known)}")
    return [line for entry in found for line in _lines(base, entry)]


def _sections(base: RuleBase) -> tuple[dict[str, Entry], ...]:
    every = (base.symptoms, base.causes, base.history, base.checks, base.remedies, base.access, base.cautions, base.limits, base.sources)
    return tuple(dict(section) for section in every)


def _lines(base: RuleBase, entry: Entry) -> Iterator[str]:
    kind = type(entry).__name__.lower()
    yield f"{entry.id}  ({kind}, {entry.layer}, {entry.mark.file}:{entry.mark.line})"
    yield f"  {entry.label}"
    if isinstance(entry, Cause):
        yield from _cause(entry)
    elif isinstance(entry, Symptom):
        yield from _symptom(base, entry)
    elif isinstance(entry, Check):
        yield from _check(entry)
    elif isinstance(entry, Remedy):
        yield from _remedy(base, entry)
    elif isinstance(entry, History):
        yield from _history(entry)
    if entry.source:
        yield f"  source: {'; '.join(_cite(base, c) for c in entry.source)}"


def _cite(base: RuleBase, citation: str) -> str:
    ident, _, page = citation.partition(" ")
    title = base.sources[ident].label if ident in base.sources else ident
    return f"{title}{', ' + page if page else ''}"


def _cause(cause: Cause) -> Iterator[str]:
    yield f"  family {cause.family}, JASC {cause.jasc or 'none'} (from memory), at each {cause.at}"
    priors = {"": cause.prior} if cause.prior else dict(cause.prior_by)
    for position, number in priors.items():
        yield f"  prior {position + ' ' if position else ''}{number_text(number) if number else ''}"
    if cause.note:
        yield f"  note: {cause.note}"
    yield f"  remedies: {', '.join(cause.remedies)}"
    for effect in cause.effects:
        where = f" for {effect.for_each}" if effect.for_each else ""
        name = f" as {effect.template}" if effect.template else ""
        regimes = f" in {', '.join(effect.regimes)}" if effect.regimes else ""
        needs = f" where {', '.join(effect.needs)}" if effect.needs else ""
        yield f"  effect{name}{where}{regimes}{needs}: strength {number_text(effect.strength)}"
        for show in effect.shows:
            for grade, number in show.levels.items():
                yield f"    {show.ref}{'=' + grade if grade else ''}: {number_text(number)}"


def _symptom(base: RuleBase, symptom: Symptom) -> Iterator[str]:
    yield f"  asked: {symptom.ask}"
    yield f"  at {', '.join(symptom.at)}; regimes {', '.join(symptom.regimes)} (default {symptom.default})"
    for grade, text in symptom.grades.items():
        leak = symptom.leak.get(grade)
        yield f"    {grade}: {text}" + (f"  (with no known cause: {number_text(leak)})" if leak else "")
    users = [c.id for c in base.causes.values() if any(s.ref.symptom == symptom.id for e in c.effects for s in e.shows)]
    yield f"  shown by: {', '.join(users) or 'no cause'}"
    checks = [c.id for c in base.checks.values() if any(r.symptom == symptom.id for r in c.gives)]
    yield f"  given by: {', '.join(checks) or 'no check'}"


def _check(check: Check) -> Iterator[str]:
    yield f"  gives: {', '.join(str(r) for r in check.gives)}"
    yield f"  minutes {number_text(check.minutes)}; access {', '.join(check.access) or 'none'}; people {check.people}"
    yield f"  tools: {', '.join(check.tools) or 'none'}"
    yield f"  how: {check.how}"
    if check.refit:
        yield f"  afterwards: {check.refit}"
    yield f"  cautions: {', '.join(check.cautions) or 'none of its own'}"


def _remedy(base: RuleBase, remedy: Remedy) -> Iterator[str]:
    yield f"  at each {remedy.at}; minutes {number_text(remedy.minutes)}; changes a part: {'yes' if remedy.parts else 'no'}"
    yield f"  ends: {', '.join(base.removes(remedy.id))}"
    yield f"  may silence for a while: {', '.join(remedy.may_quiet) or 'nothing'}"
    yield f"  how: {remedy.how}"


def _history(history: History) -> Iterator[str]:
    yield f"  asked: {history.ask}"
    for target, factors in history.acts_on.items():
        row = ", ".join(f"{answer} x{number_text(number)}" for answer, number in factors.items())
        yield f"    {target}: {row}"
