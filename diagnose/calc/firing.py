"""Firing order, distributor terminals, and what crossed leads do to each stroke.

Distributor terminals are numbered in the order of sparking, not by cylinder (FAA-H-8083-32B p4-6).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Table, Value
from diagnose.calc.circuits import circuit_on, cylinder_of, side_of
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

SCHEMA = "calc-firing/1"
ADVANCE = 25.0  # crank degrees before top centre; used only to name the stroke


@dataclass(frozen=True)
class CrossedSpark:
    """One lead of a crossed pair: `circuit` gets its spark `offset` crank degrees after its own."""

    circuit: str
    at_cylinder: int
    offset: float
    after_top: float
    stroke: str
    effect: str


def firing_interval(layout: Layout) -> float:
    """Return the crank degrees between firings of an evenly spaced four-stroke."""
    return 720 / layout.cylinders


def terminal_map(layout: Layout, side: str) -> dict[int, str]:
    """Return the distributor terminal (1 = first to spark) -> circuit, for one magneto."""
    return {number: circuit_on(layout, cylinder, side) for number, cylinder in enumerate(layout.firing_order, 1)}


def stroke_at(degrees_after_top: float) -> str:
    """Return the stroke at so many crank degrees after the top centre of compression."""
    return ("power", "exhaust", "intake", "compression")[int(degrees_after_top % 720 // 180)]


def _effect(after_top: float) -> str:
    bounds = (
        (60, "very late spark: little power, hot exhaust"),
        (180, "spark into burnt gas: that plug does no work"),
        (340, "spark into exhaust: that plug does no work"),
        (540, "lights the charge through an open intake valve: backfire"),
        (720, "lights the charge far too early: kick-back, knock, damage"),
    )
    return next(words for bound, words in bounds if after_top % 720 < bound)


def cross(layout: Layout, side: str, first: int, second: int) -> tuple[CrossedSpark, CrossedSpark]:
    """Return what happens when the leads to two cylinders of one magneto are swapped. Raises BadInput."""
    if first == second:
        raise BadInput(f"crossed leads: both are cylinder {first}; name two different cylinders")
    return _spark(layout, side, first, second), _spark(layout, side, second, first)


def _spark(layout: Layout, side: str, cylinder: int, other: int) -> CrossedSpark:
    circuit = circuit_on(layout, cylinder, side)
    circuit_on(layout, other, side)
    steps = (layout.firing_order.index(other) - layout.firing_order.index(cylinder)) % layout.cylinders
    offset = steps * firing_interval(layout)
    after = (offset - ADVANCE) % 720
    return CrossedSpark(circuit, other, offset, after, stroke_at(after), _effect(after))


def compare_map(layout: Layout, side: str, found: Mapping[int, str]) -> tuple[tuple[int, str, str], ...]:
    """Return the terminals whose lead goes elsewhere than it should: (terminal, should be, found). Raises BadInput."""
    wanted = terminal_map(layout, side)
    for terminal, circuit in found.items():
        if terminal not in wanted:
            raise BadInput(f"terminal: {terminal} is not on this distributor; use 1 to {layout.cylinders}")
        side_of(layout, circuit)
    double = [c for c in found.values() if list(found.values()).count(c) > 1]
    if double:
        raise BadInput(f"leads found: {double[0]} is at two terminals; ring each lead out again")
    return tuple((t, wanted[t], found[t]) for t in sorted(found) if wanted[t] != found[t])


def map_answer(layout: Layout) -> Answer:
    """Return the firing order, interval and the terminal map of both magnetos."""
    rows = tuple(
        (str(terminal), str(cylinder), *(terminal_map(layout, side)[terminal] for side in SIDES))
        for terminal, cylinder in enumerate(layout.firing_order, 1)
    )
    return Answer(
        schema=SCHEMA,
        title=f"Firing order and distributor, {layout.id}",
        inputs=(Value("firing order", "-".join(map(str, layout.firing_order))),),
        values=(
            Value("between firings", round(firing_interval(layout), 2), "crank deg"),
            Value("distributor speed", 0.5, "of crank speed"),
        ),
        tables=(Table("Terminal to plug", ("terminal", "cylinder", "left lead", "right lead"), rows),),
        says=(
            "Terminals are counted in the order of sparking and in the rotor's direction; find No 1 and the direction of rotation on "
            "the magneto before counting.",
        ),
    )


def crossed_answer(layout: Layout, side: str, pairs: tuple[tuple[int, int], ...]) -> Answer:
    """Return what each swap of two leads of one magneto does."""
    rows = []
    for first, second in pairs:
        rows += [(f"{first}<>{second}", s.circuit, f"{s.after_top:.0f}", s.stroke, s.effect) for s in cross(layout, side, first, second)]
    table = Table(
        f"Leads of the {side} magneto swapped; degrees after that cylinder's firing top centre",
        ("swap", "plug", "degrees", "stroke", "what it does"),
        tuple(rows),
    )
    return Answer(
        schema=SCHEMA,
        title=f"Crossed leads, {side} magneto",
        inputs=(
            Value("firing order", "-".join(map(str, layout.firing_order))),
            Value("advance assumed", ADVANCE, "crank deg BTC", note="names the stroke only"),
        ),
        tables=(table,),
        says=(
            "Both cylinders still burn on the other magneto, so the other side is smooth; a backfire or kick-back shows on both as well.",
        ),
        steps=(_RING,),
        cautions=("Do not run an engine known to have crossed leads: it can kick, knock and burn.",),
    )


def found_answer(layout: Layout, side: str, found: Mapping[int, str]) -> Answer:
    """Return the map rung out by continuity against the right one."""
    wrong = compare_map(layout, side, found)
    rows = tuple((str(t), should, got) for t, should, got in wrong)
    missing = [t for t in terminal_map(layout, side) if t not in found]
    says = [f"{len(found)} of {layout.cylinders} leads rung out; {len(wrong)} wrong."]
    says += [
        f"Terminal {t} feeds cylinder {cylinder_of(got)} in place of {cylinder_of(should)}."
        if side_of(layout, got) == side
        else f"Terminal {t} goes to {got}, a plug of the other magneto."
        for t, should, got in wrong
    ]
    says += [f"Not rung out: terminal {', '.join(map(str, missing))}."] if missing else []
    return Answer(
        schema=SCHEMA,
        title=f"Leads rung out, {side} magneto",
        inputs=tuple(Value(f"terminal {t}", found[t]) for t in sorted(found)),
        tables=(Table("Wrong leads", ("terminal", "should go to", "goes to"), rows),) if rows else (),
        says=tuple(says),
        steps=(_RING,),
    )


_RING = Instruction(
    "Ring each lead out from the block electrode to the plug end with an ohmmeter or buzzer, plug ends off.",
    "leads off, switch OFF, propeller still treated as live: the magneto can spark into a hand.",
    "2 min a lead",
)
