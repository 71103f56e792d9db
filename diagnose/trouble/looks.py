"""Looks: what was seen between two repairs or exchanges, in the order it happened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from diagnose.trouble.exchanges import Exchange
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
    """The results of one look, which of them are complained of, and the repairs or the exchange of parts just before it.

    `once`: signs of danger seen in it and not seen again later, with nothing mended in between: they still count as danger.
    """

    results: tuple[Result, ...] = ()
    complaint: tuple[Result, ...] = ()
    repairs: tuple[Repair, ...] = ()
    exchange: Exchange | None = None
    once: tuple[Result, ...] = ()


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


def single_results(results: Sequence[Result]) -> dict[str, Result]:
    """Return the results at one place in one regime, by located symptom; history left out."""
    return {node(r.symptom, r.regimes[0], r.places[0]): r for r in results if not r.history and not r.several}


def at_each_place(looks: Sequence[LookResults]) -> Mapping[str, tuple[int, Result]]:
    """Return located symptom -> (look, result) of its newest known result, over all looks."""
    found = {}
    for number, look in enumerate(looks):
        found.update({name: (number, r) for name, r in single_results(look.results).items() if r.high >= 0})
    return found
