"""`picture`: one picture of a case as an SVG file, or on stdout."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import loaded
from diagnose.cli.opened import opened
from diagnose.cli.output import write_out
from diagnose.report import pictures
from diagnose.report.paper.figures import belief_runs
from diagnose.report.paper.story import story_of
from diagnose.report.text import say, write


def picture(args: argparse.Namespace) -> int:
    """Draw one picture of a case; an existing file is never overwritten."""
    case, network = opened(args)
    if args.what == "belief":
        story = story_of(case, network)
        drawn = pictures.belief_chart(story.steps, network, belief_runs(story))
    else:
        drawn = pictures.engine_map(network, loaded.assessed(network, case.trouble))
    if not args.out:
        write(drawn)
        return 0
    write_out(Path(args.out), drawn + "\n")
    say(f"drawn: {args.out}")
    return 0
