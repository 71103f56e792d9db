"""`completion`: a script with which a shell completes commands, options, layouts, topics and file names, made from the parser."""

from __future__ import annotations

import argparse

from diagnose import loaded
from diagnose.cli.command_line import subcommands
from diagnose.cli.parser import make_parser

FILES = ("CASE", "OTHER", "FILE", "FILE.svg")  # what stands for a file, and for a folder
FOLDERS = ("DIR",)


def completion(args: argparse.Namespace) -> int:
    """Print the script of one shell."""
    import shtab

    parser = make_parser("calc")
    base = loaded.rulebase(tuple(args.rulebase))
    known = {"layout": list(base.layouts), "topic": list(base.principles)}
    _fill(parser, known, shtab.FILE, shtab.DIRECTORY)
    print(shtab.complete(parser, shell=args.shell))
    return 0


def _fill(parser: argparse.ArgumentParser, known: dict[str, list[str]], file: object, folder: object) -> None:
    """Say of every argument what completes it: a file, a folder, or the words that are known."""
    for action in parser._actions:
        if action.metavar in FILES:
            action.complete = file  # type: ignore[attr-defined]
        elif action.metavar in FOLDERS:
            action.complete = folder  # type: ignore[attr-defined]
        elif action.dest in known and action.choices is None:
            action.choices = known[action.dest]
    for inner in subcommands(parser).values():
        _fill(inner, known, file, folder)
