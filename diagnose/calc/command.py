"""``diagnose calc SUBCOMMAND``: arguments in, one answer out, as text of 80 columns or as JSON.

Exit status: 0 an answer was given (whatever it found), 2 the input could not be used.
"""

import argparse
import json
import sys
from collections.abc import Callable

from diagnose.calc.commands import ALL
from diagnose.calc.layout import EngineLayout, built_in
from diagnose.calc.problem import CalcError, RowsError
from diagnose.calc.text import as_json, as_text

FindLayout = Callable[[str], EngineLayout]
MOST_LINES = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Give ``parser`` one sub-parser for every calculation; the choice lands in ``args.calc_command``."""
    subparsers = parser.add_subparsers(dest="calc_command", metavar="CALCULATION", required=True)
    for name, module in ALL.items():
        sub = subparsers.add_parser(name, help=module.HELP, description=module.HELP)
        module.add(sub)
        sub.add_argument("--json", action="store_true", help="print one JSON object with a schema field")


def run(args: argparse.Namespace, find_layout: FindLayout = built_in) -> int:
    """Answer ``args`` on standard output; problems go to standard error, one line each. Returns 0 or 2.

    ``find_layout`` turns a layout's name into an EngineLayout; it may raise CalcError.
    """
    name = args.calc_command
    try:
        answer = ALL[name].answer(args, find_layout)
    except CalcError as error:
        return _refuse(name, (str(error),))
    except RowsError as error:
        return _refuse(name, error.lines)
    sys.stdout.write(json.dumps(as_json(answer), indent=2) + "\n" if args.json else as_text(answer))
    return 0


def _refuse(name: str, lines: tuple[str, ...]) -> int:
    for line in lines[:MOST_LINES]:
        sys.stderr.write(f"calc {name}: {line}\n")
    if len(lines) > MOST_LINES:
        sys.stderr.write(f"calc {name}: {len(lines) - MOST_LINES} more lines cannot be used\n")
    return 2
