"""`log`: every entry of a case, on a terminal as a table in words, piped one entry a line as it stands in the file."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import load
from diagnose.case.standing import corrections
from diagnose.cli.pager import on_screen, show_lines
from diagnose.problems import BadInput
from diagnose.report.text import say, size, write


def _log_lines(text: log.CaseText) -> None:
    """Write every entry as one line, its data as JSON."""
    corrected = corrections(text.events)
    for event in text.events:
        mark = " (corrected below)" if event.seq in corrected else ""
        data = {k: v for k, v in event.data.items() if v not in ("", False, None)}
        write(f"{event.seq:>3} {event.time} {event.kind:<8} {event.person} {json.dumps(data, ensure_ascii=False)}{mark}")


def _log_table(text: log.CaseText, overlay: tuple[str, ...]) -> list[str]:
    """Return every entry as a row of a table, in words where the rule base has them."""
    from diagnose.report.log_rows import HEADS, log_rows
    from diagnose.report.tables import table_lines

    try:
        base = loaded.rulebase(overlay)
    except BadInput:
        base = None
    layout = base.layouts.get(str(text.events[0].data.get("layout"))) if base is not None else None
    return table_lines(HEADS, log_rows(text.events, base, layout, corrections(text.events)), size()[0])


def print_log(args: argparse.Namespace) -> int:
    """Print the entries of a case, also of one that this rule base cannot replay."""
    text = log.read(Path(args.case))
    if on_screen():
        show_lines(_log_table(text, tuple(args.rulebase)))
    else:
        _log_lines(text)
    try:
        warnings = load(Path(args.case), loaded.rulebase(tuple(args.rulebase))).warnings
    except BadInput as error:
        warnings = (str(error),)
    for warning in warnings:
        say(f"note: {warning}")
    return 0
