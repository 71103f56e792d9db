"""Small wrong changes to a loaded rule base: one link, strength or prior at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from diagnose.rulebase.entry import Levels, Number
from diagnose.rulebase.records import Cause, EffectRule, RuleBase, Show

# A number this near one half is hardly another number when it is turned over: no such mutant is made.
NEAR_HALF = 0.2
# Two links are exchanged where their numbers differ by this much at least: nearer ones are the same rule.
APART = 0.25
KINDS = ("link deleted", "links exchanged", "link moved", "link turned", "grade flipped", "strength turned", "prior x10", "prior /10")


@dataclass(frozen=True)
class Mutant:
    """A changed cause (two where links changed places between causes), and the symptoms the change can be seen in.

    `touched` is empty where any result can show it (a prior).
    """

    kind: str
    where: str
    what: str
    causes: Mapping[str, Cause]
    touched: frozenset[str]

    @property
    def link(self) -> bool:
        """Return whether a link, not a prior or a strength, was changed."""
        return self.kind.startswith(("link", "grade"))


def mutants(base: RuleBase) -> list[Mutant]:
    """Return every mutant of a rule base, in file order."""
    made = (m for cause in base.causes.values() for m in (*_links(base, cause), *_strengths(cause), *_priors(cause)))
    return [m for m in made if any(m.causes[name] != base.causes[name] for name in m.causes)]


def changed(base: RuleBase, mutant: Mutant) -> RuleBase:
    """Return the rule base with the mutant in it."""
    return replace(base, causes={**base.causes, **mutant.causes})


def _links(base: RuleBase, cause: Cause) -> Iterator[Mutant]:
    sites = [(i, j) for i, effect in enumerate(cause.effects) for j in range(len(effect.shows))]
    for i, j in sites:
        show = cause.effects[i].shows[j]
        seen = {show.ref.symptom}
        yield _one("link deleted", cause, i, j, None, seen, "")
        number, grade = _single(show)
        if number is not None and abs(number - 0.5) > NEAR_HALF:
            yield _one("link turned", cause, i, j, _with(show, grade, 1 - number), seen, f"{number} -> {1 - number:.3g}")
        flipped = _flipped(base, show)
        if flipped is not None:
            yield _one("grade flipped", cause, i, j, flipped, seen, f"{dict(_plain(show))} -> {dict(_plain(flipped))}")
    yield from _exchanged(cause, sites)
    yield from _moved(base, cause, sites)


def _exchanged(cause: Cause, sites: list[tuple[int, int]]) -> Iterator[Mutant]:
    """Exchange the numbers of a link and the next one of the cause that stands for another strength."""
    for a, b in pairwise(sites):
        one, two = (cause.effects[i].shows[j] for i, j in (a, b))
        (p, grade), (q, other) = _single(one), _single(two)
        if p is None or q is None or abs(p - q) < APART:
            continue
        swapped = _set(_set(cause, a, _with(one, grade, q)), b, _with(two, other, p))
        seen = frozenset({one.ref.symptom, two.ref.symptom})
        yield Mutant("links exchanged", _where(cause, a[0]), f"{one.ref} {p} and {two.ref} {q}", {cause.id: swapped}, seen)


def _moved(base: RuleBase, cause: Cause, sites: list[tuple[int, int]]) -> Iterator[Mutant]:
    """Have two links of two causes at the same kind of place point at each other's symptom."""
    others = [c for c in base.causes.values() if c.at == cause.at and c.id > cause.id]
    if not others:
        return
    other = others[0]
    targets = [(i, j) for i, effect in enumerate(other.effects) for j in range(len(effect.shows))]
    for (i, j), (k, m) in zip(sites, targets, strict=False):
        one, two = cause.effects[i].shows[j], other.effects[k].shows[m]
        plain = all(_single(s)[0] is not None and len(base.symptoms[s.ref.symptom].names) == 2 for s in (one, two))
        if not plain or one.ref.symptom == two.ref.symptom:
            continue
        pair = {cause.id: _set(cause, (i, j), replace(one, ref=two.ref)), other.id: _set(other, (k, m), replace(two, ref=one.ref))}
        yield Mutant(
            "link moved", _where(cause, i), f"{one.ref} <-> {other.id} {two.ref}", pair, frozenset({one.ref.symptom, two.ref.symptom})
        )


def _strengths(cause: Cause) -> Iterator[Mutant]:
    for i, effect in enumerate(cause.effects):
        p = effect.strength.value
        if abs(p - 0.5) > NEAR_HALF:
            seen = frozenset(s.ref.symptom for s in effect.shows)
            yield Mutant(
                "strength turned", _where(cause, i), f"{p} -> {1 - p:.3g}", {cause.id: _effect(cause, i, _strength(effect, 1 - p))}, seen
            )


def _priors(cause: Cause) -> Iterator[Mutant]:
    for kind, factor in (("prior x10", 10.0), ("prior /10", 0.1)):
        prior = None if cause.prior is None else replace(cause.prior, value=_capped(cause.prior.value * factor))
        by = {k: replace(n, value=_capped(n.value * factor)) for k, n in cause.prior_by.items()}
        yield Mutant(kind, _where(cause, 0), "", {cause.id: replace(cause, prior=prior, prior_by=by)}, frozenset())


def _capped(value: float) -> float:
    return min(value, 0.5)


def _single(show: Show) -> tuple[float | None, str]:
    """Return the number of a link with one grade and no table, and that grade."""
    if len(show.levels) != 1:
        return None, ""
    grade, number = next(iter(show.levels.items()))
    return (None, grade) if number.table is not None else (number.value, grade)


def _plain(show: Show) -> dict[str, float]:
    return {g: n.value for g, n in show.levels.items()}


def _flipped(base: RuleBase, show: Show) -> Show | None:
    """Return a link whose weight falls on the next grade instead, where the symptom has more than one abnormal grade."""
    names = base.symptoms[show.ref.symptom].names[1:]
    if len(names) < 2:
        return None
    levels: Levels = {names[(names.index(g or names[0]) + 1) % len(names)]: n for g, n in show.levels.items()}
    return replace(show, levels=levels)


def _with(show: Show, grade: str, value: float) -> Show:
    return replace(show, levels={grade: Number(value, "estimate")})


def _strength(effect: EffectRule, value: float) -> EffectRule:
    return replace(effect, strength=Number(value, "estimate"))


def _one(kind: str, cause: Cause, i: int, j: int, show: Show | None, seen: set[str], what: str) -> Mutant:
    ref = cause.effects[i].shows[j].ref
    return Mutant(kind, _where(cause, i), f"{ref} {what}".strip(), {cause.id: _set(cause, (i, j), show)}, frozenset(seen))


def _set(cause: Cause, site: tuple[int, int], show: Show | None) -> Cause:
    i, j = site
    shows = cause.effects[i].shows
    return _effect(cause, i, replace(cause.effects[i], shows=(*shows[:j], *([show] if show else []), *shows[j + 1 :])))


def _effect(cause: Cause, i: int, effect: EffectRule) -> Cause:
    return replace(cause, effects=(*cause.effects[:i], effect, *cause.effects[i + 1 :]))


def _where(cause: Cause, i: int) -> str:
    mark = cause.effects[i].mark
    return f"{mark.file}:{mark.line} {cause.id}"
