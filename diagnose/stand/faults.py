"""All kinds of physical faults, and how one is put into an engine."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.places import SIDES
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand import faults_around, faults_engine, faults_magneto, faults_plugs_leads
from diagnose.stand.engine import Engine
from diagnose.stand.fault_kinds import Kind

_ALL = (*faults_plugs_leads.KINDS, *faults_magneto.KINDS, *faults_engine.KINDS, *faults_around.KINDS)
KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _ALL}


def places_for(engine: Engine, kind: Kind) -> tuple[str, ...]:
    """Return the places of this engine where a kind of fault can sit; empty where the layout has no such part."""
    layout, build = engine.layout, engine.build
    cylinders = layout.places("cylinder")
    table: dict[str, tuple[str, ...]] = {
        "engine": ("engine",),
        "side": SIDES,
        "circuit": layout.circuits,
        "cylinder": cylinders,
        "side with a coupling": tuple(s for s in SIDES if build.magnetos[s].drive.impulse is not None),
        "side with retard points": tuple(s for s in SIDES if build.magnetos[s].retard is not None),
        "engine with a vibrator": ("engine",) if "vibrator" in layout.start_aid.values() else (),
        "pair of circuits": tuple(f"{a}/{b}" for s in SIDES for a in layout.fires[s] for b in layout.fires[s] if a < b),
        "pair of cylinders": tuple(f"{a}/{b}" for a in cylinders for b in cylinders if int(a) < int(b)),
    }
    return table[kind.place]


def put_fault(engine: Engine, name: str, place: str, **sizes: float) -> None:
    """Put one fault into an engine. Raises BadInput for an unknown kind, place or size, or a size outside its limits."""
    if name not in KINDS:
        raise BadInput(f"fault {name!r} is not known; {did_you_mean(name, KINDS)}")
    kind = KINDS[name]
    places = places_for(engine, kind)
    if place not in places:
        raise BadInput(f"fault {name} cannot sit at {place!r} of this engine; {did_you_mean(place, places)}")
    for given, value in sizes.items():
        if given not in kind.sizes:
            raise BadInput(f"fault {name} has no size {given!r}; {did_you_mean(given, kind.sizes)}")
        size = kind.sizes[given]
        if not size.low <= value <= size.high:
            raise BadInput(f"fault {name}: {given} {value:g} is outside {size.low:g} to {size.high:g} {size.unit}".rstrip())
    kind.put(engine.build, place, {n: sizes.get(n, s.usual) for n, s in kind.sizes.items()})
