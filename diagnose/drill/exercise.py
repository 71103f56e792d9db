"""One trouble of the stand: layout, weather, faults, and the complaint with which the owner comes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from random import Random

from diagnose.drill.answers import answer
from diagnose.drill.bridge import bridge
from diagnose.drill.fault_causes import OUTSIDE, causes_of, mapped
from diagnose.drill.look import Look
from diagnose.problems import BadInput
from diagnose.stand.conditions import Weather
from diagnose.stand.engine import Engine
from diagnose.stand.fault_kinds import Kind
from diagnose.stand.faults import KINDS, places_for, put_fault
from diagnose.trouble.network import Network

MOST_TOLD = 2
SPREAD = 0.3  # of a fault's size around the usual, as a share (log-normal): estimate
MOST_TRIES = 200
TRIES_OUTSIDE = 3  # of one kind outside the rule base, before the next kind has its turn


@dataclass(frozen=True)
class Fault:
    """A physical fault at a place, with its sizes."""

    kind: str
    place: str
    sizes: Mapping[str, float]


@dataclass(frozen=True)
class Exercise:
    """A trouble; `complaint` are results as texts, `unnoticed` how many faults before it nobody would have noticed."""

    seed: int
    weather: Weather
    faults: tuple[Fault, ...]
    complaint: tuple[str, ...] = ()
    unnoticed: tuple[str, ...] = ()


def engine_of(network: Network, exercise: Exercise) -> Engine:
    """Return the engine of an exercise, faults in it."""
    engine = Engine(network.layout, exercise.seed, exercise.weather)
    for fault in exercise.faults:
        put_fault(engine, fault.kind, fault.place, **fault.sizes)
    return engine


def look_at(network: Network, exercise: Exercise, engine: Engine) -> Look:
    """Return a fresh occasion of looking at an engine of an exercise."""
    return Look(engine, Engine(network.layout, exercise.seed, exercise.weather))


class Deck:
    """What troubles of a network are drawn from: every (fault kind, place) of the layout that some cause describes, with its weight."""

    def __init__(self, network: Network, even: bool = False, only: Collection[str] | None = None) -> None:
        """Weigh each by the priors of its causes, each shared among all faults it describes.

        `even`: every kind alike; `only`: no kinds but these.
        """
        self.network, engine = network, Engine(network.layout, 1)
        wanted = [name for name in mapped() if only is None or name in only]
        self.pairs = [(name, place) for name in wanted for place in places_for(engine, KINDS[name])]
        self.causes = [causes_of(network, kind, place) for kind, place in self.pairs]
        shared = Counter(cause for causes in self.causes for cause in causes)
        self.weights = [sum(network.graph.nodes[c]["prior"] / shared[c] for c in causes) for causes in self.causes]
        if even:
            kinds = Counter(kind for (kind, _), causes in zip(self.pairs, self.causes, strict=True) if causes)
            self.weights = [1 / kinds[kind] if causes else 0.0 for (kind, _), causes in zip(self.pairs, self.causes, strict=True)]
        self.outside = {name: places_for(engine, KINDS[name]) for name in sorted(OUTSIDE)}

    def draw(self, number: int, seed: int, faults: int = 1) -> Exercise:
        """Return the trouble of a number, drawn until a pilot would notice; `faults` 0: one outside the rule base, kinds in turn."""
        rng = Random(seed * 1_000_003 + number)  # noqa: S311
        unnoticed: list[str] = []
        for _ in range(MOST_TRIES):
            chosen = self._inside(rng, faults) if faults else self._outside(rng, number + len(unnoticed) // TRIES_OUTSIDE)
            weather = Weather(round(rng.gauss(15, 8), 1), round(rng.uniform(0, 3000)), 0.0)
            exercise = Exercise(rng.randrange(2**31), weather, chosen)
            told = complaint(self.network, exercise)
            if told:
                return replace(exercise, complaint=told, unnoticed=tuple(unnoticed))
            unnoticed.append("+".join(f.kind for f in chosen))
        raise BadInput(f"no trouble {number} of seed {seed} that anybody would notice in {MOST_TRIES} tries; take another seed")

    def _inside(self, rng: Random, faults: int) -> tuple[Fault, ...]:
        found: dict[str, Fault] = {}
        while len(found) < faults:
            kind, place = rng.choices(self.pairs, self.weights)[0]
            found[kind] = sized(rng, KINDS[kind], place)
        return tuple(found.values())

    def _outside(self, rng: Random, number: int) -> tuple[Fault, ...]:
        name = list(self.outside)[number % len(self.outside)]
        return (sized(rng, KINDS[name], rng.choice(self.outside[name])),)


def sized(rng: Random, kind: Kind, place: str) -> Fault:
    """Return a fault of a kind at a place, its sizes spread around the usual ones, either way where a size has a sign."""
    sizes = {}
    for name, size in kind.sizes.items():
        sign = rng.choice((-1, 1)) if size.low < 0 else 1
        sizes[name] = min(size.high, max(size.low, sign * size.usual * math.exp(rng.gauss(0, SPREAD))))
    return Fault(kind.name, place, sizes)


def complaint(network: Network, exercise: Exercise) -> tuple[str, ...]:
    """Return what the owner comes with, as results; empty where nothing is noticed."""
    look = look_at(network, exercise, engine_of(network, exercise))
    for group in bridge().noticed:
        found = []
        for stem, kind in group:
            symptom, regime = stem.split(".")
            for place in network.layout.places(kind):
                name = f"{stem}@{place}"
                if name not in network.symptoms:
                    continue
                grade = answer(look, symptom, regime, place)
                if grade.split("|")[0] not in ("no", "normal", "unknown", "cannot"):
                    found.append(f"{name}={grade}")
        if found:
            return tuple(found[:MOST_TOLD])
    return ()
