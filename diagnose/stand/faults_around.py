"""Faults of engine, propeller and airframe that no ignition work mends: seventeen kinds, sizes estimates.

They were chosen from a list of labels of ignition, fuel and engine faults, as what those labels leave out.
"""

from __future__ import annotations

from diagnose.stand.build import Build
from diagnose.stand.fault_kinds import Kind, Setter, Size, Sizes, amount


def _around(*names: str) -> Setter:
    """Set fields of what is around the ignition to the size, each scaled by what stands after its name (`shake:0.5`)."""

    def put(build: Build, place: str, sizes: Sizes) -> None:
        for name in names:
            field, _, scale = name.partition(":")
            setattr(build.around, field, sizes["amount"] * float(scale or 1))
        build.around.drag_acts = sizes.get("acts", 1.0)

    return put


def _breathes_less(build: Build, place: str, sizes: Sizes) -> None:
    for number, part in build.cylinders.items():
        if place in ("engine", str(number)):
            part.air, part.fuel = part.air * (1 - sizes["amount"]), part.fuel * (1 - sizes["amount"])


def _low_ratio(build: Build, place: str, sizes: Sizes) -> None:
    build.around.weak[int(place)] = sizes["amount"]


def _nozzle_large(build: Build, place: str, sizes: Sizes) -> None:
    build.cylinders[int(place)].fuel *= 1 + sizes["amount"]


def _uneven(build: Build, place: str, sizes: Sizes) -> None:
    for number, part in build.cylinders.items():
        part.fuel *= 1 + sizes["amount"] * (1 if number <= build.layout.cylinders / 2 else -1)


def _flange(build: Build, place: str, sizes: Sizes) -> None:
    build.around.exhaust_off[int(place)] = -sizes["amount"]


def _overcooled(build: Build, place: str, sizes: Sizes) -> None:
    build.around.head_off[int(place)] = -sizes["amount"]


def _scuffing(build: Build, place: str, sizes: Sizes) -> None:
    build.around.drag_at_power, build.around.head_off[int(place)] = sizes["amount"], 50 * sizes["amount"]


def _propeller(build: Build, place: str, sizes: Sizes) -> None:
    build.pitch *= sizes["amount"]


def _iced(build: Build, place: str, sizes: Sizes) -> None:
    build.pitch, build.around.shake = build.pitch * (1 + sizes["amount"]), 1.5 * sizes["amount"]


def _alternator(build: Build, place: str, sizes: Sizes) -> None:
    build.around.whine = True


def _bar(usual: float) -> dict[str, Size]:
    return amount(usual, 0.05, 3.0, "bar")


GROUP = "engine around"
KINDS = (
    Kind("engine.bearings", GROUP, "engine", "main bearings failing, engine turns hard", _around("drag"), _bar(0.9)),
    Kind(
        "engine.accessory-drags",
        GROUP,
        "engine",
        "a driven pump or generator drags at times",
        _around("drag"),
        {**_bar(0.9), "acts": Size(0.5, 0.01, 1.0, "chance a run")},
    ),
    Kind("engine.rod-bearing", GROUP, "engine", "rod bearing knocks", _around("drag", "shake:0.5"), _bar(0.5)),
    Kind("engine.cam-timed-off", GROUP, "engine", "camshaft a tooth off, all breathe less", _breathes_less, amount(0.14, 0.02, 0.4)),
    Kind("engine.counterweights", GROUP, "engine", "crankshaft counterweights worn", _around("counterweights"), amount(0.8)),
    Kind("piston.scuffs", GROUP, "cylinder", "piston scuffs at power", _scuffing, _bar(0.9)),
    Kind("piston.low-ratio", GROUP, "cylinder", "cylinder of a lower compression ratio", _low_ratio, amount(0.18, 0.02, 0.5)),
    Kind("intake.choked", GROUP, "cylinder", "rag or collapsed hose in one intake pipe", _breathes_less, amount(0.3, 0.05, 0.9)),
    Kind("intake.uneven", GROUP, "engine", "front cylinders rich, rear ones lean", _uneven, amount(0.18, 0.02, 0.4)),
    Kind("nozzle.large", GROUP, "cylinder", "nozzle too large, one cylinder rich", _nozzle_large, amount(0.35, 0.05, 0.6)),
    Kind("exhaust.flange-leak", GROUP, "cylinder", "exhaust leaks at the flange", _flange, amount(70.0, 10.0, 200.0, "deg F")),
    Kind("head.overcooled", GROUP, "cylinder", "too much cooling air at one head", _overcooled, amount(50.0, 10.0, 120.0, "deg F")),
    Kind("radio.alternator", GROUP, "engine", "alternator whines in the radio", _alternator),
    Kind("airframe.loose-panel", GROUP, "engine", "a panel buzzes at power", _around("panel"), amount(0.7)),
    Kind("propeller.indexed-wrong", GROUP, "engine", "propeller in the wrong holes of its flange", _around("shake"), amount(0.35)),
    Kind("propeller.iced", GROUP, "engine", "blades iced or caked", _iced, amount(0.15, 0.02, 0.5)),
    Kind(
        "propeller.wrong-model",
        GROUP,
        "engine",
        "propeller of another model takes less",
        _propeller,
        amount(0.85, 0.6, 0.97, "of its torque"),
    ),
)
