"""Belief by listing what can happen, in exact fractions: the oracle both engines are held against.

Draws happen in the order of the story told in `diagnose.belief.model`: a cause is there or not, it reaches so far, an
effect occurs or not, shows in some looks or not, each link draws a level; likewise what shows somehow, and each leak.
A story is the facts it leaves on findings, look by look. Stories that leave the same facts are counted together, and
draws nobody reads are left out; nothing is judged before a whole world is put together. Facts are of three kinds:

    ("shown", look, finding, level)      by an effect or a leak
    ("somehow", look, finding, level)    by a cause that shows there in a way nobody wrote
    ("answered", look, clause, 1)        the same, for a clause of several options
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, product
from typing import Any

from diagnose.belief.model import Evidence, Model

Facts = frozenset[tuple[str, int, Any, int]]
Stories = dict[Facts, Fraction]
ONE = Fraction(1)
EMPTY: Facts = frozenset()


def believe(model: Model, evidence: Evidence):
    """Return (likelihood, present, responsible, unexplained) as Fractions."""
    oracle = _Worlds(model, evidence)
    causes = [oracle.cause(c) for c in model.causes]
    leaks = oracle.leaks()
    z = oracle.share(leaks, *causes)
    present, responsible = {}, {}
    for i, cause in enumerate(model.causes):
        others = [leaks, *causes[:i], *causes[i + 1 :]]
        present[cause.id] = oracle.share(*others, oracle.cause(cause, newest_there=True)) / z
        responsible[cause.id] = oracle.share(*others, about=causes[i], guilty=True) / z
    return z, present, responsible, innocent(model, evidence, [c.id for c in model.causes]) / z


def innocent(model: Model, evidence: Evidence, muted):
    """Return the probability of the evidence with none of some causes responsible."""
    oracle = _Worlds(model, evidence)
    mine = oracle.together(*(oracle.cause(c) for c in model.causes if c.id in muted))
    others = [oracle.cause(c) for c in model.causes if c.id not in muted]
    return oracle.share(oracle.leaks(), *others, about=mine, guilty=False)


class _Worlds:
    def __init__(self, model, evidence):
        self.model, self.evidence = model, evidence
        self.looks = list(enumerate(evidence.looks))
        self.about_complaint = self._about_complaint()
        self.wanted = {(t, f, least) for t, look in self.looks for f, least in self._levels_wanted(look)}
        self.read = {(t, f) for t, f, _ in self.wanted} | {(t, f) for t, look in self.looks for f in look.bounds}

    def _pairs(self, clause):
        if clause.pairs is not None:
            return clause.pairs
        return [pair for f, least in clause.options if least == 1 for pair in self.model.pairs.get(f, ())]

    def _about_complaint(self):
        found: set[str] = set()
        for _, look in self.looks:
            for clause in look.clauses:
                if clause.complaint:
                    found.update(f for f, _ in clause.options)
                    found.update(m for pair in self._pairs(clause) for m in pair)
        return found

    def _levels_wanted(self, look):
        for clause in look.clauses:
            yield from clause.options
            yield from ((m, 1) for pair in self._pairs(clause) for m in pair)
        for f in look.bounds:
            yield from ((m, 1) for pair in self.model.pairs.get(f, ()) for m in pair)

    # --- worlds

    def together(self, *sources):
        """Return every combination of one story per source, those that leave the same facts counted together.

        A story that breaks a bound by itself is told no further: no world with it is true. Of the others only the levels
        count that a clause or a pair asks for.
        """
        worlds = {EMPTY: ONE}
        for stories in sources:
            made: Stories = {}
            kept = [(self._telling(more), w) for more, w in stories.items() if w and not self._too_much(more)]
            for facts, v in worlds.items():
                for more, w in kept:
                    both = _highest(facts | more) if facts and more else facts or more
                    made[both] = made.get(both, 0) + v * w
            worlds = made
        return worlds

    def _telling(self, facts):
        asked = ((kind, t, f, level if kind == "answered" else self._asked(t, f, level)) for kind, t, f, level in facts)
        return frozenset(fact for fact in asked if fact[3])

    def _asked(self, t, finding, level):
        return max((least for look, f, least in self.wanted if (look, f) == (t, finding) and least <= level), default=0)

    def _too_much(self, facts):
        return any(kind != "answered" and level > self.evidence.looks[t].bounds.get(f, level) for kind, t, f, level in facts)

    def share(self, *sources, about=None, guilty=None):
        """Return the weight of the worlds in which everything told is true, and one source's part is guilty or not."""
        total = Fraction(0)
        for facts, v in self.together(*sources).items():
            for own, w in (about or {EMPTY: ONE}).items():
                world = _highest(facts | own)
                if self._true(world) and (guilty is None or guilty == self._guilty(own, world)):
                    total += v * w
        return total

    def _level(self, facts, t, finding, kinds=("shown",)):
        return max((k for kind, look, f, k in facts if kind in kinds and look == t and f == finding), default=0)

    def _pair_holds(self, facts, t, pair):
        return all(self._level(facts, t, m) >= 1 for m in pair)

    def _met_directly(self, facts, t, k):
        clause = self.evidence.looks[t].clauses[k]
        kinds = ("shown", "somehow") if len(clause.options) == 1 else ("shown",)
        return ("answered", t, k, 1) in facts or any(self._level(facts, t, f, kinds) >= least for f, least in clause.options)

    def _true(self, facts):
        for t, look in self.looks:
            for f, bound in look.bounds.items():
                if self._level(facts, t, f, ("shown", "somehow")) > bound:
                    return False
                if bound == 0 and any(self._pair_holds(facts, t, pair) for pair in self.model.pairs.get(f, ())):
                    return False
            for k, clause in enumerate(look.clauses):
                if all(look.bounds.get(f, least) < least for f, least in clause.options):
                    return False
                if not self._met_directly(facts, t, k) and not any(self._pair_holds(facts, t, pair) for pair in self._pairs(clause)):
                    return False
        return True

    def _guilty(self, own, world):
        for t, k in self.evidence.blamed:
            if self._met_directly(own, t, k):
                return True
            for pair in self._pairs(self.evidence.looks[t].clauses[k]):
                if self._pair_holds(world, t, pair) and any(self._level(own, t, m) >= 1 for m in pair):
                    return True
        return False

    # --- the stories of a cause

    def cause(self, cause, newest_there=False):
        """Return the stories of all generations of a cause together."""
        births = [0] + [t for t, look in self.looks if t and cause.id in look.removed]
        ends = [*births[1:], len(self.looks)]
        lives = []
        for number, (first, end) in enumerate(zip(births, ends, strict=True)):
            stories = dict(self._life(cause, first, range(first, end)))
            if not (newest_there and number == len(births) - 1):
                stories[EMPTY] = stories.get(EMPTY, 0) + 1 - self._prior(cause, first)
            lives.append(stories)
        return self.together(*lives)

    def _prior(self, cause, first):
        if first:
            return Fraction(self.evidence.bad_repair)
        odds = Fraction(cause.prior) / (1 - Fraction(cause.prior)) * Fraction(self.evidence.odds.get(cause.id, 1))
        return odds / (1 + odds)

    def _life(self, cause, first, span):
        """Return the stories of one generation that is there, weighted with its prior."""
        total: Stories = {}
        for reached, chance in enumerate(cause.reach):
            acting = [e for e in cause.effects if e.step <= reached]
            parts = [self._effect(cause.id, e, span) for e in acting]
            for facts, w in self.together(*parts, self._somehow(cause, span)).items():
                total[facts] = total.get(facts, 0) + self._prior(cause, first) * Fraction(chance) * w
        return total

    def _effect(self, who, effect, span):
        def levels_of(shown):
            for levels in product(*(range(len(link.levels)) for link in effect.links)):
                weight, facts = ONE, []
                for link, level in zip(effect.links, levels, strict=True):
                    weight *= Fraction(link.levels[level])
                    facts += self._facts("shown", who, link.finding, level, shown)
                yield facts, weight

        return self._over_looks(Fraction(effect.strength), span, levels_of)

    def _over_looks(self, per_look, span, given):
        """Return the stories of what occurs or not, shows in each look or not, and then leaves facts."""
        shows = ONE if len(span) == 1 else max(Fraction(self.evidence.show_again), per_look)
        occurs = per_look / shows
        stories = {EMPTY: 1 - occurs}
        for showing in product((True, False), repeat=len(span)):
            weight = occurs
            for yes in showing:
                weight *= shows if yes else 1 - shows
            for facts, w in given([t for t, yes in zip(span, showing, strict=True) if yes]):
                key = _highest(frozenset(facts))
                stories[key] = stories.get(key, 0) + weight * w
        return stories

    def _facts(self, kind, who, finding, level, shown):
        """Return the facts that a level leaves in some looks: where the part stands then, not where the cause is quieted."""
        found = []
        for t in shown:
            look = self.evidence.looks[t]
            fed = look.moved.get(who, {}).get(finding, finding)
            silent = who in look.quieted and fed in self.about_complaint
            if level and not silent and (t, fed) in self.read:
                found.append((kind, t, fed, level))
        return found

    # --- somehow

    def _somehow(self, cause, span):
        if cause.somehow is None:
            return {EMPTY: ONE}
        known = {link.finding for e in cause.effects for link in e.links}
        known |= {f for f, pairs in self.model.pairs.items() if known & {m for pair in pairs for m in pair}}
        ways = {f: Fraction(p) for f, p in cause.somehow.open.items() if f not in known and f not in cause.never}
        again = ONE if len(span) == 1 else max(map(Fraction, (self.evidence.show_again, *cause.somehow.open.values())))
        stories: Stories = {}
        marks = sorted({Fraction(0), ONE, *(p / again for p in ways.values())})
        for low, high in pairwise(marks):
            middle = (low + high) / 2
            drawn = {f: middle < p / again for f, p in ways.items()}
            for showing in product((True, False), repeat=len(span)):
                weight = high - low
                for yes in showing:
                    weight *= again if yes else 1 - again
                shown = [t for t, yes in zip(span, showing, strict=True) if yes]
                for facts, w in self._ways(cause, known, ways, drawn, shown).items() if weight else ():
                    stories[facts] = stories.get(facts, 0) + weight * w
        return stories

    def _ways(self, cause, known, ways, drawn, shown):
        """Return the stories of the ways that are open."""
        asked = {frozenset(c.options) for _, look in self.looks for c in look.clauses if len(c.options) > 1}
        shows = Fraction(cause.somehow.shows)
        return self.together(
            *(self._one_finding(cause.id, f, shows, shown) for f in ways if drawn[f]),
            *(self._one_answer(cause.id, known, ways, drawn, shows, options, shown) for options in asked),
        )

    def _one_finding(self, who, finding, chance, shown):
        leak = [Fraction(p) for p in self.model.leaks[finding]]
        stories = {EMPTY: 1 - chance}
        for level in range(1, len(leak)):
            key = frozenset(self._facts("somehow", who, finding, level, shown))
            stories[key] = stories.get(key, 0) + chance * leak[level] / sum(leak[1:])
        return stories

    def _one_answer(self, who, known, ways, drawn, shows, options, shown):
        """One number between 0 and 1 is drawn; a look's clause is answered where it lies below that look's chance."""
        chance = {t: shows * self._share(who, known, ways, drawn, options, self.evidence.looks[t]) for t in shown}
        marks = sorted({Fraction(0), ONE, *chance.values()})
        stories: Stories = {}
        for low, high in pairwise(marks):
            key = frozenset(
                ("answered", t, k, 1)
                for t in shown
                if low < chance[t]
                for k, c in enumerate(self.evidence.looks[t].clauses)
                if frozenset(c.options) == options
            )
            stories[key] = stories.get(key, 0) + high - low
        return stories

    def _share(self, who, known, ways, drawn, options, look):
        """Return what the widest of the ways to an option gives, of the levels that meet it: nothing unless it is open."""
        now = look.moved.get(who, {})
        if any(now.get(f, f) == finding for f in known for finding, _ in options):
            return Fraction(0)
        found = []
        for f, width in ways.items():
            fed, leak = now.get(f, f), [Fraction(p) for p in self.model.leaks[f]]
            for finding, least in options:
                if finding == fed and not (who in look.quieted and fed in self.about_complaint):
                    found.append((width, sum(leak[least:]) / sum(leak[1:]), drawn[f]))
        best = max(found, default=(0, Fraction(0), False))
        return best[1] if best[2] else Fraction(0)

    # --- leaks

    def leaks(self):
        """Return the stories of all leaks together."""
        return self.together(*(self._leak(f, [Fraction(p) for p in levels]) for f, levels in self.model.leaks.items()))

    def _leak(self, finding, levels):
        looks = [t for t, _ in self.looks]
        if finding in self.about_complaint:
            whole = sum(levels[1:])
            one = lambda shown: [(self._facts("shown", "", finding, k, shown), p / whole) for k, p in enumerate(levels) if k and whole]
            return self._over_looks(whole, looks, one)
        each = [{frozenset(self._facts("shown", "", finding, k, [t])): Fraction(p) for k, p in enumerate(levels)} for t in looks]
        if any((t, finding) not in self.read for t in looks):
            each = [one for one, t in zip(each, looks, strict=True) if (t, finding) in self.read]
        return self.together(*each)


def _highest(facts):
    """Return facts with only the highest level of each kind, look and finding."""
    best: dict[tuple[str, int, Any], int] = {}
    for kind, t, f, level in facts:
        best[kind, t, f] = max(level, best.get((kind, t, f), 0))
    return frozenset((*key, level) for key, level in best.items())
