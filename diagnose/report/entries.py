"""One entry of the rule base as text: every number with where it comes from."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Any

from diagnose.problems import BadInput, did_you_mean
from diagnose.report.cause_brief import brief_lines
from diagnose.report.documents import number_text, users
from diagnose.rulebase.entry import Entry
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import (
    Access,
    Cause,
    Caution,
    Check,
    History,
    Limit,
    Mechanism,
    Remedy,
    RuleBase,
    Show,
    Symptom,
    Template,
)


def entry_lines(base: RuleBase, ident: str, lists: Collection[str] = (), brief: bool = False) -> list[str]:
    """Return the page of one entry; BadInput names the nearest ids, and of `lists`, the words that name a whole section.

    `brief`: a cause comes first and without its numbers.
    """
    found = [s[ident] for s in _sections(base) if ident in s]
    if not found and ident not in base.templates:
        known = [*lists, *base.templates, *(name for s in _sections(base) for name in s)]
        raise BadInput(f"nothing is called '{ident}'; {did_you_mean(ident, known)}")
    templates = [base.templates[ident]] if ident in base.templates else []
    short = [line for entry in found if brief and isinstance(entry, Cause) for line in brief_lines(base, entry)]
    rest = [entry for entry in found if not (brief and isinstance(entry, Cause))]
    return [*short, *(line for entry in rest for line in _lines(base, entry)), *(line for x in templates for line in _template(base, x))]


def _sections(base: RuleBase) -> tuple[dict[str, Entry], ...]:
    every = (
        *(base.symptoms, base.causes, base.history, base.checks, base.remedies, base.access),
        *(base.cautions, base.limits, base.mechanisms, base.sources),
    )
    return tuple(dict(section) for section in every)


def _lines(base: RuleBase, entry: Entry) -> Iterator[str]:
    kind = type(entry).__name__.lower()
    yield f"{entry.id}  ({kind}, {entry.layer}, {entry.mark.file}:{entry.mark.line})"
    yield f"  {entry.label}"
    yield from _own(base, entry)
    why = principles_of(base, entry)
    if why:
        yield f"  why: {'; '.join(f'{p.label} (diagnose explain {p.id})' for p in why)}"
    if entry.source:
        yield f"  source: {'; '.join(cite(base, c) for c in entry.source)}"


def _own(base: RuleBase, entry: Entry) -> Iterator[str]:
    """Give the lines that only entries of its kind have."""
    makers: dict[type, Callable[[Any], Iterator[str]]] = {
        Cause: _cause,
        Symptom: lambda e: _symptom(base, e),
        Check: _check,
        Remedy: lambda e: _remedy(base, e),
        History: _history,
        Limit: _limit,
        Access: _access,
        Caution: lambda e: _caution(base, e),
        Mechanism: _mechanism,
    }
    if type(entry) in makers:
        yield from makers[type(entry)](entry)


def cite(base: RuleBase, citation: str) -> str:
    """Return a citation with the title of its document in place of the id."""
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
    for effect in (*cause.goes, *cause.effects):
        where = f" for {effect.for_each}" if effect.for_each else ""
        name = f" as {effect.template}" if effect.template else ""
        kind = "goes" if effect in cause.goes else "effect"
        regimes = f" in {', '.join(effect.regimes)}" if effect.regimes else ""
        needs = f" where {', '.join(effect.needs)}" if effect.needs else ""
        yield f"  {kind}{name}{where}{regimes}{needs}: strength {number_text(effect.strength)}"
        yield from _shows(effect.shows)


def _shows(shows: Iterable[Show]) -> Iterator[str]:
    for show in shows:
        for grade, number in show.levels.items():
            yield f"    {show.ref}{'=' + grade if grade else ''}: {number_text(number)}"


def _template(base: RuleBase, template: Template) -> Iterator[str]:
    where = f", {template.mark.file}:{template.mark.line}" if template.mark else ""
    yield f"{template.id}  (effect, {template.layer}{where})"
    if template.note:
        yield f"  {template.note}"
    if template.goes:
        yield f"  for `goes:` of causes, as {'their course' if template.goes == 'course' else 'what changes it'}"
        yield f"  strength {number_text(template.strength) if template.strength else 'not given'}"
    yield "  shows, given the effect:"
    yield from _shows(template.shows)
    for way in template.split:
        share = f": {number_text(way.share)} of the strength" if way.share else ""
        yield f"  split{' where ' + ', '.join(way.needs) if way.needs else ''}{share}; shows {', '.join(way.only) or 'all of it'}"
    yield f"  used by: {', '.join(users(base, template)) or 'no cause'}"
    if template.source:
        yield f"  source: {'; '.join(cite(base, c) for c in template.source)}"


def _caution(base: RuleBase, caution: Caution) -> Iterator[str]:
    turns = {"run": "runs the engine", "crank": "cranks the engine", "hand": "turns it by hand"}
    if caution.turns:
        yield f"  a step that carries it {turns.get(caution.turns, caution.turns)}"
    if caution.prove_off:
        yield "  the OFF check is due after such a step"
    steps = [x.id for s in (base.checks, base.remedies, base.access) for x in s.values() if caution.id in x.cautions]
    yield f"  said at: {', '.join(steps) or 'no step of the rule base'}"


def _symptom(base: RuleBase, symptom: Symptom) -> Iterator[str]:
    yield f"  asked: {symptom.ask}"
    yield f"  at {', '.join(symptom.at)}; regimes {', '.join(symptom.regimes)} (default {symptom.default})"
    for grade, text in symptom.grades.items():
        leak = symptom.leak.get(grade)
        yield f"    {grade}: {text}" + (f"  (with no known cause: {number_text(leak)})" if leak else "")
    if symptom.suffix:
        yield f"  after a result: {', '.join(f'~{word} ({grade})' for word, grade in symptom.suffix.items())}"
    users = [c.id for c in base.causes.values() if any(s.ref.symptom == symptom.id for e in (*c.effects, *c.goes) for s in e.shows)]
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


def _limit(limit: Limit) -> Iterator[str]:
    yield f"  value {number_text(limit.value, limit.unit)}"
    yield f"  document: {limit.document}, revision {limit.revision}"


def _access(access: Access) -> Iterator[str]:
    yield f"  minutes {number_text(access.minutes)}; ends {', '.join(access.ends) or 'nothing'}"
    yield f"  cautions: {', '.join(access.cautions) or 'none of its own'}"


def _mechanism(mechanism: Mechanism) -> Iterator[str]:
    for step in mechanism.steps:
        yield f"  reaches {', '.join(step.regimes)}: {number_text(step.share)}"
