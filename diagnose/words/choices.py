"""What words that were not read outright may mean: two or three findings to choose from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.rulebase.records import History, RuleBase
from diagnose.words.amounts import HELD_AGAINST, WORTH, grade_of, measured
from diagnose.words.clauses import Clause
from diagnose.words.finding import Finding
from diagnose.words.here import Here
from diagnose.words.lexicon import Lexicon
from diagnose.words.match import Entry, Match
from diagnose.words.matching import CHOICES, Setting, nearly


def choices(
    clause: Clause,
    setting: Setting,
    groups: Sequence[Sequence[Match]],
    words: str,
    lexicon: Lexicon,
    entries: Mapping[str, Entry],
    base: RuleBase,
    here: Here,
) -> list[Finding]:
    """Return what a clause may mean: what it names without a grade, then what it says in part; at a check what that looks at."""
    found: list[tuple[str, str]] = []
    for match in (m for group in groups for m in group):
        entry = entries[match.phrase.id]
        if not isinstance(entry, History):
            found += [(entry.id, grade) for grade in entry.names[1:]]
    found += [row for row in _by_unit(clause, setting, base) if row not in found]
    if len(found) < CHOICES:
        named = {ident for ident, _ in found}
        found += [(p.id, p.grade) for p in nearly(clause, setting, lexicon, entries) if p.id not in named]
    found = [f for f in found if f[0] in here.ids] or found
    return [
        Finding(ident, grade, setting.spot, clause.regimes or (here.regimes if ident in here.ids else ()), words)
        for ident, grade in found[:CHOICES]
    ]


def _by_unit(clause: Clause, setting: Setting, base: RuleBase) -> list[tuple[str, str]]:
    """Return what a number with a unit may be of at the plug or lead it was said of ("3B reads 14 kohm"), each held against its limit."""
    if not (setting.spot.cylinders or setting.spot.positions):
        return []
    numbers = [t for t in measured(clause.tokens) if t.unit]
    held = [(s, HELD_AGAINST[s.role]) for s in base.symptoms.values() if s.role in HELD_AGAINST and "circuit" in s.at]
    return [
        (s.id, grade_of(s, token, base))
        for token in numbers
        for s, (limit, _, unit) in held
        if limit in base.limits and (token.unit == unit or (unit, token.unit) in WORTH)
    ]
