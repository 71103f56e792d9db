"""What the cockpit and the ramp give with the engine running: magneto check, power, temperatures, OFF check, shutdown."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from diagnose.places import SIDES
from diagnose.stand.charge import pressure_in_hg
from diagnose.stand.conditions import FULL_POWER, IDLE, RUN_UP, Settings
from diagnose.stand.engine import Engine
from diagnose.stand.grounding import grounded_by_design
from diagnose.stand.reading import Reading, looked
from diagnose.stand.run import Running
from diagnose.stand.thermometers import exhaust, exhaust_change, exhaust_swing, head, head_change

TACH_SIGMA = 5.0  # rpm: two readings of one needle a few seconds apart (estimate)
EGT_SIGMA, CHT_SIGMA = 5.0, 4.0  # deg F: estimates
INHG_SIGMA = 0.2
ROUGH = ((0.13, "smooth"), (0.24, "slightly rough"), (0.5, "rough"), (9.9, "very rough"))  # of torque unevenness: estimates
OFTEN, SOMETIMES = 30.0, 2.0  # bangs in a minute: estimates
SLOW_SHARE = 0.7  # share of the loss from late burning that takes seconds to develop (FAA-H-8083-32B p10-27; size an estimate)
LATE_LOSS = 6e-4  # torque lost for a degree squared of later burning, coming from near the best (burn.py): estimate


@dataclass(frozen=True)
class OneMagneto:
    """One magneto alone: rpm, drop (no number when it died, or BOTH did), how it runs, what of the drop came at once, slowly, EGT."""

    rpm: Reading
    drop: Reading
    died: bool
    run: Reading
    at_once: float
    slowly: float
    egt: dict[int, Reading]
    noise: Reading


@dataclass(frozen=True)
class MagCheck:
    """A magneto check: on BOTH, then each side."""

    both: Reading
    both_run: Reading
    manifold: Reading
    noise: Reading
    sides: dict[str, OneMagneto]


def shake(engine: Engine, rpm: float) -> float:
    """Return shaking that has nothing to do with firing: propeller with the square of rpm, mount in a band (estimates)."""
    frame = engine.build.airframe
    band = math.exp(-(((rpm - 1900) / 250) ** 2))
    around, fast = engine.build.around, math.exp(-(((rpm - 2300) / 200) ** 2))
    beyond = around.shake * (rpm / 2300) ** 2 + 0.5 * (around.counterweights + 0.7 * around.panel) * fast
    return float(0.4 * frame.propeller_unbalance * (rpm / 2300) ** 2 + frame.mount * (0.35 * band + 0.05) + beyond)


def tachometer(engine: Engine, name: str, running: Running, position: str, before: float | None = None) -> Reading:
    """Return the tachometer's rpm; it may be off, stick on its way from `before`, or be fed by a ground lead."""
    frame = engine.build.airframe
    if frame.tach_from and frame.tach_from in grounded_by_design(engine.layout, position):
        return Reading(0.0, "rpm", ("needle falls to zero",))
    rpm = running.rpm
    if before is not None and frame.tach_sticks_rpm > 0 and rpm > 0:
        rpm += max(-frame.tach_sticks_rpm, min(frame.tach_sticks_rpm, before - rpm))
    seen = rpm * (1 + frame.tach_bias) + engine.scatter.fresh(f"tach {name}", TACH_SIGMA)
    return Reading(float(round(max(0.0, seen) / 5) * 5), "rpm")


def how_it_runs(engine: Engine, name: str, running: Running) -> Reading:
    """Return unevenness as a number and in a word, as a person in the seat would say."""
    if running.stopped:
        return looked("died")
    felt = math.hypot(running.roughness, shake(engine, running.rpm)) * math.exp(engine.scatter.fresh(f"felt {name}", 0.1))
    return Reading(round(felt, 3), "", (next(word for limit, word in ROUGH if felt <= limit or limit > 9),))


def noises(running: Running) -> Reading:
    """Return bangs in the intake (backfire) and in the exhaust (afterfire), a minute of each, in words too."""
    if running.stopped:
        return looked()
    per_minute = running.rpm / 2
    back = sum(f.backfires for f in running.firings.values()) * per_minute
    after = sum(max(0.0, 1 - f.lit - f.backfires) * (running.phi[n] > 0.8) for n, f in running.firings.items()) * 0.01 * per_minute
    after += sum(max(0.0, phi - 1.55) for phi in running.phi.values()) * 0.2 * per_minute
    words = tuple(
        f"{name} {_often(rate)}" for name, rate in (("bangs in the intake", back), ("bangs in the exhaust", after)) if rate > SOMETIMES
    )
    return Reading(round(back + after, 1), "bangs/min", words)


def _often(rate: float) -> str:
    return "often" if rate > OFTEN else "now and then"


def egt(engine: Engine, name: str, before: Running, after: Running) -> dict[int, Reading]:
    """Return by channel the change of exhaust temperature in deg F; a channel may be dead, dull, or see another cylinder."""
    frame = engine.build.airframe
    out = {}
    for channel in engine.build.cylinders:
        cylinder = frame.probe_of.get(channel, channel)
        if channel in frame.probe_dead:
            out[channel] = looked("no reading")
            continue
        if after.stopped or before.stopped:
            out[channel] = looked("engine stopped")
            continue
        shown = frame.probe_weak.get(channel, 1.0)
        change = exhaust_change(before, after, cylinder) * shown + engine.scatter.fresh(f"egt {name} {channel}", EGT_SIGMA)
        swing = exhaust_swing(after, cylinder) * shown
        out[channel] = Reading(float(round(change)), "degF", ("swings",) if swing > 45 else ("steady",))
    return out


def cht(engine: Engine, before: Running, after: Running) -> dict[int, Reading]:
    """Return by cylinder the settled change of head temperature in deg F."""
    return {
        n: Reading(float(round(head_change(before, after, n) + engine.scatter.fresh(f"cht {n}", CHT_SIGMA))), "degF")
        for n in engine.build.cylinders
        if not (before.stopped or after.stopped)
    }


def mag_check(engine: Engine, settings: Settings = RUN_UP) -> MagCheck:
    """Do a magneto check at a setting: throttle set on BOTH and left alone."""
    acts = engine.begin()
    opening = engine.throttle(settings, acts)
    both = engine.run(settings, "both", opening, acts)
    first = tachometer(engine, "both", both, "both")
    sides = {side: _one_magneto(engine, side, both, first, engine.run(settings, side, opening, acts)) for side in SIDES}
    return MagCheck(first, how_it_runs(engine, "both", both), manifold(engine, both), noises(both), sides)


def _one_magneto(engine: Engine, side: str, both: Running, first: Reading, alone: Running) -> OneMagneto:
    shown = tachometer(engine, side, alone, side, both.rpm)
    drop = (first.number or 0.0) - (shown.number or 0.0)
    true, share = both.rpm - alone.rpm, _at_once(both, alone)
    return OneMagneto(
        rpm=shown,
        drop=looked("died") if alone.stopped else looked("did not run on BOTH") if both.stopped else Reading(drop, "rpm"),
        died=alone.stopped,
        run=how_it_runs(engine, side, alone),
        at_once=round(max(0.0, true * share), 0),
        slowly=round(max(0.0, true * (1 - share)), 0),
        egt=egt(engine, side, both, alone),
        noise=noises(alone),
    )


def _at_once(both: Running, alone: Running) -> float:
    """Return the share of a drop that comes at once: lost cycles do, later burning mostly takes seconds."""
    cylinders = [n for n in alone.firings if n in both.firings]
    missing = sum(both.firings[n].lit - alone.firings[n].lit for n in cylinders)
    late = sum(max(0.0, alone.firings[n].half - both.firings[n].half) ** 2 for n in cylinders) * LATE_LOSS
    total = max(0.0, missing) + late
    return (max(0.0, missing) + (1 - SLOW_SHARE) * late) / total if total > 1e-6 else 1.0


def manifold(engine: Engine, running: Running) -> Reading:
    """Return manifold pressure in inches of mercury."""
    return Reading(round(pressure_in_hg(running.manifold_bar) + engine.scatter.fresh("manifold", INHG_SIGMA), 1), "inHg")


@dataclass(frozen=True)
class PowerCheck:
    """A steady run on BOTH: rpm, manifold pressure, how it runs, noises."""

    rpm: Reading
    manifold: Reading
    run: Reading
    noise: Reading
    cht: dict[int, Reading]


def power_check(engine: Engine, settings: Settings = FULL_POWER) -> PowerCheck:
    """Run on BOTH at a setting; full power at rest unless said otherwise. Head temperatures as rise above the air, deg F."""
    acts = engine.begin()
    steady = engine.run(settings, "both", engine.throttle(settings, acts), acts)
    heads = {} if steady.stopped else {n: _head(engine, steady, n) for n in engine.build.cylinders}
    return PowerCheck(
        tachometer(engine, "power", steady, "both"),
        manifold(engine, steady),
        how_it_runs(engine, "power", steady),
        noises(steady),
        heads,
    )


def _head(engine: Engine, steady: Running, number: int) -> Reading:
    settled = head(steady, number) + engine.build.around.head_off.get(number, 0.0)
    return Reading(float(round(settled + engine.scatter.fresh(f"head {number}", CHT_SIGMA))), "degF")


def cold_cylinder(engine: Engine, side: str, rpm: float | None = None) -> dict[int, Reading]:
    """Run on one magneto at its roughest speed, stop by mixture, and read every cylinder at the same spot, deg C.

    Without `rpm` the rougher of 1,400 (handbook: 1,200 to 1,600) and the run-up speed is used.
    """
    acts = engine.begin()
    tried = [Settings(rpm=r) for r in ((1400.0, RUN_UP.rpm) if rpm is None else (rpm,))]
    runs = [engine.run(s, engine.side(side), engine.throttle(s, acts), acts) for s in tried]
    steady = max(runs, key=lambda r: (not r.stopped, round(r.roughness, 2)))
    if steady.stopped:
        return {n: looked("engine died") for n in engine.build.cylinders}
    out = {}
    for order, number in enumerate(engine.build.cylinders):
        rise = head(steady, number) / 1.8 * (1 - 0.006 * order)  # cylinders read last have cooled a little: estimate
        value = engine.weather.celsius + rise + engine.scatter.fresh(f"spot {side} {number}", 4.0)
        out[number] = Reading(float(round(value)), "degC")
    return out


def off_check(engine: Engine) -> Reading:
    """Turn the switch to OFF for a moment at idle."""
    acts = engine.begin()
    opening = engine.throttle(IDLE, acts)
    off = engine.run(IDLE, "off", opening, acts)
    if off.stopped:
        return looked("stops firing")
    lit = sum(f.lit for f in off.firings.values()) / len(off.firings)
    return looked("keeps firing" if lit > 0.6 else "fires now and then")


def stops_in(engine: Engine, position: str, settings: Settings = IDLE) -> Reading:
    """Run with the switch in a position at idle and say whether it keeps running."""
    acts = engine.begin()
    alone = engine.run(settings, position, engine.throttle(settings, acts), acts)
    return looked("dies" if alone.stopped else "keeps running")


def shut_down(engine: Engine) -> Reading:
    """Pull the mixture at idle: the rise in rpm before it stops (10 to 20 is good, FAA-H-8083-32B p10-28)."""
    acts = engine.begin()
    opening = engine.throttle(IDLE, acts)
    rich = engine.build.supply.idle_mixture
    first = engine.run(IDLE, "both", opening, acts).rpm
    best = 0.0
    for leaner in (0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.65):
        engine.build.supply.idle_mixture = rich * leaner
        best = max(best, engine.run(IDLE, "both", opening, acts).rpm - first)
    engine.build.supply.idle_mixture = rich
    seen = max(0.0, best + engine.scatter.fresh("rise", 3.0))
    return Reading(float(round(seen / 5) * 5), "rpm", ("rises then stops",) if seen > 5 else ("stops without a rise",))


def leaned_rpm_change(engine: Engine, settings: Settings = RUN_UP) -> Reading:
    """Lean from full rich to best rpm at a throttle left alone: the change of rpm."""
    acts = engine.begin()
    opening = engine.throttle(settings, acts)
    rich = engine.run(settings, "both", opening, acts)
    best = engine.run(replace(settings, lever="best_power"), "both", opening, acts)
    return Reading(float(round((best.rpm - rich.rpm + engine.scatter.fresh("leaned", 4.0)) / 5) * 5), "rpm")


def radio_noise(engine: Engine) -> Reading:
    """Listen for noise at the pitch of engine speed."""
    bad = engine.build.airframe.radio_noise or engine.build.around.whine or any(lead.shield_broken for lead in engine.build.leads.values())
    return looked("whine with engine speed" if bad else "no ignition noise")


def egt_picture(engine: Engine, settings: Settings = RUN_UP, position: str = "both") -> dict[int, Reading]:
    """Return each exhaust temperature against the mean of all, deg F; probes differ by where they sit (estimate 15 deg F)."""
    acts = engine.begin()
    steady = engine.run(settings, position, engine.throttle(settings, acts), acts)
    frame = engine.build.airframe
    if steady.stopped:
        return {n: looked("engine stopped") for n in engine.build.cylinders}
    true = {n: exhaust(steady, n) + engine.build.around.exhaust_off.get(n, 0.0) for n in engine.build.cylinders}
    mean = sum(true.values()) / len(true)
    out = {}
    for channel in engine.build.cylinders:
        if channel in frame.probe_dead:
            out[channel] = looked("no reading")
            continue
        off = true[frame.probe_of.get(channel, channel)] - mean - 400 * (1 - frame.probe_weak.get(channel, 1.0))
        seat = engine.scatter.fixed(f"probe seat {channel}", 15.0)
        out[channel] = Reading(float(round(off + seat + engine.scatter.fresh(f"egt level {channel}", EGT_SIGMA))), "degF")
    return out
