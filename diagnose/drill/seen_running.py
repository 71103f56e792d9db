"""What is read with the engine running or being started: numbers through the bench arithmetic, words through the grades.

Where the arithmetic has no limit of its own the margin against the engine's own usual figure is an estimate.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from statistics import median

from diagnose.calc.answer import above, below
from diagnose.calc.cold_cylinder import ColdRun, grade, warmth
from diagnose.calc.egt_table import egt_results, examine
from diagnose.calc.mag_check import MagLimits, MagReadings, SideReading, check_magnetos, results
from diagnose.calc.readings_csv import Temperatures
from diagnose.drill.look import SETTINGS, Look, run_at
from diagnose.places import SIDES, Layout
from diagnose.stand.conditions import RUN_UP, Settings
from diagnose.stand.reading import Reading
from diagnose.stand.runs import MagCheck, OneMagneto, cold_cylinder, how_it_runs, mag_check
from diagnose.stand.thermometers import head

Answer = Callable[[Look, str, str], str]
RUNS = {"smooth": "smooth", "rough": "rough", "very rough": "rough"}  # "slightly rough" is neither, and is left open
WORSE = ("smooth", "slightly rough", "rough", "very rough", "died")
BASE_EGT = 1300.0  # deg F on BOTH, only so that there is a table: differences alone count
SWING = 40.0  # deg F to either side of a needle that swings: estimate
TACH_BAND = 25.0
STATIC_MARGIN = 50.0  # rpm under the engine's own static figure at which its book's lower limit stands: estimate
MP_INHG, MP_BAND = 0.75, 0.25  # inHg off the engine's own figure: estimates
EGT_OFF, EGT_BAND = 50.0, 15.0  # deg F off its own pattern: estimates
CHT_OFF, CHT_BAND = 25.0, 8.0  # deg F off its own pattern: estimates
FLOW_OFF, FLOW_BAND = 0.10, 0.03  # share off its own flow: estimates
ALONE_TOO = ("runup", "cruise_lean", "wet")  # bangs on one magneto alone are told too
SMALLEST_TOLD = 75.0  # rpm: a drop up to the usual 25 to 75 (FAA-H-8083-32B p4-31) is only noted; nobody says how it came


def mag_grades(check: MagCheck, layout: Layout, regime: str) -> Mapping[str, str]:
    """Return `ROLE@PLACE` -> grade of a magneto check; empty where the engine did not run on BOTH."""
    both = check.both.number or 0.0
    if both < 300:
        return {}
    sides = {s: _side(one) for s, one in check.sides.items() if one.died or (one.rpm.number or 0.0) > 0}
    told = MagReadings(both, sides, both_run=RUNS.get(_word(check.both_run), ""), regime=regime, rise_repeated=True)
    texts = (text.split("=") for text in results(check_magnetos(told, MagLimits(), layout)))
    return {f"{name.split('.')[0]}@{name.split('@')[1]}": grade for name, grade in texts}


def _side(one: OneMagneto) -> SideReading:
    if one.died:
        return SideReading(None)
    change = "fast" if one.at_once >= 2 * one.slowly else "slow" if one.slowly >= 2 * one.at_once else "both"
    return SideReading(one.rpm.number, RUNS.get(_word(one.run), ""), change if (one.drop.number or 0.0) >= SMALLEST_TOLD else "")


def _word(run: Reading) -> str:
    return run.words[0] if run.words else ""


def mag(role: str) -> Answer:
    """Return one grade of the magneto check of a regime."""

    def told(look: Look, regime: str, place: str) -> str:
        found = look.once(("grades", regime), lambda: mag_grades(look.mag(regime), look.engine.layout, regime))
        return found.get(f"{role}@{place}", "")

    return told


def rough(look: Look, regime: str, place: str) -> str:
    """Return whether it misses or shakes, on BOTH or on one magneto."""
    if place in SIDES:
        return mag("rough")(look, regime, place)
    run = RUNS.get(_word(look.power(regime).run), "") if regime in SETTINGS else ""
    return {"rough": "yes", "smooth": "no"}.get(run, "")


def better_single(look: Look, regime: str, place: str) -> str:
    """Return whether it is rough on BOTH and clearly smoother with this magneto off."""
    check, other = look.mag(regime), "left" if place == "right" else "right"
    both, alone = (WORSE.index(_word(r)) for r in (check.both_run, check.sides[other].run))
    return "yes" if both >= 2 and alone < both else "no"


def stays_leaned(look: Look, regime: str, place: str) -> str:
    """Return whether the drop is still over its limit leaned to peak rpm."""
    leaned = Settings(rpm=RUN_UP.rpm, lever="best_power")
    check = look.once(("leaned",), lambda: mag_grades(mag_check(look.engine, leaned), look.engine.layout, regime))
    drop = check.get(f"mag_drop@{place}", "")
    return "" if not drop else "no" if drop == "normal" else "no|yes" if drop.startswith("normal") else "yes"


def pressure(sign: int) -> Answer:
    """Return whether manifold pressure is high (1) or low (-1) for the rpm, against the engine's own figure."""

    def told(look: Look, regime: str, place: str) -> str:
        now, usual = look.power(regime), look.power(regime, usual=True)
        if now.run.words == ("died",) or now.manifold.number is None or usual.manifold.number is None:
            return ""
        return above(sign * (now.manifold.number - usual.manifold.number), MP_INHG, MP_BAND)

    return told


def noise(word: str) -> Answer:
    """Return whether there are bangs, on BOTH or on one magneto of the same check."""

    def told(look: Look, regime: str, place: str) -> str:
        if regime not in SETTINGS:
            return ""
        words = [*look.power(regime).noise.words]
        if regime in ALONE_TOO:
            check = look.mag(regime)
            words += [w for seen in (check.noise, *(one.noise for one in check.sides.values())) for w in seen.words]
        return "yes" if any(word in w for w in words) else "no"

    return told


def stops(look: Look, regime: str, place: str) -> str:
    """Return whether it stops by itself on BOTH."""
    return "yes" if look.steady(regime).stopped else "no"


def power_low(look: Look, regime: str, place: str) -> str:
    """Return whether full-throttle rpm is under the lower limit, taken as a little under this engine's own figure."""
    now, usual = (look.power(regime, usual=u).rpm.number for u in (False, True))
    return "" if now is None or usual is None else below(now, usual - STATIC_MARGIN, TACH_BAND)


def temperatures(look: Look, regime: str) -> Mapping[str, str]:
    """Return `ROLE@PLACE` -> grade of exhaust temperatures on each magneto against BOTH."""
    samples: dict[tuple[str, int], tuple[float, ...]] = {}
    for side, one in look.mag(regime).sides.items():
        for channel, reading in one.egt.items():
            if reading.number is not None:
                swing = SWING if "swings" in reading.words else 0.0
                middle = BASE_EGT + reading.number
                samples["egt_both", channel] = (BASE_EGT,)
                samples[f"egt_{side}", channel] = (middle - swing, middle, middle + swing) if swing else (middle,)
    texts = (t.split("=") for t in egt_results(examine(Temperatures("degF", samples), look.engine.layout), regime))
    return {f"{name.split('.')[0]}@{name.split('@')[1]}": grade for name, grade in texts}


def egt(role: str, sign: int) -> Answer:
    """Return one grade of exhaust temperatures: of a circuit or side by the table, of a cylinder on BOTH against its own pattern."""

    def told(look: Look, regime: str, place: str) -> str:
        if "-" in place or place in SIDES:
            found = look.once(("temperatures", regime), lambda: temperatures(look, regime))
            return {"cannot": "", "unknown": ""}.get(found.get(f"{role}@{place}", ""), found.get(f"{role}@{place}", ""))
        now, usual = look.picture(regime)[int(place)].number, look.picture(regime, usual=True)[int(place)].number
        return "" if now is None or usual is None else above(sign * (now - usual), EGT_OFF, EGT_BAND)

    return told


def cht_high(look: Look, regime: str, place: str) -> str:
    """Return whether one head runs hotter than its own pattern among its neighbours."""
    now, usual = look.power(regime).cht, look.power(regime, usual=True).cht
    if not now or not usual:
        return ""
    off = {n: (now[n].number or 0.0) - (usual[n].number or 0.0) for n in now}
    return above(off[int(place)] - median(off.values()), CHT_OFF, CHT_BAND)


def cold(look: Look, regime: str, place: str) -> str:
    """Return whether a cylinder stays cold on one magneto (a circuit) or on BOTH (a cylinder)."""
    layout = look.engine.layout
    position = layout.side_of[place] if "-" in place else "both"
    shares = look.once(("spots", regime, position), lambda: _warmth(look, regime, position))
    return grade(shares[int(place.split("-")[0]) - 1]) if shares else ""


def _warmth(look: Look, regime: str, position: str) -> list[float | None]:
    engine = look.engine
    if regime == "runup" and position != "both":
        spots = [reading.number for reading in cold_cylinder(engine, position).values()]
    else:
        steady = look.steady(regime, position)
        spots = [None if steady.stopped else _spot(look, head(steady, n), n) for n in engine.build.cylinders]
    if sum(s is not None for s in spots) < 2:
        return []
    return warmth(ColdRun(spots, engine.weather.celsius))


def _spot(look: Look, rise: float, number: int) -> float:
    return look.engine.weather.celsius + rise / 1.8 + look.engine.scatter.fresh(f"spot {number}", 4.0)


def rise_high(look: Look, regime: str, place: str) -> str:
    """Return whether rpm rises more than 20 as the mixture is pulled (FAA-H-8083-32B p10-28); the needle reads to 5."""
    return above(look.see("shut-down").number or 0.0, 20.0, 4.0)


def rise_none(look: Look, regime: str, place: str) -> str:
    """Return whether there is no rise at all."""
    return "yes" if (look.see("shut-down").number or 0.0) < 5 else "no"


def flow(sign: int) -> Answer:
    """Return whether fuel flow is high (1) or low (-1) against the engine's own."""

    def told(look: Look, regime: str, place: str) -> str:
        share = _flow_share(look, regime)
        return "" if share is None else above(sign * (share - 1), FLOW_OFF, FLOW_BAND)

    return told


def _flow_share(look: Look, regime: str) -> float | None:
    now, usual = look.steady(regime), look.steady(regime, usual=True)
    if now.stopped or usual.stopped:
        return None
    total = [sum(r.phi.values()) / len(r.phi) * r.load for r in (now, usual)]
    return total[0] / total[1]


def metered_off(look: Look, regime: str, place: str) -> str:
    """Return whether metered fuel at idle or full power is off the figures."""
    shares = [s for s in (_flow_share(look, "idle"), _flow_share(look, "high_power")) if s is not None]
    return above(max(abs(s - 1) for s in shares), FLOW_OFF, FLOW_BAND) if shares else ""


def one_band(look: Look, regime: str, place: str) -> str:
    """Return whether it shakes in one band of rpm while no cylinder misses."""
    words = []
    for rpm in (1300.0, 1600.0, 1900.0, 2200.0):
        steady = run_at(look.engine, Settings(rpm=rpm), "both")
        if steady.stopped or min(f.lit for f in steady.firings.values()) < 0.95:
            return "no"
        words.append(how_it_runs(look.engine, "band", steady).words[0] in ("rough", "very rough"))
    return "yes" if 0 < sum(words) <= 2 and not (words[0] and words[-1]) else "no"


def pitch_off(look: Look, regime: str, place: str) -> str:
    """Return whether static rpm misses its figure while manifold pressure is right."""
    now, usual = look.power("high_power"), look.power("high_power", usual=True)
    if now.rpm.number is None or usual.rpm.number is None or pressure(1)(look, "high_power", place) == "yes":
        return ""
    return above(abs(now.rpm.number - usual.rpm.number), 75.0, TACH_BAND)


def start_hard(look: Look, regime: str, place: str) -> str:
    """Return whether it starts worse than usual; nothing where it does not start at all."""
    now = look.starts(regime)
    return "" if now > 1 else "yes" if now > look.starts(regime, usual=True) else "no"


def start_none(look: Look, regime: str, place: str) -> str:
    """Return whether it does not start, though sound it would on such a day."""
    return "yes" if look.starts(regime) > 1 >= look.starts(regime, usual=True) else "no"


def cranks_slowly(look: Look, regime: str, place: str) -> str:
    """Return whether the starter turns it slower than usual."""
    now, usual = look.start(regime).cranking.number or 0.0, look.start(regime, usual=True).cranking.number or 1.0
    return below(now / usual, 0.85, 0.05)


def kicks(look: Look, regime: str, place: str) -> str:
    """Return whether it kicks back."""
    return "yes" if look.start(regime).kick_back.words == ("kicks back",) else "no"


def on_release(look: Look, regime: str, place: str) -> str:
    """Return whether it fires only as the key is let go."""
    return "yes" if "fires as the key is let go" in look.start(regime).on_release.words else "no"


def heat_no_change(look: Look, regime: str, place: str) -> str:
    """Return whether carburettor heat leaves the rpm where it was."""
    acts = look.engine.begin()
    opening = look.engine.throttle(RUN_UP, acts)
    plain, heated = (look.engine.run(s, "both", opening, acts).rpm for s in (RUN_UP, Settings(rpm=RUN_UP.rpm, carb_heat=True)))
    return "yes" if plain - heated < 10 else "no"
