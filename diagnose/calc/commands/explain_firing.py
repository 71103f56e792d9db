"""``calc firing``: firing order, terminal map, crossed leads."""

import argparse
from itertools import combinations

from diagnose.calc.commands.options import FindLayout, add_layout, read_layout, whole_numbers
from diagnose.calc.firing import crossed_answer, found_answer, map_answer
from diagnose.calc.layout import SIDES, EngineLayout
from diagnose.calc.problem import CalcError
from diagnose.calc.record import Answer

HELP = "firing order, distributor terminals, and what crossed leads do to each stroke"


def add(parser: argparse.ArgumentParser) -> None:
    """Options of the firing map."""
    add_layout(parser)
    parser.add_argument("--side", choices=SIDES, help="which magneto, for --crossed and --found")
    parser.add_argument("--crossed", metavar="A,B", help='two cylinders whose leads are swapped, or "all" pairs')
    parser.add_argument("--found", metavar="1=PLACE,...", help="leads rung out: terminal=plug, such as 1=1-bottom")


def _pairs(text: str, layout: EngineLayout) -> tuple[tuple[int, int], ...]:
    if text == "all":
        return tuple(combinations(range(1, layout.cylinders + 1), 2))
    parts = whole_numbers(text, ",", "crossed leads")
    if len(parts) != 2:
        raise CalcError("crossed leads", f"{len(parts)} cylinders", "name two, such as 1,3, or all")
    return ((int(parts[0]), int(parts[1])),)


def _found(text: str) -> dict[int, str]:
    out: dict[int, str] = {}
    for part in text.split(","):
        terminal, equals, circuit = (piece.strip() for piece in part.partition("="))
        if not equals or not terminal.isdecimal() or not circuit:
            raise CalcError("leads found", f"{part!r} is not terminal=plug", "write such as 1=1-bottom,2=3-bottom")
        if int(terminal) in out:
            raise CalcError("leads found", f"terminal {terminal} is there twice", "give each terminal once")
        out[int(terminal)] = circuit
    return out


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """The map, the crossed leads, or the comparison. Raises CalcError."""
    layout = read_layout(args, find_layout)
    if args.crossed is None and args.found is None:
        return map_answer(layout)
    if args.side is None:
        raise CalcError("--side", "not given", "name the magneto: left or right")
    if args.found is not None:
        return found_answer(layout, args.side, _found(args.found))
    return crossed_answer(layout, args.side, _pairs(args.crossed, layout))
