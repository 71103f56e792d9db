"""What words that were not read outright may mean: two or three findings to choose from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.rulebase.records import History
from diagnose.words.clauses import Clause
from diagnose.words.finding import Finding
from diagnose.words.here import Here
from diagnose.words.lexicon import Lexicon
from diagnose.words.matching import CHOICES, Entry, Match, Setting, nearly


def choices(
    clause: Clause,
    setting: Setting,
    groups: Sequence[Sequence[Match]],
    words: str,
    lexicon: Lexicon,
    entries: Mapping[str, Entry],
    here: Here,
) -> list[Finding]:
    """Return what a clause may mean: what it names without a grade, then what it says in part; at a check what that looks at."""
    found: list[tuple[str, str]] = []
    for match in (m for group in groups for m in group):
        entry = entries[match.phrase.id]
        if not isinstance(entry, History):
            found += [(entry.id, grade) for grade in entry.names[1:]]
    if len(found) < CHOICES:
        named = {ident for ident, _ in found}
        found += [(p.id, p.grade) for p in nearly(clause, setting, lexicon, entries) if p.id not in named]
    found = [f for f in found if f[0] in here.ids] or found
    return [
        Finding(ident, grade, setting.spot, clause.regimes or (here.regimes if ident in here.ids else ()), words)
        for ident, grade in found[:CHOICES]
    ]
