"""What a remedy of the rule base does to the parts of an engine of the stand, as the bridge has it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from diagnose.drill.bridge import bridge
from diagnose.places import SIDES, inside
from diagnose.stand.engine import Engine
from diagnose.stand.repairs import REPAIRS

BY_PLACE = {"plugs": "circuit", "leads": "circuit", "cylinders": "cylinder"}  # parts of which there is one at every such place


def mend(engine: Engine, remedy: str, place: str) -> None:
    """Do a remedy at a place: everything it reaches there; what the bridge does not name stays as it was."""
    for step in bridge().mends.get(remedy, ()):
        if "=" in step:
            _set(engine, step, place)
        else:
            kind, do = OWN.get(step) or REPAIRS[step]
            for where in _reached(engine, place, kind):
                do(engine, where)


def _reached(engine: Engine, place: str, kind: str) -> Sequence[str]:
    """Return the places of a kind that a remedy at `place` reaches: itself, what lies in it, or the whole engine."""
    if kind == "engine":
        return ("engine",)
    every = SIDES if kind == "side" else engine.layout.places(kind)
    return every if place in ("engine", "switch", "start") else [p for p in every if inside(engine.layout, p, place)]


def _set(engine: Engine, step: str, place: str) -> None:
    """Set a field: PARTS.FIELD=VALUE."""
    target, _, text = step.partition("=")
    parts, _, field = target.partition(".")
    held, kind = getattr(engine.build, parts), BY_PLACE.get(parts, "")
    wanted = [held[int(p) if kind == "cylinder" else p] for p in _reached(engine, place, kind)] if kind else [held]
    for part in wanted:
        setattr(part, field, {"off": False, "": ""}.get(text, text) if text in ("off", "") else float(text))


def _new_probe(engine: Engine, cylinder: str) -> None:
    frame, number = engine.build.airframe, int(cylinder)
    frame.probe_dead.discard(number)
    frame.probe_weak.pop(number, None)
    frame.probe_of.pop(frame.probe_of.pop(number, 0), None)


def _clean_points(engine: Engine, side: str) -> None:
    points = engine.build.magnetos[side].points
    if points.face == "oily":
        points.face, points.contact_ohm = "frosted", 0.02


OWN: Mapping[str, tuple[str, Callable[[Engine, str], None]]] = {
    "clean-points": ("side", _clean_points),
    "new-probe": ("cylinder", _new_probe),
}
