"""Faults outside ignition: mixture, fuel, air, cylinders, propeller, mount, instruments."""

from __future__ import annotations

from diagnose.stand.build import Build
from diagnose.stand.fault_kinds import Kind, Setter, Size, Sizes, amount


def _supply(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.supply, name, sizes["amount"])

    return put


def _cylinder(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.cylinders[int(place)], name, sizes["amount"])

    return put


def _clogged(build: Build, place: str, sizes: Sizes) -> None:
    build.cylinders[int(place)].fuel *= 1 - sizes["amount"]


def _rings(build: Build, place: str, sizes: Sizes) -> None:
    part = build.cylinders[int(place)]
    part.rings, part.oil = sizes["amount"], sizes["oil"]
    for circuit in build.layout.circuits:
        if circuit.split("-")[0] == place:
            first = circuit.split("-")[1] == build.layout.fouls_first
            build.plugs[circuit].oil = sizes["oil"] * (0.9 if first else 0.3)


def _frame(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.airframe, name, sizes["amount"])

    return put


def _tach_from(build: Build, place: str, sizes: Sizes) -> None:
    build.airframe.tach_from = place


def _probe_dead(build: Build, place: str, sizes: Sizes) -> None:
    build.airframe.probe_dead.add(int(place))


def _probe_dull(build: Build, place: str, sizes: Sizes) -> None:
    build.airframe.probe_weak[int(place)] = 1 - sizes["amount"]


def _probes(build: Build, place: str, sizes: Sizes) -> None:
    first, second = (int(n) for n in place.split("/"))
    build.airframe.probe_of |= {first: second, second: first}


def _factor(usual: float, low: float, high: float) -> dict[str, Size]:
    return {"amount": Size(usual, low, high, "of proper fuel")}


def _leak(usual: float) -> dict[str, Size]:
    return {"amount": Size(usual, 0.1, 8.0, "orifice areas")}


KINDS = (
    Kind("mixture.rich", "mixture", "engine", "too rich at running speeds", _supply("mixture"), _factor(1.18, 1.05, 1.8)),
    Kind("mixture.lean", "mixture", "engine", "too lean at running speeds", _supply("mixture"), _factor(0.65, 0.4, 0.95)),
    Kind("idle.rich", "mixture", "engine", "idle too rich", _supply("idle_mixture"), _factor(1.12, 1.05, 1.8)),
    Kind("idle.lean", "mixture", "engine", "idle too lean", _supply("idle_mixture"), _factor(0.6, 0.4, 0.95)),
    Kind("primer.leaks", "fuel", "engine", "primer unlocked or leaking", _supply("primer_leak"), amount(0.5)),
    Kind("fuel.starved", "fuel", "engine", "not enough fuel at high flow", _supply("starved"), amount(0.4)),
    Kind("fuel.water", "fuel", "engine", "water in the fuel", _supply("water"), amount(0.4)),
    Kind("filter.blocked", "air", "engine", "air filter or duct blocked", _supply("air_blocked"), amount(0.6)),
    Kind("exhaust.blocked", "air", "engine", "exhaust blocked", _supply("exhaust_choked"), amount(0.6)),
    Kind("injector.clogged", "injector", "cylinder", "nozzle or its line clogged", _clogged, amount(0.35, 0.05, 1.0)),
    Kind(
        "induction.leak",
        "induction",
        "cylinder",
        "intake pipe leaks",
        _cylinder("pipe_leak"),
        {"amount": Size(0.4, 0.05, 1.5, "share of the pipe")},
    ),
    Kind("valve.exhaust-burnt", "valves", "cylinder", "exhaust valve burnt", _cylinder("exhaust_valve"), _leak(2.0)),
    Kind("valve.intake-leaks", "valves", "cylinder", "intake valve leaks", _cylinder("intake_valve"), _leak(1.5)),
    Kind("valve.sticks-cold", "valves", "cylinder", "valve hangs when cold", _cylinder("sticks_cold"), amount(0.9)),
    Kind("valve.sticks-warm", "valves", "cylinder", "valve hangs warm too", _cylinder("sticks_warm"), amount(0.5)),
    Kind(
        "valve.clearance", "valves", "cylinder", "clearance wrong, below zero too small", _cylinder("clearance_off"), amount(0.8, -1.0, 1.0)
    ),
    Kind(
        "rings.worn",
        "rings",
        "cylinder",
        "rings or bore worn or broken, oil passes",
        _rings,
        {"amount": Size(1.2, 0.3, 8.0, "orifice areas"), "oil": Size(0.8, 0.0, 1.0, "share")},
    ),
    Kind("cylinder.glows", "valves", "cylinder", "carbon or a sharp edge glows at power", _cylinder("glows"), amount(0.6)),
    Kind("propeller.unbalance", "propeller", "engine", "propeller out of balance or track", _frame("propeller_unbalance"), amount(0.9)),
    Kind("mount.soft", "mount", "engine", "mount or bushings soft", _frame("mount"), amount(0.9)),
    Kind("tachometer.off", "instruments", "engine", "tachometer reads off", _frame("tach_bias"), amount(0.06, -0.2, 0.2)),
    Kind(
        "tachometer.sticks", "instruments", "engine", "needle sticks", _frame("tach_sticks_rpm"), {"amount": Size(80.0, 10.0, 150.0, "rpm")}
    ),
    Kind("tachometer.from-p-lead", "instruments", "side", "tachometer fed by this side's ground lead", _tach_from),
    Kind("probe.dead", "instruments", "cylinder", "exhaust probe open", _probe_dead),
    Kind("probe.dull", "instruments", "cylinder", "exhaust probe shows part of a change", _probe_dull, amount(0.6)),
    Kind("probes.exchanged", "instruments", "pair of cylinders", "two exhaust channels exchanged", _probes),
)
