"""`picture`: one picture of a case as an SVG file, or on stdout."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import session
from diagnose.cli.opened import opened
from diagnose.cli.output import write_out
from diagnose.report.text import say, write
from diagnose.review.replay import steps


def picture(args: argparse.Namespace) -> int:
    """Draw one picture of a case; an existing file is never overwritten."""
    from diagnose.report import pictures

    case, network = opened(args)
    if args.what == "belief":
        drawn = pictures.belief_chart(steps(case, network), network)
    else:
        draw = pictures.engine_map if args.what == "engine" else pictures.cause_map
        drawn = draw(network, session.assessed(network, case.trouble))
    if not args.out:
        write(drawn)
        return 0
    write_out(Path(args.out), drawn + "\n")
    say(f"drawn: {args.out}")
    return 0
