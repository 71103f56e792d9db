"""Belief by listing every world, in exact fractions: the oracle both engines are held against.

Draws happen in the order of the story told in `diagnose.belief.model`: a cause is there or not, an
effect occurs or not, each link adds a level, each leak adds a level, an effect shows again in a later
look or not. Every complete world is then judged by reading the results off it.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from diagnose.belief.model import Evidence, Model

ONE = Fraction(1)


def believe(model: Model, evidence: Evidence):
    """Return (likelihood, present, responsible, unexplained) as Fractions."""
    looks = range(len(evidence.looks))
    now, blame = len(looks) - 1, evidence.blame
    z, nobody = Fraction(0), Fraction(0)
    present: dict[str, Fraction] = {}
    responsible: dict[str, Fraction] = {}
    for weight, added, there in _worlds(model, evidence):
        if not all(_holds(evidence, t, added) for t in looks):
            continue
        z += weight
        guilty = {c for c, first in there if _guilty(c, first, evidence, blame, added)}
        for cause, first in there:
            if _last(cause, first, evidence) == now:
                present[cause] = present.get(cause, 0) + weight
        for cause in guilty:
            responsible[cause] = responsible.get(cause, 0) + weight
        if not guilty:
            nobody += weight
    share = lambda found: {c.id: found.get(c.id, Fraction(0)) / z for c in model.causes}
    return z, share(present), share(responsible), nobody / z


def _births(cause, evidence):
    return [0] + [t for t, look in enumerate(evidence.looks) if t and cause in look.removed]


def _last(cause, first, evidence):
    later = [t for t in _births(cause, evidence) if t > first]
    return (later[0] if later else len(evidence.looks)) - 1


def _worlds(model, evidence):
    """Yield (weight, added, there): `added` is a list of (who, born, finding, look, level)."""
    parts = []
    for cause in model.causes:
        for first in _births(cause.id, evidence):
            parts.append(list(_cause_stories(cause, first, evidence)))
    for finding, levels in model.leaks.items():
        parts.append(list(_leak_stories(finding, levels, evidence)))
    for stories in product(*parts):
        weight = ONE
        for w, _, _ in stories:
            weight *= w
        yield weight, [a for _, added, _ in stories for a in added], [t for _, _, t in stories if t is not None]


def _cause_stories(cause, first, evidence):
    prior = Fraction(cause.prior) if first == 0 else Fraction(evidence.bad_repair)
    if first == 0:
        odds = prior / (1 - prior) * Fraction(evidence.odds.get(cause.id, 1))
        prior = odds / (1 + odds)
    yield 1 - prior, [], None
    span = range(first, _last(cause.id, first, evidence) + 1)
    effects = [list(_effect_stories(cause.id, first, e, span, evidence)) for e in cause.effects]
    for stories in product(*effects):
        weight, added = prior, []
        for w, more in stories:
            weight *= w
            added += more
        yield weight, added, (cause.id, first)


def _effect_stories(cause, first, effect, span, evidence):
    strength, shows = _split(Fraction(effect.strength), span, evidence)
    yield 1 - strength, []
    choices = [[(k, Fraction(p)) for k, p in enumerate(link.levels)] for link in effect.links]
    for shown, chance in _showing(span, shows):
        for levels in product(*choices):
            weight, added = strength * chance, []
            for link, (level, p) in zip(effect.links, levels, strict=True):
                weight *= p
                for t in shown:
                    look = evidence.looks[t]
                    finding = look.moved.get(cause, {}).get(link.finding, link.finding)
                    if not (finding in evidence.complaint_findings and cause in look.quieted):
                        added.append((cause, first, finding, t, level))
            yield weight, added


def _leak_stories(finding, levels, evidence):
    looks = range(len(evidence.looks))
    if finding in evidence.complaint_findings:
        occurs, shows = _split(sum(Fraction(p) for p in levels[1:]), looks, evidence)
        for shown, chance in _showing(looks, shows):
            yield (1 - occurs) * chance, [], None
            for level, p in enumerate(levels[1:], 1):
                yield Fraction(p) / shows * chance, [("", 0, finding, t, level) for t in shown], None
        return
    for drawn in product(range(len(levels)), repeat=len(looks)):
        weight = ONE
        for level in drawn:
            weight *= Fraction(levels[level])
        yield weight, [("", 0, finding, t, level) for t, level in zip(looks, drawn, strict=True)], None


def _split(per_look, span, evidence):
    """Return (occurs, shows): what occurred shows in each look; one look alone needs no split."""
    if len(span) == 1:
        return per_look, ONE
    shows = max(Fraction(evidence.show_again), per_look)
    return per_look / shows, shows


def _showing(span, shows):
    for choice in product((True, False), repeat=len(span)):
        chance = ONE
        for shown in choice:
            chance *= shows if shown else 1 - shows
        if chance:
            yield [t for t, shown in zip(span, choice, strict=True) if shown], chance


def _holds(evidence, t, added):
    highest: dict[str, int] = {}
    for _, _, finding, look, level in added:
        if look == t:
            highest[finding] = max(highest.get(finding, 0), level)
    look = evidence.looks[t]
    if any(highest.get(f, 0) > bound for f, bound in look.bounds.items()):
        return False
    return all(any(highest.get(f, 0) >= least for f, least in c.options) for c in look.clauses)


def _guilty(cause, first, evidence, blame, added):
    wanted = [c for c in evidence.looks[blame].clauses if c.complaint]
    mine = [(f, level) for who, born, f, t, level in added if (who, born, t) == (cause, first, blame)]
    return any(f == finding and level >= least for c in wanted for finding, least in c.options for f, level in mine)
