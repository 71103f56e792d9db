"""`shop`: the readings of a whole engine from a sheet, judged, and into the case in one write."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from diagnose import loaded
from diagnose.calc.answer import Answer, named
from diagnose.calc.shop_cells import Bench
from diagnose.calc.shop_csv import blank, read_sheet
from diagnose.calc.shop_sheet import Sheet, whole
from diagnose.case.case import Case
from diagnose.case.log import Event
from diagnose.cli.calculating import record
from diagnose.cli.calculations.known import Known
from diagnose.cli.opened import opened
from diagnose.cli.output import put_out
from diagnose.cli.pager import show_lines
from diagnose.places import Layout
from diagnose.problems import BadInput, Problem
from diagnose.report.screens import place_words
from diagnose.report.shop_sheet import sheet_json, sheet_lines
from diagnose.report.text import say, size, write, write_json
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import Network

MOST_PROBLEMS = 40  # lines of problems shown; a file that has more was made for something else


def shop(args: argparse.Namespace) -> int:
    """Read a sheet and record it; with --blank print an empty one, with --layout judge it without a case."""
    case, network, base, layout = _engine(args)
    if args.blank:
        put_out(args.out, blank(layout), f"; fill it in, then: diagnose shop {args.case or 'CASE'} --csv {args.out}")
        return 0
    if args.out:
        raise BadInput("--out is for the empty sheet; add --blank")
    bench = bench_of(args, base, layout)
    if args.csv:
        sheet, bench, problems = read_sheet(_lines(args.csv), bench, args.csv)
        if problems:
            return _refused(problems, args)
        return _kept(args, case, network, base, sheet, bench)
    if not (sys.stdin.isatty() or os.environ.get("DIAGNOSE_ASK")):
        raise BadInput("nobody can be asked here; give --csv FILE, and get an empty one with --blank")
    return _asked(args, case, network, base, bench)


def _engine(args: argparse.Namespace) -> tuple[Case | None, Network | None, RuleBase, Layout]:
    """Return the case with its network where one is named, else None; the rule base; the layout. Raises BadInput."""
    if args.case and args.layout:
        raise BadInput("give a case or --layout, not both; the layout of a case is known")
    if args.case:
        case, network = opened(args)
        return case, network, network.base, network.layout
    if not args.layout:
        raise BadInput("give a case, or --layout to judge a sheet without one")
    base = loaded.rulebase(tuple(args.rulebase))
    return None, None, base, loaded.layout_named(base, args.layout)


def bench_of(args: argparse.Namespace, base: RuleBase, layout: Layout) -> Bench:
    """Return what holds for the whole sheet, limits being the shop's own where it has any."""
    known = Known(lambda: base)
    return Bench(layout, lambda typical: known.limit(typical) or typical, args.hot, args.test_voltage)


def _lines(name: str) -> list[str]:
    try:
        return Path(name).read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(f"{name}: cannot be read ({reason}); give a CSV file, such as one made with --blank") from error


def _refused(problems: Sequence[Problem], args: argparse.Namespace) -> int:
    """Say every problem of a file; exit code 1, and nothing was stored."""
    if args.json:
        write_json({"schema": "calc-shop/1", "problems": [p.as_json() for p in problems]})
    else:
        for problem in problems[:MOST_PROBLEMS]:
            write(str(problem))
    say(f"{len(problems)} cells cannot be used; nothing was stored. Mend them and read the file again")
    return 1


def _kept(args: argparse.Namespace, case: Case | None, network: Network | None, base: RuleBase, sheet: Sheet, bench: Bench) -> int:
    """Show a sheet, and record it where there is a case and anything was read."""
    answer = answer_of(sheet, bench, base)
    show(args, sheet, answer)
    if case is None or network is None:
        return 0
    if not sheet.judged:
        say("nothing was entered")
        return 0
    said(store(args, case, network, answer))
    return 0


def answer_of(sheet: Sheet, bench: Bench, base: RuleBase) -> Answer:
    """Return the sheet as one answer, its results in the symptoms of the rule base."""
    return named(whole(sheet, bench), Known(lambda: base).holders)


def show(args: argparse.Namespace, sheet: Sheet, answer: Answer) -> None:
    """Print a sheet as text, or as JSON where asked for."""
    if args.json:
        write_json(sheet_json(sheet, answer))
    else:
        show_lines(sheet_lines(sheet, answer, size()[0]))


def store(args: argparse.Namespace, case: Case, network: Network, answer: Answer) -> tuple[Event, ...]:
    """Record the readings and every result in one write. Returns their entries."""
    args.complaint, args.check = False, ""
    return record(case, network, answer, args)


def said(made: Sequence[Event]) -> None:
    """Say what was recorded, and how it is taken back."""
    results = [e for e in made if e.kind == "result"]
    numbers = f"{made[0].seq}: readings of the sheet" + (f"; {results[0].seq} to {results[-1].seq}: its results" if results else "")
    say(f"{numbers} (`diagnose correct CASE {made[0].seq} --reason ...` withdraws them all)")


def _asked(args: argparse.Namespace, case: Case | None, network: Network | None, base: RuleBase, bench: Bench) -> int:
    """Ask for a sheet place by place; what was read is shown, and recorded once that is said to be right."""
    from diagnose.cli.shop_asking import ask_sheet

    network = network or loaded.network_of(tuple(args.rulebase), bench.layout.id)
    shown = network
    found = ask_sheet(bench, lambda place: place_words(shown, place), lambda sheet, used: answer_of(sheet, used, base), case is not None)
    if case is None or found is None:
        say("nothing was entered")
        return 0
    said(store(args, case, network, answer_of(*found, base)))
    return 0
