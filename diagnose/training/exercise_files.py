"""Exercises written in YAML: read with every problem of the file, line and column."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from diagnose import loaded
from diagnose.drill.exercise import Exercise, Fault, complaint
from diagnose.places import Layout
from diagnose.problems import BadInput, BrokenRuleBase, Problem, did_you_mean
from diagnose.rulebase.fields import Context, Fields, as_float
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.nodes import Node, read_nodes
from diagnose.stand.conditions import Weather
from diagnose.stand.engine import Engine
from diagnose.stand.faults import KINDS, places_for
from diagnose.training.consistency import inconsistent
from diagnose.training.levels import LEVELS
from diagnose.training.task import Task
from diagnose.trouble.results import as_complaint, read_results

_ID = re.compile(r"[a-z][a-z0-9-]*")
WEATHER = {"celsius": (15.0, -30.0, 50.0), "altitude_ft": (0.0, -1000.0, 15000.0), "wet": (0.0, 0.0, 1.0)}  # usual, least, most


@dataclass(frozen=True)
class Sheet:
    """An exercise with the node each of its fields stands at, for what is found wrong with it later."""

    task: Task
    nodes: Mapping[str, Node]


def shelf() -> dict[str, Path]:
    """Return the shipped exercises by id, in order of their levels."""
    files = sorted((shipped("cases") / "drills").glob("*.yaml"))
    return {path.stem.partition("-")[2]: path for path in files}


def task_of(text: str, overlay: tuple[str, ...]) -> Task:
    """Return the exercise of a file, or a shipped one by its id. Raises BadInput; BrokenRuleBase holds every problem of the file."""
    path = shelf().get(text) or Path(text)
    if path.suffix != ".yaml" or not path.is_file():
        raise BadInput(f"'{text}' is no exercise: give a .yaml file or one of the shipped ones; {did_you_mean(text, shelf())}")
    task, problems = read_exercise(path.name, path.read_bytes(), overlay)
    if task is None:
        raise BrokenRuleBase("\n".join(str(p) for p in problems))
    return task


def read_exercise(name: str, data: bytes, overlay: tuple[str, ...] = (), consistent: bool = False) -> tuple[Task | None, list[Problem]]:
    """Return the exercise of a file's bytes and every problem; `consistent`: the slow checks as well."""
    root, met = read_nodes(name, data)
    context = Context(problems=list(met))
    sheet = _sheet(context, root, overlay, hashlib.sha256(data).hexdigest()) if root is not None else None
    if sheet is None or context.problems:
        return None, context.problems
    if consistent:
        for field, code, message, fix in inconsistent(loaded.network_of(overlay, sheet.task.layout), sheet.task):
            context.refuse(sheet.nodes.get(field, root or sheet.nodes["id"]), code, message, fix)
    return sheet.task, context.problems


def _sheet(context: Context, root: Node, overlay: tuple[str, ...], digest: str) -> Sheet | None:
    top = Fields(context, root, "the file")
    if top.text("format", required=True) not in ("", "1"):
        context.refuse(top.map["format"], "format", "this format of exercises is not known", "write `format: 1`")
    node = top.take("exercise", required=True)
    top.done()
    if node is None:
        return None
    f = Fields(context, node, "the exercise")
    base = loaded.rulebase(overlay)
    ident = f.text("id", required=True)
    if ident and not _ID.fullmatch(ident):
        context.refuse(f.map["id"], "id", f"'{ident}' is no id", "write small letters, digits and hyphens")
    layout = base.layouts.get(f.word("layout", base.layouts, required=True))
    title, level, story = f.text("title", required=True), f.word("level", LEVELS, required=True), f.text("story", required=True)
    seed, teaches, minutes = f.whole("seed", default=1), f.text("teaches"), f.whole("minutes")
    f.text("basis", required=True)
    weather = _weather(context, f.take("weather"))
    faults = _faults(context, f, layout) if layout is not None else ()
    told = f.nodes("complaint")
    f.asked.add("faults")  # not read where the layout is not known: their places hang on it
    f.done()
    if layout is None or context.problems:
        return None
    exercise = Exercise(seed, weather, faults)
    network = loaded.network_of(overlay, layout.id)
    found = _complaint(context, told, overlay, layout) if told else complaint(network, exercise)
    if not found and not context.problems:
        context.refuse(f.map["faults"], "unnoticed", "nobody would notice these faults, and there is no complaint", "make them larger")
    exercise = Exercise(seed, weather, faults, found)
    origin = {"exercise": ident, "sha256": digest}
    return Sheet(Task(ident, title, level, layout.id, story, exercise, origin, float(minutes), teaches), {**f.map})


def _weather(context: Context, node: Node | None) -> Weather:
    values = {name: usual for name, (usual, _, _) in WEATHER.items()}
    if node is not None:
        f = Fields(context, node, "the weather")
        for name, (_, low, high) in WEATHER.items():
            if name in f.map:
                values[name] = _number(context, f.map[name], low, high)
            f.asked.add(name)
        f.done()
    return Weather(values["celsius"], values["altitude_ft"], values["wet"])


def _number(context: Context, node: Node, low: float, high: float) -> float:
    value = as_float(node.text or "")
    if value is None or not low <= value <= high:
        context.refuse(
            node,
            "number",
            f"'{node.text if node.text is not None else node.kind}' is not usable",
            f"write a number from {low:g} to {high:g}",
        )
        return low
    return value


def _faults(context: Context, f: Fields, layout: Layout) -> tuple[Fault, ...]:
    engine, found = Engine(layout, 1), []
    for node in f.items("faults", required=True):
        one = Fields(context, node, "the fault")
        kind = one.word("kind", KINDS, required=True)
        if kind not in KINDS:
            continue
        places = places_for(engine, KINDS[kind])
        place = one.text("at", default=places[0] if len(places) == 1 else "")
        if place not in places:
            hint = did_you_mean(place, places) if places else f"{layout.id} has no such part"
            context.refuse(one.map.get("at", node), "place", f"{kind} cannot sit at '{place}'", hint)
        sizes = {name: size.usual for name, size in KINDS[kind].sizes.items()}
        for name, size in KINDS[kind].sizes.items():
            one.asked.add(name)
            if name in one.map:
                sizes[name] = _number(context, one.map[name], size.low, size.high)
        one.done()
        found.append(Fault(kind, place, sizes))
    if not found and "faults" in f.map and not context.problems:
        context.refuse(f.map["faults"], "missing", "there is no fault", "add - {kind: ..., at: ...}")
    return tuple(found)


def _complaint(context: Context, nodes: Iterable[Node], overlay: tuple[str, ...], layout: Layout) -> tuple[str, ...]:
    base, found = loaded.rulebase(overlay), []
    for node in nodes:
        try:
            found += [str(r) for r in as_complaint(read_results([node.text or ""], base, layout))]
        except BadInput as error:
            context.refuse(node, "complaint", str(error), "write SYMPTOM.REGIME@PLACE=GRADE")
    return tuple(found)
