"""Every observation of one place by name: what a program that answers questions calls. Whole runs are in `runs.py`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.places import SIDES
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand import bench, runs, seen
from diagnose.stand.engine import Engine
from diagnose.stand.reading import Reading


@dataclass(frozen=True)
class Observation:
    """One kind of observation: the kind of place it is made at, and the function."""

    place: str
    make: Callable[[Engine, str], Reading]


def _whole(make: Callable[[Engine], Reading]) -> Callable[[Engine, str], Reading]:
    return lambda engine, place: make(engine)


def _p_lead(position: str) -> Callable[[Engine, str], Reading]:
    return lambda engine, place: bench.p_lead(engine, place, position)


OBSERVATIONS: Mapping[str, Observation] = {
    "plug-look": Observation("circuit", seen.plug_look),
    "plug-gap": Observation("circuit", bench.plug_gap),
    "plug-resistance": Observation("circuit", bench.plug_resistance),
    "plug-insulation": Observation("circuit", bench.plug_insulation),
    "plug-bomb": Observation("circuit", bench.plug_bomb),
    "lead-look": Observation("circuit", seen.lead_look),
    "lead-goes-to": Observation("circuit", seen.lead_goes_to),
    "lead-continuity": Observation("circuit", lambda e, p: bench.lead_continuity(e, p)),
    "lead-continuity-flexed": Observation("circuit", lambda e, p: bench.lead_continuity(e, p, True)),
    "lead-insulation": Observation("circuit", bench.lead_insulation),
    "spark-at-lead": Observation("circuit", bench.spark_at_lead),
    "points-look": Observation("side", seen.points_look),
    "points-clearance": Observation("side", bench.points_clearance),
    "e-gap": Observation("side", bench.e_gap),
    "marks-agree": Observation("side", seen.marks_agree),
    "timing-to-engine": Observation("side", bench.timing_to_engine),
    "capacitor": Observation("side", bench.capacitor),
    "coil-primary": Observation("side", bench.coil_primary),
    "coil-secondary": Observation("side", bench.coil_secondary),
    "coming-in": Observation("side", lambda e, p: bench.coming_in(e, p)),
    "coming-in-hot": Observation("side", lambda e, p: bench.coming_in(e, p, True)),
    "distributor-look": Observation("side", seen.distributor_look),
    "fixing-look": Observation("side", seen.fixing_look),
    "impulse-by-hand": Observation("side", seen.impulse_by_hand),
    "impulse-look": Observation("side", seen.impulse_look),
    "retard-points": Observation("side", bench.retard_points),
    "p-lead-off": Observation("side", _p_lead("off")),
    "p-lead-both": Observation("side", _p_lead("both")),
    "p-lead-left": Observation("side", _p_lead("left")),
    "p-lead-right": Observation("side", _p_lead("right")),
    "p-lead-start": Observation("side", _p_lead("start")),
    "compression-hot": Observation("cylinder", lambda e, p: bench.compression(e, p, True)),
    "compression-cold": Observation("cylinder", lambda e, p: bench.compression(e, p, False)),
    "injector-flow": Observation("cylinder", bench.injector_flow),
    "induction-look": Observation("cylinder", seen.induction_look),
    "valve-look": Observation("cylinder", seen.valve_look),
    "probe-test": Observation("cylinder", bench.probe_test),
    "off-check": Observation("engine", _whole(runs.off_check)),
    "shut-down": Observation("engine", _whole(runs.shut_down)),
    "leaned-rpm-change": Observation("engine", _whole(runs.leaned_rpm_change)),
    "radio-noise": Observation("engine", _whole(runs.radio_noise)),
    "vibrator-sound": Observation("engine", _whole(seen.vibrator_sound)),
    "key-test": Observation("engine", _whole(seen.key_test)),
    "air-filter-look": Observation("engine", _whole(seen.air_filter_look)),
    "fuel-drain": Observation("engine", _whole(seen.fuel_drain)),
    "primer-look": Observation("engine", _whole(seen.primer_look)),
    "mount-look": Observation("engine", _whole(seen.mount_look)),
    "battery-volts": Observation("engine", _whole(bench.battery_volts)),
    "tachometer-error": Observation("engine", _whole(bench.tachometer_error)),
}


def places_of(engine: Engine, name: str) -> tuple[str, ...]:
    """Return the places at which an observation can be made on this engine. Raises BadInput."""
    if name not in OBSERVATIONS:
        raise BadInput(f"observation {name!r} is not known; {did_you_mean(name, OBSERVATIONS)}")
    kind = OBSERVATIONS[name].place
    return {"engine": ("engine",), "side": SIDES}.get(kind) or engine.layout.places(kind)


def observe(engine: Engine, name: str, place: str = "engine") -> Reading:
    """Make one observation at a place. Raises BadInput."""
    places = places_of(engine, name)
    if place not in places:
        raise BadInput(f"observation {name} is not made at {place!r}; {did_you_mean(place, places)}")
    return OBSERVATIONS[name].make(engine, place)
