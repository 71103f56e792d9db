"""The loop of a drill: one screen, one key, until the entry is written."""

from __future__ import annotations

from diagnose.cli.drills.board import KEYS, board, everything
from diagnose.cli.drills.checking import by_key, by_words
from diagnose.cli.drills.entry import write_entry
from diagnose.cli.drills.mending import change, confirm, mark, right
from diagnose.cli.drills.session import Session
from diagnose.report.brief import suspects
from diagnose.report.screens import percent

MOST_RANKED = 12


def play(s: Session) -> None:
    """Lead through a drill to its end. Raises Leave where the trainee stops before."""
    while not s.work.ended:
        a = s.work.assessment()
        lines, shown = board(s, a)
        s.noted = ""
        text = s.panel(lines, KEYS, {*"ntfcrgskeb", *(str(n) for n in range(1, len(shown) + 1))})
        if text == "b":
            s.noted = "No step back from here: what was done on the engine is done, and stays in the file."
        elif text.isdigit():
            by_key(s, a, shown[int(text) - 1])
            s.page = 0
        elif text == "n":
            s.page += 1
        elif text == "s":
            s.show(everything(s))
        elif text == "k":
            _ranking(s)
        elif text == "e":
            write_entry(s, a)
        else:
            {"t": by_words, "f": mark, "c": change, "r": confirm, "g": right}[text](s, a)


def _ranking(s: Session) -> None:
    """Show what the tool makes of it, and count that it was asked."""
    a = s.work.assessment()
    s.move("ranking")
    rows = [f"{row.right:>11}  {row.left}" for row in suspects(s.network, a, MOST_RANKED)]
    other = [] if a.finding.unmodelled is None else [f"{percent(a.finding.unmodelled):>11}  something else"]
    s.show(["RANKING of the tool, as things stand (counted)", "", *rows, *other])
