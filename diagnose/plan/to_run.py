"""What has to be otherwise before power turns the engine: plugs in, leads on, covers on, clips off, chocks in, tag off, cowling on."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from diagnose.plan.rules import POWERED
from diagnose.trouble.aircraft import Aircraft, Fact
from diagnose.trouble.aircraft_words import MANY, runs_as

# Thing, state it must not be in, how it must be, what to do about it, the ways of turning it matters for. Common practice, no source.
OTHERWISE = (
    ("magneto left", "grounded", "not grounded", "grounding clip off the left magneto", {"run"}),
    ("magneto right", "grounded", "not grounded", "grounding clip off the right magneto", {"run"}),
    ("chocks", "out", "in", "chocks in", POWERED),
    ("fuel", "off", "on", "fuel on", {"run"}),
    ("propeller", "tagged", "not tagged", "tag off, by whoever hung it", POWERED),
    # Its baffles cool the cylinders only with the cowling round them, and what was felt was felt with it on (from memory, no source).
    ("cowl", "off", "on", "cowling back on before full throttle", {"power"}),
)
WHOLE_RUN = frozenset({"run", "power"})  # how the confirming run turns it: full throttle is a part of it
ALL = {"plugs": "plugs back in, their leads on", "leads": "leads back on"}
ONE = {"plug": "back in, its lead on", "lead": "back on", "cover": "back on"}


@dataclass(frozen=True)
class Otherwise:
    """One thing that must be otherwise before power turns the engine: what to do, what is then recorded of it, how it is now."""

    thing: str
    must_be: str
    do: str
    fact: Fact

    @property
    def part(self) -> bool:
        """Return whether it is a plug, a lead or a cover, one or all: something to be put back."""
        return bool(runs_as(self.thing))


def otherwise(aircraft: Aircraft, turns: Collection[str], access: Collection[str] = ()) -> tuple[Otherwise, ...]:
    """Return what must be otherwise before a step that turns the engine so: nothing where it turns by hand alone.

    `access`: what the step itself needs; one that needs the plugs out, or the cowling off, is not stopped by them.
    """
    if not POWERED & set(turns):
        return ()
    cowl = {"power"} if "cowl_off" in access else set()
    return (*_parts(aircraft, frozenset(access)), *_rest(aircraft, frozenset(turns) - cowl))


def _parts(aircraft: Aircraft, access: frozenset[str]) -> Iterator[Otherwise]:
    free = {part for part, name in (("plug", "plugs_out"), ("lead", "plugs_out"), ("lead", "leads_off")) if name in access}
    for thing, fact in aircraft.facts.items():
        part, _, place = thing.partition(" ")
        named = next((p for p, many in MANY.items() if many == thing), part)
        must_be = runs_as(thing)
        if must_be and fact.now != must_be and named not in free:
            yield Otherwise(thing, must_be, ALL[thing] if thing in ALL else f"{part} {place} {ONE[part]}", fact)


def _rest(aircraft: Aircraft, turns: frozenset[str]) -> Iterator[Otherwise]:
    for thing, now, must_be, do, ways in OTHERWISE:
        if aircraft.now(thing) == now and turns & ways:
            yield Otherwise(thing, must_be, do, aircraft.facts[thing])
