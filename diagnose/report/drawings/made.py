"""Each drawing worked out: drops and voltages from the calculations, temperatures from the engine simulation, the rest by angle."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from diagnose.calc.magneto_speed import magnet_to_crank, magneto_ratio, start_spark
from diagnose.calc.polarity import signs
from diagnose.calc.propeller_load import estimate_drops, late_drop
from diagnose.calc.rotation import plan
from diagnose.calc.spark_voltage import CONDITIONS, density, uniform_kv
from diagnose.places import SIDES, Layout
from diagnose.report.drawings import flux
from diagnose.report.drawings.shapes import Axis, Bar, Bars, Curve, Curves, Drawing, Grid, Row

if TYPE_CHECKING:
    from diagnose.stand.engine import Engine

RPM = 1800.0  # a usual run-up speed (trade)
RUNNING = 25.0  # degrees before top centre: one of the settings on data plates (airframe manuals)
LAG = 25.0  # degrees of the magnet: 15, 20 and 25 are printed on one family of magnetos (airframe manuals)
OPEN_FOR = 50.0  # degrees of the magnet for which points stay open: estimate
GAPS = ((0.018, "gap .018 in"), (0.030, "gap .030 in"))
POSITIONS = ("off", "right", "left", "both", "start")
CM_PER_INCH = 2.54


def drops(layout: Layout) -> Bars:
    """Return the drop of a healthy engine and of one with a dead circuit on the side selected, by cylinder count."""
    bars = []
    for count in dict.fromkeys((4, 6, 8, layout.cylinders)):
        found = estimate_drops(count, RPM)
        bars += [Bar(f"{count} cylinders, all fire", found.normal), Bar(f"{count} cylinders, one dead", found.one_silent)]
    title = f"Drop on one magneto from {RPM:.0f} rpm on BOTH, fixed pitch"
    return Bars(title, "rpm", tuple(bars), "worked out by the propeller's load, an estimate: diagnose calc drop --rpm 1800")


def demand(_: Layout) -> Bars:
    """Return the voltage a gap needs at cranking, run-up and take-off."""
    bars = []
    for condition in CONDITIONS:
        gas = density(condition.kilopascal, condition.kelvin)
        bars += [Bar(f"{condition.name}, {words}", uniform_kv(gap * CM_PER_INCH, gas)) for gap, words in GAPS]
    basis = "uniform field, clean air, pressures and temperatures estimated: diagnose calc spark-voltage"
    return Bars("Voltage before the gap fires", "kV", tuple(bars), basis)


def flux_curve(_: Layout) -> Curves:
    """Return the flux of the magnet alone and with the points closed, the E-gap marked."""
    best = flux.best_angle()
    through = flux.held()
    alone = tuple((angle, flux.magnet_alone(angle)) for angle, _ in through)
    closed = tuple((angle, value) for angle, value in through if angle <= best)
    fall = tuple((best, flux.magnet_alone(best) + flux.let_go(best) * step / 20) for step in range(1, 20))
    curves = (Curve("magnet alone", ".", alone), Curve("points closed", "o", closed), Curve("points open: it falls at once", "|", fall))
    title = f"Flux in the core; opened here, {best:.0f} degrees past neutral, it changes most"
    basis = "shape and size are an estimate, made so that the greatest change lies where the handbook's example has it, 10 degrees past"
    return Curves(
        title,
        "flux, +1 at full register",
        "degrees of a four-pole magnet",
        curves,
        ((-45, "-45 full register"), (0, "0 neutral"), (best, f"{best:.0f} E-gap")),
        basis,
    )


def start_spark_axis(layout: Layout) -> Axis:
    """Return where the running and the start spark fall, for magnets that turn as fast as the crank and half as fast again."""
    rows = [Row("running", ((RUNNING, "R"),))]
    seen = dict.fromkeys((4, 6, layout.cylinders))
    for count in seen:
        ratio = magneto_ratio(count, layout.poles["left"] if count == layout.cylinders else 2)
        rows.append(Row(f"start, {count} cylinders", ((start_spark(RUNNING, LAG, ratio), "S"),)))
    return Axis(
        f"Where the spark falls: set {RUNNING:.0f} before top centre, lag {LAG:.0f} of the magnet",
        -RUNNING - 15,
        15,
        _crank_ticks(),
        tuple(Row(r.label, tuple((-at, sign) for at, sign in r.spots)) for r in rows),
        ("R running spark; S start spark. Left of TC the piston still rises: a spark there while cranking can throw it back.",),
        "angles: examples from airframe manuals; crank degrees = lag / (cylinders / (2 x poles))",
    )


def retard_axis(layout: Layout) -> Axis:
    """Return when the running points and the retard points are open, and the shower of sparks while both are."""
    ratio = magneto_ratio(layout.cylinders, layout.poles["left"])
    late, wide = magnet_to_crank(LAG, ratio), magnet_to_crank(OPEN_FOR, ratio)
    first, second = -RUNNING, -RUNNING + late
    rows = (
        Row("running points open", spans=((first, first + wide, "="),)),
        Row("retard points open", spans=((second, second + wide, "="),)),
        Row("sparks in START", spans=((second, first + wide, "*"),)),
    )
    title = f"START with {layout.cylinders} cylinders: retard points {LAG:.0f} of the magnet, {late:.0f} of the crank, after the others"
    legend = ("Sparks come only while both are open. Retard points that never close would let them begin with the running points.",)
    basis = "angles: examples from airframe manuals; how long points stay open is an estimate"
    return Axis(title, -RUNNING - 15, 40, (*_crank_ticks(), (30, "30 after")), rows, legend, basis)


def _crank_ticks() -> tuple[tuple[float, str], ...]:
    return ((-30, "30 before"), (-20, "20"), (-10, "10"), (0, "TC"), (10, "10"))


def switch_table(layout: Layout) -> Grid:
    """Return what a sound switch does to each magneto, and what can then fire."""
    from diagnose.stand.grounding import grounded_by_design

    rows = []
    for position in POSITIONS:
        grounded = grounded_by_design(layout, position)
        ways = ["to ground" if side in grounded else "open" for side in SIDES]
        rows.append((position.upper(), *ways, " and ".join(s for s in SIDES if s not in grounded) or "nothing"))
    says = "A broken P-lead is open in every position; a chafed one is to ground in every position."
    basis = f"{layout.id}; OFF, L, R, BOTH as in an airframe manual, START as the handbook has it where one magneto starts the engine"
    return Grid(
        "What a sound switch does with each P-lead", ("switch", "left P-lead", "right P-lead", "can fire"), tuple(rows), says, basis
    )


def late(_: Layout) -> Bars:
    """Return the drop on a magneto that fires late, by crank degrees."""
    bars = tuple(Bar(f"{degrees} degrees late" if degrees else "on time", late_drop(RPM, degrees)) for degrees in (0, 2, 5, 10, 15))
    basis = "one flame already burns late, the error adds to it; loss by degree from memory, drop an estimate: diagnose calc drop"
    return Bars(f"Drop on the late magneto from {RPM:.0f} rpm, any number of cylinders", "rpm", bars, basis)


def rotation(layout: Layout) -> Grid:
    """Return the sign every plug gets and where it goes, along the firing order."""
    scheme = "next" if layout.cylinders % 2 else "mirror"
    moves = plan(layout, scheme)
    found = {circuit: sign for side in SIDES for circuit, sign in signs(layout, side).items()}
    rows = []
    for cylinder in layout.firing_order:
        cells = [str(cylinder)]
        for position in layout.positions:
            circuit = f"{cylinder}-{position}"
            there = found[moves[circuit]]
            cells += [_sign(found[circuit]), f"{moves[circuit]}{f', {_sign(there)}' if len(there) == 1 else ''}"]
        rows.append(tuple(cells))
    heads = ["cylinder"]
    for position in layout.positions:
        heads += [f"{position} now", "then at"]
    order = "-".join(map(str, layout.firing_order))
    says = (
        "The sign belongs to the place: after `then at` stands the one a plug gets there. Signs are by turns along the firing order, each "
        "magneto counted by itself from its first spark."
    )
    return Grid(
        f"{layout.id}, firing order {order}", tuple(heads), tuple(rows), says, f"worked out: diagnose calc rotation --layout {layout.id}"
    )


def _sign(seen: frozenset[int]) -> str:
    return "+ and -" if len(seen) > 1 else "+" if 1 in seen else "-"


def egt(layout: Layout) -> Bars:
    """Return how far each cylinder's exhaust rises from BOTH to LEFT: all well, one plug dead, the left magneto late."""
    bars: list[Bar] = []
    dead = layout.fires["left"][0]
    cases = (("All well", "", ""), (f"Plug {dead} dead", "plug.bridged", dead), ("Left magneto late", "timing.late", "left"))
    for heading, fault, place in cases:
        rises = _rises(layout, fault, place)
        bars += [Bar(heading), *(Bar(f"  No. {cylinder}", rise) for cylinder, rise in rises.items())]
    basis = "the engine simulation with one fault put in; a healthy rise of 50 to 100 F is published (trade), the rest an estimate"
    return Bars(f"Exhaust temperature from BOTH to LEFT, {layout.id} at run-up", "F", tuple(bars), basis)


def _rises(layout: Layout, fault: str, place: str) -> dict[int, float]:
    from diagnose.stand.conditions import RUN_UP
    from diagnose.stand.engine import Engine
    from diagnose.stand.faults import put_fault
    from diagnose.stand.thermometers import exhaust_change

    engine: Engine = Engine(layout, 1)
    if fault:
        put_fault(engine, fault, place)
    acts = engine.begin()
    throttle = engine.throttle(RUN_UP, acts)
    both, left = (engine.run(RUN_UP, position, throttle, acts) for position in ("both", "left"))
    return {cylinder: exhaust_change(both, left, cylinder) for cylinder in range(1, layout.cylinders + 1)}


MAKERS: Mapping[str, Callable[[Layout], Drawing]] = {
    "drops": drops,
    "demand": demand,
    "flux": flux_curve,
    "start_spark": start_spark_axis,
    "retard": retard_axis,
    "switch": switch_table,
    "late": late,
    "rotation": rotation,
    "egt": egt,
}
