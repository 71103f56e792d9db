"""`picture`: one picture of a case as an SVG file, or on stdout."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import session
from diagnose.problems import BadInput
from diagnose.replay import steps
from diagnose.report.text import say, write


def picture(args: argparse.Namespace) -> int:
    """Draw one picture of a case; an existing file is never overwritten."""
    from diagnose.report import pictures

    if args.out and Path(args.out).exists():
        raise BadInput(f"'{args.out}' exists already; give a new path with --out")
    case, network = session.case_at(args.case, tuple(args.rulebase))
    for warning in case.warnings:
        say(f"note: {warning}")
    if args.what == "belief":
        drawn = pictures.belief_chart(steps(case, network), network)
    else:
        draw = pictures.engine_map if args.what == "engine" else pictures.cause_map
        drawn = draw(network, session.assessed(network, case.trouble))
    if not args.out:
        write(drawn)
        return 0
    try:
        Path(args.out).write_text(drawn + "\n", encoding="utf-8")
    except OSError as error:
        raise BadInput(f"'{args.out}' cannot be written: {error.strerror}; give a folder you may write to") from None
    say(f"drawn: {args.out}")
    return 0
