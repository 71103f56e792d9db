"""Counts: links, entries, families, and every number of a rule base by the kind of source it names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

from diagnose.rulebase.entry import Number
from diagnose.rulebase.records import Cause, EffectRule, RuleBase

KINDS = ("citation", "common practice", "from memory", "estimate")
SECTIONS = ("symptoms", "causes", "history", "checks", "remedies", "access", "limits")


def links_of(base: RuleBase, cause: Cause) -> set[tuple[str, str, str]]:
    """Return the links of a cause: distinct (symptom, regime, relation)."""
    return {
        (show.ref.symptom, regime, show.ref.relation)
        for rule in cause.effects
        for show in rule.shows
        for regime in _regimes(base, rule, show.ref.symptom, show.ref.regime)
    }


def _regimes(base: RuleBase, rule: EffectRule, symptom: str, written: str) -> tuple[str, ...]:
    known = base.symptoms[symptom].regimes
    if written:
        return (written,)
    return known if len(known) == 1 else tuple(r for r in rule.regimes if r in known)


def kind_of_source(text: str) -> str:
    """Return which of `KINDS` a number's source is: what was read from memory counts so, whatever it cites."""
    words = text.split()
    if "memory" in words:
        return "from memory"
    if text == "estimate" or words[:1] == ["logic"]:
        return "estimate"
    return "common practice" if words[:1] == ["common"] else "citation"


def every_number(base: RuleBase) -> Iterator[Number]:
    """Yield every number of the rule base that carries a source, section by section; those of `goes` stand once, in the templates."""
    for section in SECTIONS:
        for entry in getattr(base, section).values():
            yield from _inside(replace(entry, goes=()) if isinstance(entry, Cause) else entry)
    yield from (number for template in base.templates.values() if template.goes for number in _inside(template))


def _inside(thing: object) -> Iterator[Number]:
    if isinstance(thing, Number):
        yield thing
    elif is_dataclass(thing):
        for field in fields(thing):
            yield from _inside(getattr(thing, field.name))
    elif isinstance(thing, dict):
        for value in thing.values():
            yield from _inside(value)
    elif isinstance(thing, tuple):
        for value in thing:
            yield from _inside(value)


def by_kind(base: RuleBase) -> dict[str, int]:
    """Return how many numbers there are of each kind of source, kinds in the order of `KINDS`."""
    counted = Counter(kind_of_source(n.source) for n in every_number(base))
    return {kind: counted[kind] for kind in KINDS}


def backing(base: RuleBase) -> dict[str, int]:
    """Return how many links stand under each kind of the sources their cause cites, the strongest counting."""
    ranks = ("regulator", "standard", "handbook", "trade", "note", "none")
    counted: Counter[str] = Counter()
    for cause in base.causes.values():
        kinds = {base.sources[s.split()[0]].kind for s in cause.source if s.split()[0] in base.sources}
        counted[next((r for r in ranks if r in kinds), "none")] += len(links_of(base, cause))
    return {rank: counted[rank] for rank in ranks}


def counts(base: RuleBase) -> dict[str, int]:
    """Return how many entries of each section there are, and how many links and families."""
    return {
        **{section: len(getattr(base, section)) for section in SECTIONS},
        "cautions": len(base.cautions),
        "sources": len(base.sources),
        "layouts": len(base.layouts),
        "families": len({c.family for c in base.causes.values()}),
        "links": sum(len(links_of(base, c)) for c in base.causes.values()),
    }


def families(base: RuleBase) -> dict[str, int]:
    """Return family -> how many causes, the largest first."""
    counted = Counter(c.family for c in base.causes.values())
    return dict(sorted(counted.items(), key=lambda item: (-item[1], item[0])))
