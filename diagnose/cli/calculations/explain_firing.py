"""`calc firing`: firing order, terminal map, crossed leads."""

from __future__ import annotations

import argparse
from itertools import combinations
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.firing import crossed_answer, found_answer, map_answer
from diagnose.cli.calculations.options import add_layout, read_layout, whole_numbers
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "firing order, distributor terminals, and what crossed leads do to each stroke"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the firing map."""
    add_layout(parser)
    parser.add_argument("--side", choices=SIDES, help="which magneto, for --crossed and --found")
    parser.add_argument("--crossed", metavar="A,B", help='two cylinders whose leads are swapped, or "all" pairs')
    parser.add_argument("--found", metavar="1=PLACE,...", help="leads rung out: terminal=plug, such as 1=1-bottom")


def _pairs(text: str, layout: Layout) -> tuple[tuple[int, int], ...]:
    if text == "all":
        return tuple(combinations(range(1, layout.cylinders + 1), 2))
    parts = whole_numbers(text, ",", "crossed leads")
    if len(parts) != 2:
        raise BadInput(f"crossed leads: {len(parts)} cylinders; name two, such as 1,3, or all")
    return ((parts[0], parts[1]),)


def _found(text: str) -> dict[int, str]:
    out: dict[int, str] = {}
    for part in text.split(","):
        terminal, equals, circuit = (piece.strip() for piece in part.partition("="))
        if not equals or not circuit:
            raise BadInput(f"leads found: {part!r} is not terminal=plug; write such as 1=1-bottom,2=3-bottom")
        number = whole_numbers(terminal, ",", "leads found, terminal")[0]
        if number in out:
            raise BadInput(f"leads found: terminal {terminal} is there twice; give each terminal once")
        out[number] = circuit
    return out


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the map, the crossed leads, or the comparison. Raises BadInput."""
    layout = read_layout(args, known)
    if args.crossed is None and args.found is None:
        return map_answer(layout)
    if args.side is None:
        raise BadInput("--side: not given; name the magneto: left or right")
    if args.found is not None:
        return found_answer(layout, args.side, _found(args.found))
    return crossed_answer(layout, args.side, _pairs(args.crossed, layout))
