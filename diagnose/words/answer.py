"""From findings to an answer: results, questions where one is in doubt, and what is kept as said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.places import Layout
from diagnose.rulebase.records import History, RuleBase, Symptom
from diagnose.words.finding import Finding, turned
from diagnose.words.heard import Heard, Reading, Unsure, settled
from diagnose.words.matching import CHOICES

MOST_ASKED = 2  # places that one question is asked for, one by one

Asked = tuple[str, Sequence[Finding]]
Entries = Mapping[str, Symptom | History]
Place = tuple[str, tuple[tuple[str, ...], tuple[int, ...], tuple[str, ...]]]


def answer(
    findings: Sequence[Finding], asked: Sequence[Asked], ready: Sequence[Heard], left: Sequence[str], base: RuleBase, layout: Layout
) -> Reading:
    """Return the reading that findings come to, with what was read before (`ready`) and what was not (`left`)."""
    heard, unsure, kept = list(ready), list[Unsure](), list(left)
    entries: Entries = {**base.history, **base.symptoms}
    wrong = {(f.id, place_of(f)) for f in findings if f.id in base.symptoms and not _normal(f, entries)}
    for finding in findings:
        if finding.by_not and _normal(finding, entries) and (finding.id, place_of(finding)) in wrong:
            continue  # "some sand, no water": one way of it denied, another seen
        if _elsewhere(finding, wrong, entries):
            unsure += _questions(finding.words, _in_each(finding, findings, entries), base, layout)
            continue
        results, choose = finding.results(base, layout)
        if not results:
            kept.append(finding.words)
        elif choose:
            unsure.append(Unsure(finding.words, tuple(results[:CHOICES])))
        elif finding.doubt:
            other = replace(finding, grade=turned(entries[finding.id], finding.grade))
            unsure += _questions(finding.words, [finding, other], base, layout)
        else:
            heard += [Heard(r, finding.words) for r in results]
    for words, said in asked:
        questions = _questions(words, said, base, layout)
        unsure += questions
        kept += [] if questions else [words]
    return settled(heard, unsure, kept)


def _questions(words: str, said: Sequence[Finding], base: RuleBase, layout: Layout) -> list[Unsure]:
    """Return a question for each place that is meant, so that none is dropped; nothing where there are more than MOST_ASKED."""
    ways = [found for found in (f.results(base, layout)[0] for f in said) if 0 < len(found) <= MOST_ASKED]
    return [
        Unsure(words, tuple(dict.fromkeys(found[number] for found in ways if number < len(found)))[:CHOICES])
        for number in range(max(map(len, ways), default=0))
    ]


def _elsewhere(finding: Finding, wrong: set[Place], entries: Entries) -> bool:
    """Return whether what was just called wrong is said to be fine under a condition that was not read: "smooths out coming down"."""
    entry = entries[finding.id]
    several = not isinstance(entry, History) and len(entry.regimes) > 1
    return several and not finding.own_regime and _normal(finding, entries) and (finding.id, place_of(finding)) in wrong


def _in_each(finding: Finding, findings: Sequence[Finding], entries: Entries) -> list[Finding]:
    """Return a finding in the regimes it may be meant in: those it was not called wrong in."""
    entry = entries[finding.id]
    called = {r for f in findings if f.id == finding.id and not _normal(f, entries) for r in f.regimes}
    regimes = () if isinstance(entry, History) else entry.regimes
    return [replace(finding, regimes=(r,)) for r in regimes if r not in called][:CHOICES]


def _normal(finding: Finding, entries: Entries) -> bool:
    entry = entries[finding.id]
    return not isinstance(entry, History) and finding.grade == entry.names[0]


def place_of(finding: Finding) -> tuple[tuple[str, ...], tuple[int, ...], tuple[str, ...]]:
    """Return where a finding is, for telling two of one symptom apart."""
    return finding.spot.sides, finding.spot.cylinders, finding.spot.positions
