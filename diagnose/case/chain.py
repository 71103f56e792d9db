"""The chain of a case file: each line carries the hash of the line before, so a change inside it shows.

One edit, cut, insertion or move is named at one place. A cut tail, or a chain rebuilt as a whole, shows only against a head hash
that was printed before.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diagnose.problems import Problem

FIRST = "0" * 64
SHORTEST = 12  # hexadecimal digits of a printed head that may stand for the whole
_HASH = re.compile(r"[0-9a-f]{64}")
ACCEPTED = "accepted"  # kind of the entry by which a person goes on in spite of breaks


def line_hash(line: bytes) -> str:
    """Return the hash of a line without its end."""
    return hashlib.sha256(line).hexdigest()


def breaks(name: str, lines: Sequence[bytes]) -> list[Problem]:
    """Return every place where the complete lines of a file are no unbroken chain, each once, in order.

    Lines that do not fit one after the other are one place, as one edit, cut or move makes up to three of them.
    """
    return [_named(name, run) for run in _runs(lines)]


def unaccepted(name: str, lines: Sequence[bytes]) -> list[Problem]:
    """Return the breaks that nobody accepted: those that show at or after the last entry by which a person went on."""
    heads = [_head(line) for line in lines]
    last = max((number for number, head in enumerate(heads, 1) if head is not None and head[3] == ACCEPTED), default=0)
    return [_named(name, run) for run in _runs(lines) if run[-1].line >= last]


@dataclass(frozen=True)
class _Misfit:
    """A line that does not fit the line before it."""

    line: int
    code: str
    message: str = ""
    fix: str = ""


def _runs(lines: Sequence[bytes]) -> list[list[_Misfit]]:
    """Return the lines that do not fit, those one after the other together."""
    runs: list[list[_Misfit]] = []
    for misfit in _misfits(lines):
        if runs and runs[-1][-1].line == misfit.line - 1:
            runs[-1].append(misfit)
        else:
            runs.append([misfit])
    return runs


def _misfits(lines: Sequence[bytes]) -> Iterator[_Misfit]:
    before: str | None = FIRST
    due: tuple[int, ...] = (1,)
    time = ""
    for number, line in enumerate(lines, 1):
        head = _head(line)
        if head is None:
            yield _Misfit(number, "not-an-event", "this line is no event", "restore it from a copy")
            before, due = None, (due[0], due[0] + 1)  # what it was cannot be told, so the next line is not held against it
            continue
        seq, prev, written, _, clock = head
        if seq not in due:
            yield _Misfit(number, "sequence", f"event {seq} stands where event {due[0]} should", "a line was removed, added or moved here")
        elif not _HASH.fullmatch(prev):
            yield _Misfit(number, "hash", "what it holds of the line above is no hash", "the line was not written by this program")
        elif before is not None and prev != before:
            yield _Misfit(number, "chain")
        elif written < time and not clock:
            told = f"its time {written} lies before that of the line above, {time}, and the program did not mark it"
            yield _Misfit(number, "time", told, "the line was not written by this program, or the one above was not")
        due = (seq + 1,) if seq in due else (seq + 1, due[0] + 1)
        before, time = line_hash(line), written


def _named(name: str, run: Sequence[_Misfit]) -> Problem:
    """Return the problem of lines that do not fit one after the other, at the line that was changed.

    A line holds the hash of the one above it, so where only that does not fit, the line above was changed. Two such lines, one after the
    other, are the mark of an edit of the first of them: of its own hash, or of it and the line above.
    """
    first, last = run[0], run[-1].line
    if first.code != "chain":
        return Problem(name, first.line, 1, first.code, first.message, first.fix)
    if len(run) == 2 and run[1].code == "chain":
        told = "this line, or it and the line above, is not as it was written"
        return Problem(name, first.line, 1, "chain", told, "compare both with a copy")
    changed = max(first.line - 1, 1)
    upto = f", nor are those after it up to line {last - 1}" if len(run) > 1 else ""
    told = f"this line is not as it was when line {first.line} was written after it{upto}"
    return Problem(name, changed, 1, "chain", told, "compare it with a copy")


def _head(line: bytes) -> tuple[int, str, str, str, bool] | None:
    """Return sequence number, hash of the line before, time, kind, and whether a clock gone back was marked; None for no event."""
    try:
        raw = json.loads(line)
        seq, prev, time, kind = raw["seq"], raw["prev"], raw["time"], raw["kind"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    if not isinstance(seq, int) or not all(isinstance(text, str) for text in (prev, time, kind)):
        return None
    return seq, prev, time, kind, "clock" in raw


def against_printed(name: str, lines: Sequence[bytes], printed: str) -> tuple[list[Problem], int]:
    """Return what is wrong where a head hash printed earlier is held against the file, and how many lines came after it."""
    hashes = [line_hash(line) for line in lines]
    wanted = printed.strip().lower()
    if len(wanted) >= SHORTEST:
        for number, found in enumerate(hashes, 1):
            if found.startswith(wanted):
                return [], len(hashes) - number
    else:
        return [Problem(name, 0, 0, "head", f"'{printed}' is too short for a head hash", f"give at least its first {SHORTEST} digits")], 0
    lost = "no line of the file has the printed head: entries were cut off or changed, or the chain was rebuilt since it was printed"
    return [Problem(name, len(hashes), 1, "head", lost, "compare with a copy of that day")], 0
