"""Every observation of one place by name: what a program that answers questions calls. Whole runs are in `runs.py`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.places import SIDES
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand import bench, looks, runs
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
    "plug_look": Observation("circuit", looks.plug_look),
    "plug_gap": Observation("circuit", bench.plug_gap),
    "plug_resistance": Observation("circuit", bench.plug_resistance),
    "plug_insulation": Observation("circuit", bench.plug_insulation),
    "plug_bomb": Observation("circuit", bench.plug_bomb),
    "lead_look": Observation("circuit", looks.lead_look),
    "lead_goes_to": Observation("circuit", looks.lead_goes_to),
    "lead_continuity": Observation("circuit", lambda e, p: bench.lead_continuity(e, p)),
    "lead_continuity_flexed": Observation("circuit", lambda e, p: bench.lead_continuity(e, p, True)),
    "lead_insulation": Observation("circuit", bench.lead_insulation),
    "spark_at_lead": Observation("circuit", bench.spark_at_lead),
    "points_look": Observation("side", looks.points_look),
    "points_clearance": Observation("side", bench.points_clearance),
    "e_gap": Observation("side", bench.e_gap),
    "marks_agree": Observation("side", looks.marks_agree),
    "timing_to_engine": Observation("side", bench.timing_to_engine),
    "capacitor": Observation("side", bench.capacitor),
    "coil_primary": Observation("side", bench.coil_primary),
    "coil_secondary": Observation("side", bench.coil_secondary),
    "coming_in": Observation("side", lambda e, p: bench.coming_in(e, p)),
    "coming_in_hot": Observation("side", lambda e, p: bench.coming_in(e, p, True)),
    "distributor_look": Observation("side", looks.distributor_look),
    "fixing_look": Observation("side", looks.fixing_look),
    "impulse_by_hand": Observation("side", looks.impulse_by_hand),
    "impulse_look": Observation("side", looks.impulse_look),
    "retard_points": Observation("side", bench.retard_points),
    "p_lead_off": Observation("side", _p_lead("off")),
    "p_lead_both": Observation("side", _p_lead("both")),
    "p_lead_left": Observation("side", _p_lead("left")),
    "p_lead_right": Observation("side", _p_lead("right")),
    "p_lead_start": Observation("side", _p_lead("start")),
    "compression_hot": Observation("cylinder", lambda e, p: bench.compression(e, p, True)),
    "compression_cold": Observation("cylinder", lambda e, p: bench.compression(e, p, False)),
    "injector_flow": Observation("cylinder", bench.injector_flow),
    "induction_look": Observation("cylinder", looks.induction_look),
    "valve_look": Observation("cylinder", looks.valve_look),
    "probe_test": Observation("cylinder", bench.probe_test),
    "off_check": Observation("engine", _whole(runs.off_check)),
    "shut_down": Observation("engine", _whole(runs.shut_down)),
    "leaned_rpm_change": Observation("engine", _whole(runs.leaned_rpm_change)),
    "radio_noise": Observation("engine", _whole(runs.radio_noise)),
    "vibrator_sound": Observation("engine", _whole(looks.vibrator_sound)),
    "key_test": Observation("engine", _whole(looks.key_test)),
    "air_filter_look": Observation("engine", _whole(looks.air_filter_look)),
    "fuel_drain": Observation("engine", _whole(looks.fuel_drain)),
    "primer_look": Observation("engine", _whole(looks.primer_look)),
    "mount_look": Observation("engine", _whole(looks.mount_look)),
    "battery_volts": Observation("engine", _whole(bench.battery_volts)),
    "tachometer_error": Observation("engine", _whole(bench.tachometer_error)),
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
