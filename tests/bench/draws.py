"""Troubles drawn from a network: faults by prior, symptoms by their strengths and leaks, and what was noticed first.

Every draw follows the story of `diagnose.belief.model`. Kept are draws in which each fault itself shows in what is
complained of, so that the engine is fixed exactly when all of them are ended.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

from diagnose.audit.faults import level_of, shown
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, read_result

# What starts most troubles: the run-up. (Common practice, no source.)
NOTICED = ("rough.runup", "drop.runup", "no_drop.runup", "no_start", "rough.cruise_lean", "rough.idle")
MOST_NOTICED = 2


@dataclass(frozen=True)
class Drawn:
    """One trouble: what each fault shows, what shows by itself, and the complaint."""

    shown: dict[str, dict[str, int]]
    leaks: dict[str, int]
    complaint: tuple[str, ...] = ()

    @property
    def faults(self) -> tuple[str, ...]:
        """The faults that are there."""
        return tuple(self.shown)

    @cached_property
    def levels(self) -> dict[str, int]:
        """Every located symptom's grade."""
        levels = dict(self.leaks)
        for by_finding in self.shown.values():
            for finding, level in by_finding.items():
                levels[finding] = max(levels[finding], level)
        return levels

    def without(self, ended: Collection[str]) -> Drawn:
        """Return the trouble with some faults ended; everything else lasts."""
        return Drawn({f: s for f, s in self.shown.items() if f not in ended}, self.leaks, self.complaint)


def draw(network: Network, rng: Random, faults: int) -> Drawn:
    """Return a trouble with so many faults, each of which shows in the complaint."""
    causes = list(network.model.causes)
    odds = [c.prior / (1 - c.prior) for c in causes]
    while True:
        chosen = {c.id: c for c in rng.choices(causes, odds, k=faults)}
        if len(chosen) < faults:
            continue
        drawn = Drawn({c: shown(network, c, rng) for c in chosen}, {f: level_of(leak, rng) for f, leak in network.model.leaks.items()})
        complaint = _complaint(network, drawn.levels)
        if complaint and all(_shows(found, drawn.levels, complaint) for found in drawn.shown.values()):
            return replace(drawn, complaint=complaint)


def _complaint(network: Network, levels) -> tuple[str, ...]:
    found = [n for stem in NOTICED for n in network.symptoms if n.rpartition("@")[0] in (stem, f"{stem}.start") and levels[n]]
    return tuple(n for n in found if network.symptoms[n].place in ("left", "right", "engine"))[:MOST_NOTICED]


def _shows(found, levels, complaint) -> bool:
    return any(found.get(n, 0) == levels[n] > 0 for n in complaint)


def reading(network: Network, drawn: Drawn, name: str) -> Result:
    """Return what is read off a located symptom."""
    grade = network.symptoms[name].symptom.names[drawn.levels[name]]
    (result,) = read_result(f"{name}={grade}", network.base, network.layout)
    return result
