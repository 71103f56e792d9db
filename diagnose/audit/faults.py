"""Drawing troubles from the rule base itself: a fault by its prior, and everything that would then be seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from random import Random

from diagnose.audit.shows import given
from diagnose.belief.model import CauseNode, level_somehow
from diagnose.trouble.network import Network


@dataclass(frozen=True)
class Drawn:
    """A fault (a located cause), the level every located symptom shows, and the result reported first.

    `levels` index the symptom's grades; what is absent is normal. `complaint` is a located symptom, or empty where
    the fault shows nothing that anybody reports and nothing that a check gives: an undetected fault.
    """

    fault: str
    levels: Mapping[str, int]
    complaint: str

    def grade(self, network: Network, node: str) -> str:
        """Return the grade a located symptom shows."""
        return network.symptoms[node].symptom.names[self.levels.get(node, 0)]


def draw(network: Network, runs: int, seed: int) -> list[Drawn]:
    """Return `runs` troubles, the same ones for the same seed.

    Faults are spread evenly over the summed priors from one random start (systematic sampling): each is still
    drawn with a chance proportional to its prior, with less scatter than independent draws.
    """
    # Seeded on purpose, and nothing here is secret.
    random = Random(seed)  # noqa: S311
    checkable = given(network)
    return [_seen(network, fault, checkable, random) for fault in _faults(network, runs, random)]


def _faults(network: Network, runs: int, random: Random) -> list[str]:
    names = list(network.causes)
    sums = list(accumulate(network.graph.nodes[n]["prior"] for n in names))
    step, found, index = sums[-1] / runs, [], 0
    start = random.random() * step
    for run in range(runs):
        while index < len(sums) - 1 and sums[index] <= start + run * step:
            index += 1
        found.append(names[index])
    random.shuffle(found)  # so that the first few runs are not all of one part of the alphabet
    return found


def _seen(network: Network, fault: str, checkable: frozenset[str], random: Random) -> Drawn:
    graph = network.graph
    own = shown(network, fault, random)
    levels = {}
    for node in network.symptoms:
        level = max(own.get(node, 0), level_of(graph.nodes[node]["leak"], random))
        if level:
            levels[node] = level
    return Drawn(fault, levels, _complaint(network, [n for n, level in own.items() if level], checkable, random))


def shown(network: Network, fault: str, random: Random) -> dict[str, int]:
    """Return the level each located symptom gets from one fault; what it does not touch is left out.

    Effect by effect as far as the fault reaches, then what it shows somehow, then what comes of two silent sides.
    """
    cause = network.cause_nodes[fault]
    reached = level_of(cause.reach, random) if len(cause.reach) > 1 else 0
    found: dict[str, int] = {}
    for effect in cause.effects:
        if effect.step <= reached and random.random() < effect.strength:
            for link in effect.links:
                found[link.finding] = max(found.get(link.finding, 0), level_of(link.levels, random))
    found |= _somehow(network, cause, random)
    held = (f for f, pairs in network.model.pairs.items() if any(all(found.get(m) for m in pair) for pair in pairs))
    found |= {f: max(found.get(f, 0), 1) for f in held}
    return {f: level for f, level in found.items() if f in network.symptoms}


def _somehow(network: Network, cause: CauseNode, random: Random) -> dict[str, int]:
    """Return the level of each squawk a fault shows in a way nobody wrote, if it does."""
    if cause.somehow is None:
        return {}
    closed, leaks, drawn_at = network.model.written(cause) | cause.never, network.model.leaks, random.random()
    ways = (f for f, width in cause.somehow.open.items() if drawn_at < width and f not in closed)
    drawn = {f: level_of(level_somehow(cause.somehow.shows, leaks[f]), random) for f in ways}
    return {f: level for f, level in drawn.items() if level}


def level_of(chances: Sequence[float], random: Random) -> int:
    """Return a level drawn with these chances, the normal one first."""
    drawn = random.random()
    for level, chance in enumerate(chances):
        drawn -= chance
        if drawn < 0:
            return level
    return 0


def _complaint(network: Network, own: list[str], checkable: frozenset[str], random: Random) -> str:
    """Return one thing of the fault's own that somebody reports: a squawk, else what a routine check would show."""
    squawks = sorted(n for n in own if network.symptoms[n].symptom.kind == "squawk")
    choice = squawks or sorted(n for n in own if n in checkable)
    return random.choice(choice) if choice else ""
