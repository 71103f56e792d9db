"""Parts exchanged between two places: where each cause stands now, and what it feeds there.

A cause sits in a part. Once the part stands somewhere else, the cause feeds there what it fed here; causes of the
place itself stay. A cause keeps the id of the place its part came from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.places import Layout, inside
from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import Check, RuleBase
from diagnose.trouble.network import Network

GOES_ALONG = ("cylinder", "side")  # where, beside its own place, what a part does shows
Moves = Mapping[str, Mapping[str, str]]


@dataclass(frozen=True)
class Exchange:
    """The part of a check (one with `moves`) exchanged between two places.

    `reach`: the places at which what these parts do can be seen; empty where nobody told, and then it can be seen anywhere.
    """

    check: str
    first: str
    second: str
    reach: frozenset[str] = field(default=frozenset(), compare=False)

    def __str__(self) -> str:
        """Return `CHECK@FIRST,SECOND`."""
        return f"{self.check}@{self.first},{self.second}"


def read_exchange(text: str, base: RuleBase, layout: Layout) -> Exchange:
    """Return an exchange from `CHECK@PLACE,PLACE`; BadInput says what is wrong and how to mend it."""
    name, _, places = text.partition("@")
    check = exchanging(name, text, base)
    given = [p.strip() for p in places.split(",")]
    known = layout.places(check.at)
    if len(given) != 2:
        raise BadInput(f"exchange '{text}': it wants two places; write {name}@PLACE,PLACE")
    for place in given:
        if place not in known:
            raise BadInput(f"exchange '{text}': no part of it stands at {place!r}; {did_you_mean(place, known)}")
    if given[0] == given[1]:
        raise BadInput(f"exchange '{text}': both places are the same; name the two the parts changed between")
    return Exchange(name, given[0], given[1], _reach(layout, given))


def _reach(layout: Layout, places: Sequence[str]) -> frozenset[str]:
    return frozenset(p for place in places for p in (place, "engine", *(q for r in GOES_ALONG for q in layout.related(place, r))))


def exchanging(name: str, text: str, base: RuleBase) -> Check:
    """Return a check that exchanges parts, by id; BadInput names those there are."""
    check = base.checks.get(name)
    if check is None or not check.moves:
        able = [c.id for c in base.checks.values() if c.moves]
        raise BadInput(f"exchange '{text}': no check that exchanges parts is called '{name}'; {did_you_mean(name, able)}")
    return check


def parts_away(base: RuleBase, exchanges: Sequence[Exchange]) -> Mapping[tuple[str, str], str]:
    """Return (check that moves the part, its own place) -> where it stands after these exchanges, those at home left out."""
    now: dict[tuple[str, str], str] = {}
    for one in exchanges:
        check = next(c.id for c in base.checks.values() if c.moves == base.checks[one.check].moves)
        mine = {home: place for (name, home), place in now.items() if name == check}
        for home in (*mine, one.first, one.second):
            here = mine.get(home, home)
            now[check, home] = one.second if here == one.first else one.first if here == one.second else here
    return {key: place for key, place in sorted(now.items()) if place != key[1]}


def standing_exchanges(base: RuleBase, exchanges: Sequence[Exchange], check: str) -> list[Exchange]:
    """Return the exchanges of the part that a check moves, oldest first; those put back again by the next one there are left out."""
    kept: list[Exchange] = []
    for one in exchanges:
        if base.checks[one.check].moves != base.checks[check].moves:
            continue
        pair = {one.first, one.second}
        last = next((n for n in reversed(range(len(kept))) if pair & {kept[n].first, kept[n].second}), None)
        if last is not None and pair == {kept[last].first, kept[last].second}:
            del kept[last]
        else:
            kept.append(one)
    return kept


def taken_to(base: RuleBase, exchanges: Sequence[Exchange], check: str, place: str) -> str:
    """Return where the part stands that stood at a place before its newest exchange there; the place itself where none stands."""
    kept = standing_exchanges(base, exchanges, check)
    newest = max((n for n, one in enumerate(kept) if place in (one.first, one.second)), default=len(kept))
    for one in kept[newest:]:
        place = one.second if place == one.first else one.first if place == one.second else place
    return place


def places_now(network: Network, exchanges: Sequence[Exchange]) -> Mapping[str, str]:
    """Return cause -> the place where its part stands after these exchanges, for those that left their own place."""
    return {
        located.id: place
        for (check, home), place in parts_away(network.base, exchanges).items()
        for located in network.causes.values()
        if located.place == home and feeds(network, located.id, network.base.checks[check].moves, home)
    }


def moved_links(network: Network, exchanges: Sequence[Exchange]) -> Moves:
    """Return what each cause feeds instead after these exchanges: finding -> finding where the part stands now.

    A cause of the part itself takes all it feeds along. One of a cylinder or the engine (oil past the rings, a fouled set)
    stays, but what it did to the part is seen where the part stands.
    """
    found: dict[str, dict[str, str]] = {}
    for (check, home), place in parts_away(network.base, exchanges).items():
        symptom = network.base.checks[check].moves
        for located in network.causes.values():
            if inside(network.layout, home, located.place) and feeds(network, located.id, symptom, home):
                links = renamed(network, located.id, home, place, whole=located.place == home)
                found.setdefault(located.id, {}).update(links)
    return found


def touched(network: Network, exchange: Exchange) -> frozenset[str]:
    """Return the located symptoms that an exchange leaves open again: those a moved part feeds at either place."""
    links = moved_links(network, [exchange]).values()
    return frozenset({name for one in links for name in (*one, *one.values())})


def feeds(network: Network, cause: str, symptom: str, place: str) -> bool:
    """Return whether a located cause feeds a symptom at a place."""
    return any(
        network.symptoms[finding].symptom.id == symptom and network.symptoms[finding].place == place
        for effect in network.graph.successors(cause)
        for finding in network.graph.successors(effect)
    )


def renamed(network: Network, cause: str, here: str, there: str, whole: bool) -> dict[str, str]:
    """Return finding -> finding where the part now stands; `whole`: its cylinder, magneto and twin move with it.

    What it feeds unseen (a side without spark) and what it would show somehow go along.
    """
    places = {here: there}
    for relation in (*GOES_ALONG, "other_side", "twin") if whole else ():
        places |= dict(zip(network.layout.related(here, relation), network.layout.related(there, relation), strict=True))
    node = network.cause_nodes[cause]
    shown = node.feeds.union(node.somehow.open if node.somehow and whole else ())
    found = {}
    for finding in sorted(shown):
        stem, _, place = finding.rpartition("@")
        target = f"{stem}@{places.get(place, place)}"
        if target != finding and (target in network.symptoms or finding not in network.symptoms):
            found[finding] = target
    return found
