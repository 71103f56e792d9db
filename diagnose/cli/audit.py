"""`audit`: what is wrong with the knowledge itself, and how well troubles can be isolated with it."""

from __future__ import annotations

import argparse
from contextlib import closing
from functools import partial
from pathlib import Path

from diagnose import loaded
from diagnose.cli.pager import show_lines
from diagnose.cli.progress import Work, followed
from diagnose.problems import BadInput
from diagnose.report.text import say, wrapped, write_json
from diagnose.rulebase.locate import shipped

DEFAULT_LAYOUT = "opposed-4"  # the layout simulated where none is named
RUNS, QUICK_RUNS = 24, 6


def audit(args: argparse.Namespace) -> int:
    """Print the findings and figures of the rule base; exit code 1 where there is a problem."""
    from diagnose.audit import document, screen, whole
    from diagnose.audit.findings import exit_code

    overlay = tuple(args.rulebase)
    base = loaded.rulebase(overlay)
    runs, folder = _runs(args), _cases(args.cases)
    for name in args.layout:
        loaded.layout_named(base, name)
    names = list(dict.fromkeys(args.layout or base.layouts))
    networks = list(followed("reading the layouts", (loaded.network_of(overlay, name) for name in names), len(names)))
    chosen = [n for n in networks if args.layout or n.layout.id == DEFAULT_LAYOUT]
    drawn = {}
    for network in chosen if runs else ():
        say(f"drawing {runs} troubles on {network.layout.id} (seed {args.seed}); --runs sets how many")
        with closing(Work(f"troubles on {network.layout.id}")) as work:
            drawn[network.layout.id] = whole.simulated(network, runs, args.seed, partial(work.done, total=runs))
    with closing(Work("looking through the knowledge")) as work:
        found = whole.audit(networks, folder, drawn, work.done)
    if args.json:
        write_json(document.document(found))
    else:
        show_lines(wrapped(screen.lines(found)).splitlines())
    return exit_code(found.found)


def _runs(args: argparse.Namespace) -> int:
    chosen = args.runs if args.runs is not None else (QUICK_RUNS if args.quick else RUNS)
    if not 0 <= chosen <= 100_000:
        raise BadInput(f"--runs {chosen} cannot be drawn; give a whole number from 0 (no simulation) to 100000")
    return int(chosen)


def _cases(given: str) -> Path:
    if not given:
        return shipped("cases")
    folder = Path(given)
    if not folder.is_dir():
        raise BadInput(f"folder '{given}' of cases does not exist; give the folder that holds them, or leave --cases out")
    return folder
