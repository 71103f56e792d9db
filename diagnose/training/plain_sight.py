"""What anybody standing before the engine of an exercise sees, told at its start: magnetos, start aid, fuel system, propeller, gauges."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

from diagnose.drill.bridge import bridge
from diagnose.places import SIDES
from diagnose.training.task import Task
from diagnose.trouble.network import Network

INJECTED = 0.45  # share of engines: the rule base's own probability of `fuel_injected` (estimate)


def injected(task: Task) -> bool:
    """Return whether the engine is injected: where a nozzle is at fault it must be, else it falls as its seed has it."""
    exercise = task.exercise
    nozzle = any(fault.kind.startswith("injector.") for fault in exercise.faults)
    return nozzle or Random(exercise.seed).random() < INJECTED  # noqa: S311


def facts(network: Network, task: Task) -> list[str]:
    """Return what is in plain sight as results: two magnetos and no unit, the fuel system, the stand's propeller of fixed pitch."""
    told = {**bridge().always, bridge().injected: "yes" if injected(task) else "no"}
    return [f"{name}@engine={grade}" for name, grade in told.items() if name in network.base.history]


def here(task: Task, results: Iterable[str]) -> list[str]:
    """Return results with what this engine's fuel system does not have left unknown."""
    without = bridge().only_fuel[not injected(task)]
    return [f"{text.partition('=')[0]}=unknown" if text.partition(".")[0].partition("@")[0] in without else text for text in results]


def engine_words(network: Network, task: Task) -> str:
    """Return the engine in one line."""
    layout = network.layout
    aids = {aid: [s for s in SIDES if layout.start_aid[s] == aid] for aid in ("impulse", "vibrator")}
    names = {"impulse": "impulse coupling", "vibrator": "starting vibrator"}
    aid = ", ".join(f"{names[kind]} {' and '.join(sides)}" for kind, sides in aids.items() if sides) or "no start aid"
    magnetos = "one dual magneto" if layout.drive == "single" else "two magnetos"
    fuel = "injected" if injected(task) else "carburetted"
    gauges = "tachometer, manifold pressure, exhaust and head probe on every cylinder"
    return f"{layout.cylinders} cylinders {layout.kind}, {magnetos}, {aid}, {fuel}, fixed propeller; {gauges}"
