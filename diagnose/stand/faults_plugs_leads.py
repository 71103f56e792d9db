"""Faults of plugs and leads."""

from __future__ import annotations

from diagnose.stand.build import Build
from diagnose.stand.fault_kinds import Kind, Setter, Size, Sizes, amount


def _plug(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.plugs[place], name, sizes["amount"])

    return put


def _plug_flag(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.plugs[place], name, True)

    return put


def _lead(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(build.leads[place], name, sizes["amount"])

    return put


def _worn(build: Build, place: str, sizes: Sizes) -> None:
    build.plugs[place].worn, build.plugs[place].gap_in = sizes["amount"], sizes["gap_in"]


def _cracked_nose(build: Build, place: str, sizes: Sizes) -> None:
    build.plugs[place].hot_spot, build.plugs[place].crack = sizes["amount"], 0.55


def _all_plugs(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        for plug in build.plugs.values():
            setattr(plug, name, sizes["amount"])

    return put


def _heat_range(step: int) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        for plug in build.plugs.values():
            plug.heat_range = step

    return put


def _low_plugs(name: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        for circuit in build.layout.circuits:
            if circuit.split("-")[1] == build.layout.fouls_first:
                setattr(build.plugs[circuit], name, sizes["amount"])

    return put


def _break(build: Build, place: str, sizes: Sizes) -> None:
    build.leads[place].gap_mm, build.leads[place].opens = sizes["gap_mm"], sizes.get("acts", 0.0)


def _dirty_end(build: Build, place: str, sizes: Sizes) -> None:
    build.leads[place].terminal_dirt, build.leads[place].gap_mm = sizes["amount"], 1.5 * sizes["amount"]


def _shield(build: Build, place: str, sizes: Sizes) -> None:
    build.leads[place].shield_broken = True


def _crossed(build: Build, place: str, sizes: Sizes) -> None:
    first, second = place.split("/")
    build.crossed[first], build.crossed[second] = second, first


GAP = {"amount": Size(0.030, 0.022, 0.060, "in")}
KINDS = (
    Kind("plug.lead", "plugs", "circuit", "lead on the nose, conducts when hot", _plug("lead"), amount(0.9)),
    Kind("plug.soot", "plugs", "circuit", "dry soot on the nose", _plug("soot"), amount(0.8)),
    Kind("plug.oil", "plugs", "circuit", "oil on the nose, worst cold", _plug("oil"), amount(0.9)),
    Kind("plug.glaze", "plugs", "circuit", "glaze, conducts when hot", _plug("glaze"), amount(0.9)),
    Kind("plug.metal", "plugs", "circuit", "metal spray on the nose", _plug("metal"), amount(0.9)),
    Kind("plug.water", "plugs", "circuit", "water or ice on the electrodes", _plug("water"), amount(1.0)),
    Kind("plug.fuel", "plugs", "circuit", "wet with fuel", _plug("fuel"), amount(1.0)),
    Kind("plug.bridged", "plugs", "circuit", "gap bridged by a particle", _plug_flag("bridged")),
    Kind("plug.shorted", "plugs", "circuit", "thread compound or graphite across the nose", _plug_flag("shorted")),
    Kind(
        "plug.worn",
        "plugs",
        "circuit",
        "electrodes worn round, gap grown",
        _worn,
        {"amount": Size(1.0, 0.3, 1.0, "share of the limit"), "gap_in": Size(0.032, 0.018, 0.06, "in")},
    ),
    Kind("plug.gap-wide", "plugs", "circuit", "gap too wide", _plug("gap_in"), GAP),
    Kind("plug.gap-narrow", "plugs", "circuit", "gap too narrow", _plug("gap_in"), {"amount": Size(0.009, 0.003, 0.014, "in")}),
    Kind("plug.resistor-high", "plugs", "circuit", "resistor drifted", _plug("resistor_ohm"), {"amount": Size(3e5, 5e3, 5e6, "ohm")}),
    Kind("plug.resistor-open", "plugs", "circuit", "resistor open", _plug("resistor_ohm"), {"amount": Size(1e8, 5e7, 1e10, "ohm")}),
    Kind("plug.nose-cracked", "plugs", "circuit", "nose cracked, a piece glows", _cracked_nose, amount(0.7)),
    Kind("plug.core-cracked", "plugs", "circuit", "insulator breaks down under voltage", _plug("crack"), amount(0.73)),
    Kind("plug.well", "plugs", "circuit", "flashover in the terminal well", _plug("well"), amount(0.9)),
    Kind("plug.loose", "plugs", "circuit", "loose or without gasket", _plug_flag("loose")),
    Kind("plugs.too-cold", "plugs", "engine", "whole set too cold", _heat_range(-1)),
    Kind("plugs.too-hot", "plugs", "engine", "whole set too hot", _heat_range(1)),
    Kind("plugs.low-leaded", "plugs", "engine", "all plugs of the position that fouls first leaded", _low_plugs("lead"), amount(0.8)),
    Kind("plugs.all-sooty", "plugs", "engine", "whole set sooty from rich running", _all_plugs("soot"), amount(0.55)),
    Kind("plugs.all-wide", "plugs", "engine", "whole set gapped wide", _all_plugs("gap_in"), GAP),
    Kind("plugs.all-wet", "plugs", "engine", "whole set wet or iced after a failed start", _all_plugs("water"), amount(1.0)),
    Kind("lead.open", "leads", "circuit", "conductor broken", _break, {"gap_mm": Size(15.0, 0.5, 60.0, "mm")}),
    Kind(
        "lead.flexes",
        "leads",
        "circuit",
        "conductor opens at times",
        _break,
        {"gap_mm": Size(15.0, 0.5, 60.0, "mm"), "acts": Size(0.5, 0.01, 0.99, "chance a run")},
    ),
    Kind("lead.chafed", "leads", "circuit", "insulation scuffed: fails as voltage rises", _lead("hurt"), amount(0.76)),
    Kind("lead.leaks", "leads", "circuit", "insulation tracked to the shield: fails always", _lead("hurt"), amount(0.95, 0.9, 1.0)),
    Kind("lead.damp", "leads", "circuit", "insulation fails when wet", _lead("damp"), amount(1.2, 0.1, 1.33)),
    Kind("lead.end-dirty", "leads", "circuit", "terminal dirty or burnt", _dirty_end, amount(1.0)),
    Kind("lead.end-loose", "leads", "circuit", "spring or terminal does not touch", _break, {"gap_mm": Size(4.0, 0.5, 20.0, "mm")}),
    Kind(
        "lead.resistive", "leads", "circuit", "lead of the wrong kind, too resistive", _lead("ohm"), {"amount": Size(3e4, 1e2, 5e5, "ohm")}
    ),
    Kind("lead.shield", "leads", "circuit", "shield or bond broken", _shield),
    Kind("leads.crossed", "leads", "pair of circuits", "two leads of one magneto exchanged", _crossed),
)
