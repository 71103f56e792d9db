"""A cause in short: what it is, how it is found and how it is mended, in words and without a number."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import Cause, RuleBase

MOST_SIGNS, MOST_CHECKS = 5, 5
EACH = 2  # checks named for one sign: there are many that run it


def brief_lines(base: RuleBase, cause: Cause) -> Iterator[str]:
    """Give the short form of a cause, what shows it most first."""
    yield f"{cause.id}  (cause)"
    yield f"  {cause.label}"
    if cause.note:
        yield f"  {cause.note}"
    signs = _signs(cause)
    yield f"  how it shows: {'; '.join(base.symptoms[s].label for s in signs[:MOST_SIGNS]) or 'by nothing of its own'}"
    yield "  how it is found:"
    found = [c for s in signs for c in [c for c in base.checks.values() if any(r.symptom == s for r in c.gives)][:EACH]]
    checks = list({c.id: c for c in found}.values())[:MOST_CHECKS]
    yield from (f"    {c.label} ({c.id})" for c in checks)
    yield "  how it is mended:"
    yield from (f"    {base.remedies[r].label} ({r})" for r in cause.remedies)
    why = principles_of(base, cause)
    if why:
        yield f"  why: {'; '.join(f'{p.label} (diagnose explain {p.id})' for p in why)}"
    yield f"  every number and its source: diagnose show {cause.id} --all"


def _signs(cause: Cause) -> list[str]:
    """Return the symptoms it shows, the surest first."""
    worth: dict[str, float] = {}
    for effect in cause.effects:
        for show in effect.shows:
            for number in show.levels.values():
                told = number.value * effect.strength.value
                worth[show.ref.symptom] = max(worth.get(show.ref.symptom, 0.0), told)
    return sorted(worth, key=lambda s: (-worth[s], s))
