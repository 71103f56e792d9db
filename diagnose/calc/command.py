"""``diagnose calc SUBCOMMAND``: arguments in, one answer out, as text of 80 columns or as JSON.

Exit status: 0 an answer was given (whatever it found), 2 the input could not be used.
"""

import argparse
import json
import sys
from collections.abc import Callable

from diagnose.calc.commands import ALL
from diagnose.calc.commands.options import FindLayout, FindLimit, no_limit
from diagnose.calc.layout import built_in
from diagnose.calc.problem import CalcError, RowsError
from diagnose.calc.record import Answer
from diagnose.calc.text import as_json, as_text

MOST_LINES = 20


def add_arguments(parser: argparse.ArgumentParser, more: Callable[[argparse.ArgumentParser], None] | None = None) -> None:
    """Give ``parser`` one sub-parser for every calculation; the choice lands in ``args.calc_command``.

    ``more`` may add the caller's own options to each.
    """
    subparsers = parser.add_subparsers(dest="calc_command", metavar="CALCULATION", required=True)
    for name, module in ALL.items():
        sub = subparsers.add_parser(name, help=module.HELP, description=module.HELP)
        module.add(sub)
        sub.add_argument("--json", action="store_true", help="print one JSON object with a schema field")
        if more is not None:
            more(sub)


def run(args: argparse.Namespace, find_layout: FindLayout = built_in) -> int:
    """Answer ``args`` on standard output; problems go to standard error, one line each. Returns 0 or 2.

    ``find_layout`` turns a layout's name into an EngineLayout; it may raise CalcError.
    """
    answer = compute(args, find_layout)
    if isinstance(answer, int):
        return answer
    show(args, answer)
    return 0


def compute(args: argparse.Namespace, find_layout: FindLayout = built_in, find_limit: FindLimit = no_limit) -> Answer | int:
    """The answer to ``args``, or the exit status 2 after the problems were printed."""
    name = args.calc_command
    args.find_limit = find_limit
    try:
        return ALL[name].answer(args, find_layout)
    except CalcError as error:
        return _refuse(name, (str(error),))
    except RowsError as error:
        return _refuse(name, error.lines)


def show(args: argparse.Namespace, answer: Answer) -> None:
    """Print an answer as text, or as JSON where asked for."""
    sys.stdout.write(json.dumps(as_json(answer), indent=2) + "\n" if args.json else as_text(answer))


def _refuse(name: str, lines: tuple[str, ...]) -> int:
    for line in lines[:MOST_LINES]:
        sys.stderr.write(f"calc {name}: {line}\n")
    if len(lines) > MOST_LINES:
        sys.stderr.write(f"calc {name}: {len(lines) - MOST_LINES} more lines cannot be used\n")
    return 2
