"""Moving plugs round at service: from which hole to which, checked by law.

A plug wears at one electrode by its polarity, and fouls by its position. A good plan therefore gives every
plug
the opposite polarity and swaps top and bottom, and is a true permutation of all plugs.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Table, Value
from diagnose.calc.circuits import cylinder_of, position_of, side_of
from diagnose.calc.polarity import compare_signs
from diagnose.places import Layout
from diagnose.problems import BadInput

SCHEMA = "calc-rotation/1"
SCHEMES = ("mirror", "next")


@dataclass(frozen=True)
class Move:
    """One plug's move with what it does: polarity word, other magneto or not, other position or not."""

    start: str
    end: str
    polarity: str
    same_magneto: bool
    swaps_position: bool


def _other_position(layout: Layout, circuit: str) -> str:
    if len(layout.positions) != 2:
        raise BadInput(f"plug positions: {len(layout.positions)} a cylinder; rotation needs two")
    first, second = layout.positions
    return second if position_of(circuit) == first else first


def mirror_plan(layout: Layout) -> dict[str, str]:
    """Return a plan that swaps each cylinder with the one as far from the end of the firing order, and top with bottom.

    On 1-3-2-4 and 1-4-5-2-3-6 this gives exactly the published pairs (owners' posts that agree; derived), and
    every plug stays on its magneto. Raises BadInput on an odd cylinder count, where one plug would stay put.
    """
    if layout.cylinders % 2:
        raise BadInput("scheme mirror: does not fit an odd number of cylinders; use the scheme next")
    order = layout.firing_order
    partner = dict(zip(order, reversed(order), strict=True))
    return {c: f"{partner[cylinder_of(c)]}-{_other_position(layout, c)}" for c in layout.circuits}


def next_plan(layout: Layout) -> dict[str, str]:
    """Return a plan that moves each plug to the next cylinder in the firing order, top with bottom: 1 top to 3 bottom to 2 top on 1-3-2-4.

    Common practice, no source.
    """
    order = layout.firing_order
    after = dict(zip(order, order[1:] + order[:1], strict=True))
    return {c: f"{after[cylinder_of(c)]}-{_other_position(layout, c)}" for c in layout.circuits}


def plan(layout: Layout, scheme: str) -> dict[str, str]:
    """Return the plan of a scheme by name. Raises BadInput naming the schemes."""
    if scheme == "mirror":
        return mirror_plan(layout)
    if scheme == "next":
        return next_plan(layout)
    raise BadInput(f"scheme: {scheme!r} is not known; use one of: {', '.join(SCHEMES)}")


def judge(layout: Layout, moves: Mapping[str, str], together: bool | None = None) -> tuple[Move, ...]:
    """Return every move with its polarity and position. Raises BadInput unless the plan is a permutation of all plugs."""
    every = set(layout.circuits)
    if set(moves) != every or set(moves.values()) != every:
        raise BadInput("rotation plan: does not use every hole exactly once; give each plug one new place")
    return tuple(
        Move(
            start,
            end,
            compare_signs(layout, start, end, together),
            side_of(layout, start) == side_of(layout, end),
            position_of(start) != position_of(end),
        )
        for start, end in moves.items()
    )


def rotation_answer(layout: Layout, scheme: str, together: bool | None = None) -> Answer:
    """Return the plan as a numbered tray, and whether it keeps the laws."""
    moves = judge(layout, plan(layout, scheme), together)
    by_start = {move.start: move for move in moves}
    columns = ["cylinder"]
    for position in layout.positions:
        columns += [f"{position} plug to", f"{position} polarity"]
    rows = []
    for number in range(1, layout.cylinders + 1):
        cells: list[float | str | None] = [str(number)]
        for position in layout.positions:
            move = by_start[f"{number}-{position}"]
            cells += [move.end, move.polarity]
        rows.append(tuple(cells))
    known = {None: "not known", True: "same sign", False: "opposite sign"}[together]
    return Answer(
        schema=SCHEMA,
        title=f"Plug rotation, {layout.id}, scheme {scheme}",
        inputs=(
            Value("firing order", "-".join(map(str, layout.firing_order))),
            Value("scheme", scheme),
            Value("magnetos against each other", known),
        ),
        tables=(Table("Tray: the plug from here ...", tuple(columns), tuple(rows)),),
        says=_says(moves, scheme),
        steps=_STEPS,
        cautions=(
            "Plugs out: the propeller still turns and the magnetos still spark; ground the leads.",
            "Deposits hold lead: gloves, no dry blowing, wash hands before eating.",
            "A plug that was dropped is scrap: cracks do not show (FAA-H-8083-32B p4-35).",
        ),
    )


def _says(moves: tuple[Move, ...], scheme: str) -> tuple[str, ...]:
    kinds = {move.polarity for move in moves}
    out = []
    if kinds == {"opposite"}:
        out.append("Every plug gets the opposite polarity.")
    if "alternates" in kinds:
        out.append("Odd number of cylinders: polarity alternates at every plug, so only deposits matter.")
    if "same" in kinds:
        out.append(
            "Some plugs keep their polarity in this plan: "
            + ", ".join(f"{m.start} to {m.end}" for m in moves if m.polarity == "same")
            + "."
        )
    if "unknown" in kinds:
        out.append(
            "Some plugs move to the other magneto: their polarity is known only if the magnetos' polarity against each other is; "
            "tell it with --magnetos-same or --magnetos-opposite."
        )
    swapped = all(move.swaps_position for move in moves)
    out.append("Every plug changes its position in the cylinder." if swapped else "Some plugs keep their position.")
    stay = all(move.same_magneto for move in moves)
    out.append("Every plug stays on its magneto." if stay else "Some plugs change magneto.")
    if scheme == "mirror":
        out.append("Pairs: " + ", ".join(sorted({"<>".join(sorted((m.start, m.end))) for m in moves})) + ".")
    return tuple(out)


_STEPS = (
    Instruction(
        "Take each plug out into its own numbered hole of the tray, gasket with it: look before cleaning, the deposits belong to "
        "that cylinder.",
        "pull the lead straight out: side load cracks the barrel.",
    ),
    Instruction("Clean, gap and test, then move each plug to the place in the table, with a new gasket."),
    Instruction("Record the plan used, so that the next one goes on from it."),
)
