"""A case as a command finds it: what is wrong with its file is said before anything else."""

from __future__ import annotations

import argparse
from pathlib import Path

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import Case
from diagnose.report.text import say
from diagnose.trouble.network import Network


def opened(args: argparse.Namespace, path: str = "") -> tuple[Case, Network]:
    """Return the case of a command line (or of `path`) and its network, its warnings said first.

    With --accept-broken the breaks of its chain are accepted, which is recorded.
    """
    name = path or args.case
    if getattr(args, "accept_broken", False):
        log.accept_broken(Path(name), args.person)
    case, network = loaded.case_at(name, tuple(args.rulebase))
    for warning in case.warnings:
        say(f"note: {warning}")
    return case, network
