"""From results, looks and repairs to the evidence the belief engines take."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.belief.exact import MAX_CLAUSES
from diagnose.belief.model import Clause, Evidence, Look
from diagnose.places import SIDES, inside
from diagnose.rulebase.records import History, Levels
from diagnose.trouble.exchanges import Exchange, moved_links, places_now
from diagnose.trouble.masking import Ignored, Seen, mask
from diagnose.trouble.network import LocatedCause, Network
from diagnose.trouble.results import Result, node


@dataclass(frozen=True)
class Repair:
    """A remedy done at a place."""

    remedy: str
    place: str

    def __str__(self) -> str:
        """Return `REMEDY@PLACE`."""
        return f"{self.remedy}@{self.place}"


@dataclass(frozen=True)
class LookResults:
    """The results of one look, which of them are the complaint, and the repairs or the exchange of parts just before it.

    `once`: signs of danger seen in it and not seen again later, with nothing mended in between: they still count as danger.
    """

    results: tuple[Result, ...] = ()
    complaint: tuple[Result, ...] = ()
    repairs: tuple[Repair, ...] = ()
    exchange: Exchange | None = None
    once: tuple[Result, ...] = ()


@dataclass(frozen=True)
class Prepared:
    """Evidence ready for the engines, with what was set aside on the way.

    `stands`: cause -> where its part stands now, for those an exchange took from their own place.
    """

    evidence: Evidence
    seen: tuple[tuple[Seen, ...], ...]
    ignored: tuple[Ignored, ...]
    removed: frozenset[str] = frozenset()
    quieted: frozenset[str] = frozenset()
    narrowed: str = ""
    complaint: tuple[Seen, ...] = field(default=())
    stands: Mapping[str, str] = field(default_factory=dict)


def prepare(network: Network, looks: Sequence[LookResults]) -> Prepared:
    """Return the evidence of a trouble so far.

    Past `MAX_CLAUSES` positive results the oldest that are no complaint are set aside, and
    `narrowed` says so.
    """
    masked = [mask(look.results, look.complaint, network.base, network.layout) for look in looks]
    seen = [list(found) for found, _ in masked]
    ignored = [item for _, items in masked for item in items]
    narrowed = _narrow(seen, ignored)
    removed, quieted, built = frozenset[str](), frozenset[str](), []
    for number, (look, found) in enumerate(zip(looks, seen, strict=True)):
        gone, quiet = repaired(network, look.repairs, places_now(network, exchanges(looks[:number])))
        removed, quieted = removed | gone, (quieted | quiet) - gone
        moved = moved_links(network, exchanges(looks[: number + 1]))
        built.append(Look(_bounds(found), _clauses(found), gone, quiet, moved))
    settings = network.base.settings
    evidence = Evidence(tuple(built), _odds(network, looks), settings.show_again, settings.bad_repair, _blame(built))
    complaint = tuple(s for s in seen[_blame(built)] if s.complaint) if seen else ()
    stands = places_now(network, exchanges(looks))
    return Prepared(evidence, tuple(tuple(s) for s in seen), tuple(ignored), removed, quieted, narrowed, complaint, stands)


def exchanges(looks: Sequence[LookResults]) -> list[Exchange]:
    """Return the exchanges of parts before these looks, oldest first."""
    return [look.exchange for look in looks if look.exchange is not None]


def since_repair(looks: Sequence[LookResults]) -> tuple[LookResults, ...]:
    """Return the looks since the last repair: an exchange of parts alone ends no cause."""
    last = max((t for t, look in enumerate(looks) if look.repairs), default=0)
    return tuple(looks[last:])


def newest_results(looks: Sequence[LookResults]) -> tuple[Result, ...]:
    """Return the results since the last repair, of each subject the newest."""
    found: dict[str, Result] = {}
    for look in since_repair(looks):
        for result in look.results:
            found.pop(result.subject, None)
            found[result.subject] = result
    return tuple(found.values())


def _blame(looks: Sequence[Look]) -> int:
    """Return the newest look in which the complaint was still there."""
    return max((t for t, look in enumerate(looks) if any(c.complaint for c in look.clauses)), default=0)


def _bounds(seen: Sequence[Seen]) -> Mapping[str, int]:
    bounds: dict[str, int] = {}
    for one in seen:
        if len(one.nodes) == 1 and not one.result.several:
            bounds[node(*one.nodes[0])] = one.result.high
    return bounds


def _clauses(seen: Sequence[Seen]) -> tuple[Clause, ...]:
    return tuple(Clause(tuple((node(*n), one.result.low) for n in one.nodes), one.complaint) for one in seen if one.result.low > 0)


def _narrow(seen: list[list[Seen]], ignored: list[Ignored]) -> str:
    """Set aside positives past what is exact, oldest first, the complaint last; say how many."""
    positives = [(t, s) for t, look in enumerate(seen) for s in look if s.result.low > 0]
    spare = len(positives) - MAX_CLAUSES
    if spare <= 0:
        return ""
    order = sorted(positives, key=lambda pair: (pair[1].complaint, pair[0]))
    for t, one in order[:spare]:
        seen[t].remove(one)
        ignored.append(Ignored(one.result, f"more than {MAX_CLAUSES} abnormal results at once: the oldest are set aside"))
    return f"exact on the newest {MAX_CLAUSES} abnormal results and every normal one; {spare} older ones set aside"


def repaired(network: Network, repairs: Sequence[Repair], stands: Mapping[str, str]) -> tuple[frozenset[str], frozenset[str]]:
    """Return the located causes some repairs end, and those they may silence for a while; `stands` as in `Prepared`."""
    gone, quiet = set(), set()
    for repair in repairs:
        remedy = network.base.remedies[repair.remedy]
        for located in network.causes.values():
            place = stands.get(located.id, located.place)
            if not inside(network.layout, place, repair.place):
                if located.cause.id in remedy.may_quiet and inside(network.layout, repair.place, place):
                    quiet.add(located.id)
                continue
            if repair.remedy in located.cause.remedies:
                gone.add(located.id)
            elif located.cause.id in remedy.may_quiet:
                quiet.add(located.id)
    return frozenset(gone), frozenset(quiet - gone)


def _odds(network: Network, looks: Sequence[LookResults]) -> Mapping[str, float]:
    """Return located cause -> factor on its prior odds from the history answers."""
    answers: dict[str, dict[str, Result]] = {}
    for look in looks:
        for result in look.results:
            if result.history and result.high >= 0:
                answers.setdefault(result.symptom, {})[result.place] = result
    odds: dict[str, float] = {}
    for located in network.causes.values():
        found = {name: _grade(network, network.base.history[name], by_place, located) for name, by_place in answers.items()}
        for name, grade in _with_implied(network, found, located).items():
            if grade:
                factor = _factors(network.base.history[name], located)[grade].value
                odds[located.id] = odds.get(located.id, 1.0) * factor
    return odds


def _with_implied(network: Network, found: Mapping[str, str], located: LocatedCause) -> Mapping[str, str]:
    """Return the answers that act on a cause with what they imply.

    A part that was touched means that the whole was; nothing of the whole touched means none of its parts, which is not counted twice.
    """
    acting = dict(found)
    for name, grade in found.items():
        history = network.base.history[name]
        whole = network.base.history.get(history.part_of)
        if whole is None or not grade:
            continue
        if grade != history.nothing and _factors(whole, located):
            acting[whole.id] = next(iter(whole.answers))
        elif grade == history.nothing and found.get(whole.id) == whole.nothing:
            acting[name] = ""
    return acting


def _factors(history: History, located: LocatedCause) -> Levels:
    """Return what the answers to a question do to a cause: named itself, else by its family; empty where neither is."""
    return history.acts_on.get(located.cause.id) or history.acts_on.get(located.cause.family) or {}


def _grade(network: Network, history: History, answers: Mapping[str, Result], located: LocatedCause) -> str:
    """Return the answer that acts on a cause: the innermost around it; empty where none does."""
    factors = _factors(history, located)
    if not factors:
        return ""
    around = [p for p in answers if inside(network.layout, located.place, p)]
    if not around:
        return _grade_of_sides(history, factors, answers, located.place)
    innermost = min(around, key=lambda p: sum(inside(network.layout, p, other) for other in around) * -1)
    return answers[innermost].grade


def _grade_of_sides(history: History, factors: Levels, answers: Mapping[str, Result], place: str) -> str:
    """Return the answer that acts on a cause of the whole engine where only sides were answered for.

    That something happened on one side counts for the engine; that nothing did wants both sides.
    """
    if place != "engine" or not set(answers) <= set(SIDES):
        return ""
    happened = [r.grade for r in answers.values() if r.grade != history.nothing]
    if happened:
        return max(happened, key=lambda g: abs(math.log(factors[g].value)))
    return history.nothing if len(answers) == len(SIDES) else ""
