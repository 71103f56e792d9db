"""What is off, out or open on the aircraft of an exercise, what it takes to put it right, and doing so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.places import SIDES
from diagnose.plan.to_run import otherwise
from diagnose.rulebase.records import RuleBase
from diagnose.training.work import AS_PARKED, Work
from diagnose.trouble.aircraft import Aircraft
from diagnose.trouble.aircraft_words import P_LEADS


@dataclass(frozen=True)
class ToRight:
    """What stands otherwise: `told` in words, `states` thing -> how it must be, `closes` entries of open items, the `minutes` it takes.

    `proof`: the OFF check is due once it is done.
    """

    told: tuple[str, ...]
    states: Mapping[str, str]
    closes: tuple[int, ...]
    minutes: float
    proof: bool


def off_now(aircraft: Aircraft) -> dict[str, str]:
    """Return thing -> how it must be, for what is recorded otherwise than parked and whole: cowl, plugs, leads, covers."""
    single = {item.thing: item.must_be for item in otherwise(aircraft, {"run"}) if item.part}  # plug 3-bottom, cover left
    whole = {**AS_PARKED, **single, **{f"magneto {side}": "not grounded" for side in SIDES}}
    return {thing: must_be for thing, must_be in whole.items() if aircraft.now(thing) not in ("", must_be)}


def to_right(base: RuleBase, aircraft: Aircraft, blow: bool) -> ToRight:
    """Return what is to be put right, with `blow` the look after a kick-back; nothing is told where all of it is."""
    settings = base.settings
    states, items = off_now(aircraft), aircraft.left
    told = [item.text for item in items] + [f"{thing}: {aircraft.now(thing)}, to be {must_be}" for thing, must_be in states.items()]
    told += ["After the kick-back: starter, drives, gears, couplings and propeller looked at"] if blow else []
    steps = {item.step for item in items}  # what such a step left off goes back with it
    alone = [thing for thing in states if thing != "cowl" and aircraft.facts[thing].step not in steps]
    minutes = settings.refit_minutes * (len(items) + len(alone)) + (settings.inspect_minutes if blow else 0)
    minutes += base.access["cowl_off"].minutes.value if "cowl" in states else 0  # on again as long as off (estimate)
    states = {**states, **({"inspection": "done"} if blow else {})}
    proof = aircraft.off_due is not None or bool(items) or any(thing in P_LEADS.values() for thing in states)
    return ToRight(tuple(told), states, tuple(item.entry for item in items), minutes, proof)


def put_right(work: Work, wanted: ToRight) -> None:
    """Put on disk that it is put right, and the minutes it took."""
    closed = [("note", {"note": "put right in the exercise", "closes": entry}) for entry in wanted.closes]
    states = [("state", {"state": dict(wanted.states)})] if wanted.states else []
    work.record(("drill", {"move": "right", "minutes": wanted.minutes, "told": list(wanted.told)}), *closed, *states)
