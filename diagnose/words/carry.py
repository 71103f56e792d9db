"""What goes on from one clause to the next."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.words.clauses import Clause, Spot
from diagnose.words.finding import Finding
from diagnose.words.here import Here
from diagnose.words.matching import Setting
from diagnose.words.spots import merged

IMPLIED = (("sides", "magneto"), ("positions", "plug"))  # "left" alone is the left magneto, "bottom" a bottom plug


@dataclass
class Carry:
    """Place, condition, parts named, words that wait for their sense, what was found last."""

    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()
    things: frozenset[str] = frozenset()
    topic: frozenset[str] = frozenset()
    waiting: list[Clause] = field(default_factory=list)
    last: list[Finding] = field(default_factory=list)
    negated: bool = False

    def setting(self, clause: Clause, here: Here, implied: frozenset[str]) -> Setting:
        """Return what a clause is read against: what was said before it, as far as that goes on, and the check under way."""
        above = self.spot
        elsewhere = above == here.spot and clause.spot.cylinders and clause.spot.cylinders != above.cylinders
        if ("engine" in clause.names and not clause.spot) or (elsewhere and above.cylinders):
            above = Spot()
        spot = merged(clause.spot, above, here.spot)
        bare = not {t.name for t in clause.of("thing")} - {"engine", "switch"}
        carried = self.things | self.topic | {word for told, word in IMPLIED if bare and getattr(spot, told)}
        if bare and {"lead", "terminal"} & self.things:
            carried -= {"plug"}  # "harness old, cracked at 5 top" is of the lead to that plug
        carried |= {"cylinder"} if clause.spot.cylinders else set()
        regimes = clause.regimes or (() if clause.moves_on else self.regimes)
        return Setting(carried - clause.names, spot, bool(clause.spot), regimes, here.ids, implied)
