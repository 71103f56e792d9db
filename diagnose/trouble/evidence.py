"""From results, looks and repairs to the evidence the belief engines take."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.belief.exact import MAX_BITS, width
from diagnose.belief.model import Clause, Evidence, Look
from diagnose.places import SIDES, inside
from diagnose.rulebase.entry import Levels
from diagnose.rulebase.records import History
from diagnose.trouble.complaint import Complaint, blamed, looks_again
from diagnose.trouble.exchanges import feeds, moved_links, parts_away, places_now
from diagnose.trouble.looks import LookResults, Repair, exchanges
from diagnose.trouble.masking import Ignored, Seen, mask
from diagnose.trouble.network import LocatedCause, Network
from diagnose.trouble.results import Result, node
from diagnose.trouble.silence import merged


@dataclass(frozen=True)
class Prepared:
    """Evidence ready for the engines, with what was set aside on the way.

    `stands`: cause -> where its part stands now, for those an exchange took from their own place. `told_in`: the look in which the
    complaint that responsibility is about was first told.
    """

    evidence: Evidence
    seen: tuple[tuple[Seen, ...], ...]
    ignored: tuple[Ignored, ...]
    removed: frozenset[str] = frozenset()
    quieted: frozenset[str] = frozenset()
    narrowed: str = ""
    complaint: tuple[Seen, ...] = field(default=())
    stands: Mapping[str, str] = field(default_factory=dict)
    told_in: int = 0


def prepare(network: Network, looks: Sequence[LookResults]) -> Prepared:
    """Return the evidence of a trouble so far.

    Past `MAX_BITS` bits the positive results that tell least are set aside, the complaint last, and `narrowed` says so.
    """
    masked = [mask(look.results, look.complaint, network.base, network.layout) for look in looks]
    seen = [list(found) for found, _ in masked]
    ignored = [item for _, items in masked for item in items]
    narrowed = _narrow(network, seen, ignored)
    removed, quieted, built = frozenset[str](), frozenset[str](), []
    for number, (look, found) in enumerate(zip(looks, seen, strict=True)):
        gone, quiet = repaired(network, look.repairs, places_now(network, exchanges(looks[:number])))
        removed, quieted = removed | gone, (quieted | quiet) - gone
        moved = moved_links(network, exchanges(looks[: number + 1]))
        built.append(Look(_bounds(found), _clauses(network, found), gone, quiet, moved))
    settings = network.base.settings
    about = _at_issue(network, blamed(looks), built)
    blame = _blame(looks, seen, about)
    numbered = frozenset((t, k) for t, k, _ in blame)
    evidence = Evidence(tuple(built), _odds(network, looks), settings.show_again, settings.bad_repair, numbered)
    complaint = tuple(one for _, _, one in blame)
    stands = places_now(network, exchanges(looks))
    told_in = min((c.since for c in about), default=0)
    return Prepared(evidence, tuple(tuple(s) for s in seen), tuple(ignored), removed, quieted, narrowed, complaint, stands, told_in)


def _at_issue(network: Network, complaints: Sequence[Complaint], looks: Sequence[Look]) -> list[Complaint]:
    """Return the complaints that responsibility is about.

    Where one was met after a repair, another that this repair may have ended waits until it is looked at again: else what was
    mended would go on leading for a complaint that may be gone.
    """
    newest = max((c.newest for c in complaints), default=0)
    return [c for c in complaints if not _may_be_ended(network, c, looks[c.newest + 1 : newest + 1])]


def _may_be_ended(network: Network, complaint: Complaint, later: Sequence[Look]) -> bool:
    """Return whether a cause that shows a complaint was removed in some looks."""
    told = complaint.result
    names = {node(told.symptom, regime, place) for regime in told.regimes for place in told.places}
    removed = frozenset[str]().union(*(look.removed for look in later))
    return any(not names.isdisjoint(network.model.written(network.cause_nodes[cause])) for cause in removed)


def _blame(looks: Sequence[LookResults], seen: Sequence[Sequence[Seen]], about: Sequence[Complaint]) -> tuple[tuple[int, int, Seen], ...]:
    """Return (look, number of the clause, what was seen) of every positive that responsibility is about.

    Each complaint is blamed in the newest look it was met in. What masking put in the place of a complaint stands for it.
    """
    found = []
    for number, look in enumerate(seen):
        mine = [c.result for c in about if c.newest == number]
        lost = [c for c in looks[number].complaint if not any(s.complaint and s.result.subject == c.subject for s in look)]
        stands_in = any(looks_again(c, told) for c in lost for told in mine)
        for k, one in enumerate(s for s in look if s.result.low > 0):
            itself = any(looks_again(one.result, told) for told in mine)
            if one.complaint and (itself or (stands_in and one.result not in looks[number].complaint)):
                found.append((number, k, one))
    return tuple(found)


def _bounds(seen: Sequence[Seen]) -> Mapping[str, int]:
    bounds: dict[str, int] = {}
    for one in seen:
        if len(one.nodes) == 1 and not one.result.several:
            bounds[node(*one.nodes[0])] = one.result.high
    return bounds


def _clauses(network: Network, seen: Sequence[Seen]) -> tuple[Clause, ...]:
    return tuple(_clause(network, one) for one in seen if one.result.low > 0)


def _clause(network: Network, one: Seen) -> Clause:
    """Return the clause of a positive result; one told in every regime of its symptom has one pair over all of them."""
    options = tuple((node(*n), one.result.low) for n in one.nodes)
    pairs = merged(network.base, one.result.symptom, tuple(dict.fromkeys(regime for _, regime, _ in one.nodes)))
    if pairs is not None:
        pairs = tuple(tuple(network.hidden[m] for m in pair) for pair in pairs if all(m in network.hidden for m in pair))
    return Clause(options, one.complaint, pairs)


def _narrow(network: Network, seen: list[list[Seen]], ignored: list[Ignored]) -> str:
    """Set aside positives past what is exact, those that tell least first, the complaint last; say how many."""
    order = _least_telling(network, seen)
    gone = 0
    while gone < len(order) and _width(network, seen) > MAX_BITS:
        t, one = order[gone]
        seen[t].remove(one)
        ignored.append(Ignored(one.result, "more abnormal results at once than can be taken exactly: it tells least of them"))
        gone += 1
    return f"exact on all but the {gone} abnormal results that tell least, which were set aside" if gone else ""


def _width(network: Network, seen: Sequence[Sequence[Seen]]) -> int:
    """Return how many bits the engine needs for what was seen, repairs left out: those never add any."""
    looks = tuple(Look(_bounds(found), _clauses(network, found)) for found in seen)
    return width(network.model, Evidence(looks))


def _least_telling(network: Network, seen: Sequence[Sequence[Seen]]) -> list[tuple[int, Seen]]:
    """Return the positives with their looks, those that may be set aside first in front.

    What a result tells is taken as its surprise (-log of how common it is) times the share of it that causes make: what is common
    tells little of any cause, and so does what mostly comes by itself. An estimate; it only chooses what is left out.
    """
    positives = [(t, s) for t, look in enumerate(seen) for s in look if s.result.low > 0]
    if len(positives) + 2 * len(seen) <= MAX_BITS // 2:  # far from too many: not worth the counting
        return positives
    return sorted(positives, key=lambda pair: (pair[1].complaint, _telling(network, pair[1]), pair[0]))


def _telling(network: Network, one: Seen) -> float:
    made = by_itself = 0.0
    for name in (node(*n) for n in one.nodes):
        by_itself += sum(network.model.leaks[name][one.result.low :])
        for effect, link in network.graph.pred[name].items():
            for cause, edge in network.graph.pred[effect].items():
                made += network.graph.nodes[cause]["prior"] * edge["strength"] * sum(link["levels"][one.result.low :])
    return made / (made + by_itself) * -math.log(min(1.0, made + by_itself))


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


def parts_elsewhere(network: Network, looks: Sequence[LookResults]) -> Mapping[tuple[str, str], str]:
    """Return (check that moves the part, its own place) -> where it stands, as `parts_away`, but for the parts changed since."""
    found = dict(parts_away(network.base, exchanges(looks)))
    for number, look in enumerate(looks):
        stands = parts_away(network.base, exchanges(looks[:number]))
        for check, home in [key for key in found if key in stands]:
            if any(_changes_part(network, repair, check, home, stands[check, home]) for repair in look.repairs):
                del found[check, home]
    return found


def _changes_part(network: Network, repair: Repair, check: str, home: str, now: str) -> bool:
    """Return whether a repair fits another part in place of the one of a home place that stands elsewhere."""
    remedy, moves = network.base.remedies[repair.remedy], network.base.checks[check].moves
    mine = (c for c in network.causes.values() if c.place == home and repair.remedy in c.cause.remedies)
    return remedy.parts and inside(network.layout, now, repair.place) and any(feeds(network, c.id, moves, home) for c in mine)


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
                factor = factors_on(network.base.history[name], located)[grade].value
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
        if grade != history.nothing and factors_on(whole, located):
            acting[whole.id] = grade if grade in whole.answers else list(whole.answers)[-2]
        elif grade == history.nothing and found.get(whole.id) == whole.nothing:
            acting[name] = ""
    return acting


def factors_on(history: History, located: LocatedCause) -> Levels:
    """Return what the answers to a question do to a cause: named itself, else by its family; empty where neither is."""
    return history.acts_on.get(located.cause.id) or history.acts_on.get(located.cause.family) or {}


def _grade(network: Network, history: History, answers: Mapping[str, Result], located: LocatedCause) -> str:
    """Return the answer that acts on a cause: the innermost around it; empty where none does."""
    factors = factors_on(history, located)
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
