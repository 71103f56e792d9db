"""The chain of a case file: each line carries the hash of the line before, so a change inside it shows.

One edit, cut, insertion or move is named at one place. A cut tail, or a chain rebuilt as a whole, shows only against a head hash
that was printed before.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence

from diagnose.problems import Problem

FIRST = "0" * 64
SHORTEST = 12  # hexadecimal digits of a printed head that may stand for the whole
ACCEPTED = "accepted"  # kind of the entry by which a person goes on in spite of breaks


def line_hash(line: bytes) -> str:
    """Return the hash of a line without its end."""
    return hashlib.sha256(line).hexdigest()


def breaks(name: str, lines: Sequence[bytes]) -> list[Problem]:
    """Return every place where the complete lines of a file are no unbroken chain, each once, in order."""
    return list(_breaks(name, lines))


def unaccepted(problems: Sequence[Problem], lines: Sequence[bytes]) -> list[Problem]:
    """Return the breaks that stand after the last entry by which a person accepted those before it."""
    heads = [_head(line) for line in lines]
    last = max((number for number, head in enumerate(heads, 1) if head is not None and head[3] == ACCEPTED), default=0)
    return [p for p in problems if p.line > last]


def _breaks(name: str, lines: Sequence[bytes]) -> Iterator[Problem]:
    before: str | None = FIRST
    expected, time = 1, ""
    for number, line in enumerate(lines, 1):
        head = _head(line)
        if head is None:
            yield Problem(name, number, 1, "not-an-event", "this line is no event", "restore it from a copy")
            before = None  # what it was cannot be told, so the next line is not held against it
            continue
        seq, prev, written, _, clock = head
        if seq not in (expected, expected + 1 if before is None else expected):
            yield Problem(
                name, number, 1, "sequence", f"event {seq} stands where event {expected} should", "a line was removed, added or moved here"
            )
        elif before is not None and prev != before:
            yield Problem(
                name,
                number,
                1,
                "chain",
                "the line before is not the one this event was written after",
                "compare with a copy: the edit, cut or move lies at or before this line",
            )
        elif written < time and not clock:
            yield Problem(
                name,
                number,
                1,
                "time",
                f"its time {written} lies before that of the line above, {time}, and the program did not mark it",
                "the line was not written by this program, or the one above was not",
            )
        before, expected, time = line_hash(line), seq + 1, written


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
