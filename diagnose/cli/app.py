"""Runs one command line: parses it, calls the command, turns trouble into one line and an exit code."""

from __future__ import annotations

import contextlib
import errno
import gc
import io
import os
import sys
from collections.abc import Sequence

from diagnose.cli.command_line import parsed
from diagnose.cli.parser import make_parser
from diagnose.problems import BadInput, BrokenRuleBase
from diagnose.report.text import clean, one_line

OK, PROBLEMS, BAD_INPUT, INTERNAL, INTERRUPT = 0, 1, 2, 3, 130


def _forgiving_streams() -> None:
    """Let nothing stop at a closed stream, or at a letter that cannot be shown or read: its number stands in.

    A closed stdin is at its end; a closed stdout refuses what is written (so that no case file takes its place), a closed
    stderr swallows it.
    """
    sys.stdin = sys.stdin or os.fdopen(os.open(os.devnull, os.O_RDONLY))
    sys.stdout = sys.stdout or os.fdopen(os.open(os.devnull, os.O_RDONLY), "w")
    sys.stderr = sys.stderr or os.fdopen(os.open(os.devnull, os.O_WRONLY), "w")
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _let_go_of_stdout() -> None:
    """Send what could not be written nowhere: the interpreter would try once more on its way out."""
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.flush()
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _called(argv: Sequence[str]) -> int:
    """Return the exit code of the command a line names."""
    try:
        args = parsed(make_parser(argv[0] if argv else ""), argv)
    except SystemExit as stop:  # --help and --version
        return int(stop.code or 0)
    if not getattr(args, "call", None):
        from diagnose.cli.welcome import welcome

        return welcome()
    code: int = args.call(args)
    return code


def run(argv: Sequence[str]) -> int:
    """Return the exit code of one command line; results go to stdout, talk to stderr."""
    _forgiving_streams()
    # A network lives to the end of the command: looking through it for garbage again and again costs a fifth of the time.
    gc.set_threshold(100_000, 50, 100)
    try:
        code = _called(argv)
        sys.stdout.flush()
        return code
    except BadInput as error:
        broken = isinstance(error, BrokenRuleBase)
        print(f"diagnose: {clean(str(error)) if broken else one_line(str(error))}", file=sys.stderr)
        return PROBLEMS if broken else BAD_INPUT
    except KeyboardInterrupt:
        print("\ndiagnose: stopped; everything answered so far is on disk", file=sys.stderr)
        return INTERRUPT
    except BrokenPipeError:
        # The reader of our output has gone (`| head`): nothing is left to say to it.
        _let_go_of_stdout()
        return OK
    except OSError as error:
        where = f"'{error.filename}'" if error.filename else "the output"
        too_long = error.errno == errno.ENAMETOOLONG
        mend = "give a shorter name" if too_long else "what was recorded before is kept"
        print(f"diagnose: {one_line(f'{where} cannot be used: {error.strerror}')}; {mend}", file=sys.stderr)
        _let_go_of_stdout()
        return BAD_INPUT if too_long else PROBLEMS
    except Exception as error:
        if os.environ.get("DIAGNOSE_TRACE"):
            raise
        print(
            f"diagnose: internal error: {type(error).__name__}: {one_line(str(error))}; set DIAGNOSE_TRACE=1 to see where, and report it",
            file=sys.stderr,
        )
        return INTERNAL
