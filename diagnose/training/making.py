"""An exercise file made from a fault, a story and limits, or from a closed case of the shop."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import yaml

from diagnose.case.case import Case
from diagnose.drill.bridge import bridge
from diagnose.drill.exercise import Exercise, Fault, engine_of
from diagnose.places import inside
from diagnose.problems import BadInput, Problem, did_you_mean
from diagnose.stand.conditions import Weather
from diagnose.stand.engine import Engine
from diagnose.stand.faults import KINDS, places_for
from diagnose.training.exercise_files import read_exercise
from diagnose.training.levels import LEVELS
from diagnose.training.still_in import still_there
from diagnose.training.task import Task
from diagnose.trouble.complaint import complaint_gone, complaints
from diagnose.trouble.network import Network

_FAULT = re.compile(r"(?P<kind>[a-z.-]+)(?:@(?P<place>[a-z0-9/-]+))?(?P<sizes>(?:,[a-z_]+=[0-9.e+-]+)*)")
SEEDS = range(1, 4)  # engines tried for a case: they differ as engines do
SCALES = (1.0, 0.7, 1.4, 2.0)  # of the usual size, tried in turn (estimates)


@dataclass(frozen=True)
class Wish:
    """What an instructor wants: faults as `KIND[@PLACE][,SIZE=VALUE]`, and the fields of the file."""

    id: str
    level: str
    layout: str
    faults: tuple[str, ...]
    story: str
    title: str = ""
    teaches: str = ""
    minutes: int = 0
    seed: int = 1
    complaint: tuple[str, ...] = ()
    weather: Mapping[str, float] = field(default_factory=dict)
    basis: str = "invented"


def made(wish: Wish, overlay: tuple[str, ...] = ()) -> tuple[str, list[Problem]]:
    """Return the text of an exercise file and every problem of it, the slow checks of consistency among them."""
    text = written(wish, [_fault(told) for told in wish.faults])
    _, problems = read_exercise(f"{wish.id}.yaml", text.encode(), overlay, consistent=True)
    return text, problems


def written(wish: Wish, faults: list[dict[str, Any]]) -> str:
    """Return the text of an exercise file."""
    told: dict[str, Any] = {"id": wish.id, "title": wish.title or wish.id.replace("-", " ").capitalize(), "level": wish.level}
    told |= {"layout": wish.layout, "seed": wish.seed}
    told |= {"weather": dict(wish.weather)} if wish.weather else {}
    told |= {"faults": faults}
    told |= {"complaint": list(wish.complaint)} if wish.complaint else {}
    told |= {"story": wish.story}
    told |= {"teaches": wish.teaches} if wish.teaches else {}
    told |= {"minutes": wish.minutes} if wish.minutes else {}
    return str(yaml.safe_dump({"format": 1, "exercise": {**told, "basis": wish.basis}}, sort_keys=False, width=120, allow_unicode=True))


def _fault(text: str) -> dict[str, Any]:
    """Return a fault as it is written in a file. Raises BadInput."""
    found = _FAULT.fullmatch(text)
    if found is None:
        raise BadInput(f"fault '{text}' is not readable; write KIND@PLACE, such as plug.lead@3-bottom or plug.lead@3-bottom,amount=.8")
    if found["kind"] not in KINDS:
        raise BadInput(f"fault '{text}': no kind of fault is called '{found['kind']}'; {did_you_mean(found['kind'], KINDS)}")
    sizes = dict(part.split("=") for part in found["sizes"].split(",") if part)
    return {"kind": found["kind"], **({"at": found["place"]} if found["place"] else {}), **{k: _plain(v) for k, v in sizes.items()}}


def _plain(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def from_case(case: Case, network: Network, wish: Wish, overlay: tuple[str, ...] = ()) -> tuple[str, list[Problem]]:
    """Return an exercise like a closed case: its own complaint, the fault its repair ended, an engine that shows it.

    Raises BadInput where the case is not closed, or its cause is no fault of the stand.
    """
    looks = case.trouble.looks
    if not complaint_gone(looks):
        raise BadInput(f"case '{case.path}' is not closed: its complaint was not looked at again after a repair and found gone")
    told = tuple(str(c.result) for c in complaints(looks))
    problems: list[Problem] = []
    text = ""
    for kind, place in _ended(case, network):
        for seed, sizes in _showing(network, kind, place, told):
            tried = replace(wish, complaint=told, seed=seed, level=wish.level or level_of(kind))
            text = written(tried, [{"kind": kind, "at": place, **sizes}])
            _, problems = read_exercise(f"{wish.id}.yaml", text.encode(), overlay, consistent=True)
            if not problems:
                return text, []
            break
    if not text:
        raise BadInput(f"case '{case.path}': no fault of the stand that its last repair ends shows this complaint; use --make with --fault")
    return text, problems


def _showing(network: Network, kind: str, place: str, told: tuple[str, ...]) -> Iterator[tuple[int, dict[str, float]]]:
    """Yield seeds and sizes with which the engine shows all that was complained of, the usual size first."""
    for scale in SCALES if KINDS[kind].sizes else SCALES[:1]:
        sizes = {n: round(min(s.high, max(s.low, s.usual * scale)), 4) for n, s in KINDS[kind].sizes.items()}
        for seed in SEEDS:
            exercise = Exercise(seed, Weather(15.0, 0.0, 0.0), (Fault(kind, place, sizes),), told)
            task = Task("", "", "", network.layout.id, "", exercise)
            if set(told) <= set(still_there(network, task, engine_of(network, exercise))):
                yield seed, sizes


def _ended(case: Case, network: Network) -> Iterator[tuple[str, str]]:
    """Yield the faults of the stand (kind, place) that the last repair of a case can have ended, its place first."""
    repair = next(r for look in reversed(case.trouble.looks) for r in look.repairs)
    engine = Engine(network.layout, 1)
    for kind, causes in bridge().faults.items():
        if any(repair.remedy in network.base.causes[c].remedies for c in causes):
            for place in places_for(engine, KINDS[kind]):
                if place == repair.place or inside(network.layout, place.partition("/")[0], repair.place):
                    yield kind, place
                    break


def level_of(kind: str) -> str:
    """Return the first level that draws from a kind of fault."""
    return next((level.id for level in LEVELS.values() if kind in level.kinds and level.faults == 1), "unknown")
