"""What a result of an exchange of parts speaks of: the part that was taken from the place where the check was made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.trouble.evidence import parts_elsewhere
from diagnose.trouble.exchanges import taken_to
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, read_result


@dataclass(frozen=True)
class Taken:
    """A result as it is kept: `says` how it was read (empty: as written), `known` where its check is the exchange itself."""

    result: Result
    says: str = ""
    known: bool = False


def as_taken(found: Iterable[Result], done: str, looks: Sequence[LookResults], network: Network) -> tuple[Taken, ...]:
    """Return results as they are kept after these looks; `done`: the check they came of, as from `check_at`.

    A part that was exchanged shows what it does where it stands now. The check that is the exchange names the place the part was
    taken from; a result without that check is of the part that stands at its place now.
    """
    return tuple(_taken(result, done, looks, network) for result in found)


def kept_texts(found: Iterable[Taken]) -> tuple[list[str], list[str]]:
    """Return results as text, and what is said of how they were read."""
    every = list(found)
    return [str(t.result) for t in every], [t.says for t in every if t.says]


def _taken(result: Result, done: str, looks: Sequence[LookResults], network: Network) -> Taken:
    base = network.base
    moving = next((c for c in base.checks.values() if c.moves and c.moves == result.symptom), None)
    if moving is None or result.several or not exchanges(looks):
        return Taken(result)
    name, _, place = done.partition("@")
    if name in base.checks and base.checks[name].moves == result.symptom and place:
        return _of_exchange(result, name, place, looks, network)
    home = next((h for (c, h), now in parts_elsewhere(network, looks).items() if c == moving.id and now == result.place), "")
    if not home:
        return Taken(result)
    now = taken_to(base, exchanges(looks), moving.id, result.place)
    other = f"for the one taken from {result.place}: {_at(result, now)}, or --check {moving.id}@{result.place}"
    return Taken(result, f"taken for the {moving.part} that stands in {result.place} now, which is from {home}; {other}")


def _of_exchange(result: Result, check: str, place: str, looks: Sequence[LookResults], network: Network) -> Taken:
    """Return a result whose check is the exchange at a place: kept where the part taken from there stands now."""
    now = taken_to(network.base, exchanges(looks), check, place)
    if now == place or result.place not in (place, now):
        return Taken(result)
    if result.place == now:
        return Taken(result, known=True)
    (kept,) = read_result(_at(result, now), network.base, network.layout)
    part = network.base.checks[check].part
    stands = "now stands in" if now in parts_elsewhere(network, looks).values() else "was put in"
    return Taken(
        kept, f"the {part} from {place} {stands} {now}: kept as {kept}; for the {part} now in {place}: --check {check}@{now}", True
    )


def _at(result: Result, place: str) -> str:
    return f"{result.subject.rpartition('@')[0]}@{place}={result.grade}"
