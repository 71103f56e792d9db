"""The case file: one JSON event a line, only ever added to, each carrying the hash of the line before.

A kill at any moment loses nothing recorded: a line is on disk before `append` returns, and a torn last
line is set aside in the open when the next event is written. Two writers take turns by a file lock.
The chain shows edits, cuts and reordering inside the file; a cut tail or a chain rebuilt as a whole
shows only against the head hash printed on paper.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from diagnose.case.newfile import write_new
from diagnose.problems import BadInput, Problem

FIRST = "0" * 64
FROM_FIRST = object()
MAX_TEXT = 20_000
LONGEST_WAIT = 10.0  # seconds for another writer, who needs some milliseconds: then something is stuck


@dataclass(frozen=True)
class Event:
    """One line of a case file; `data` holds what its kind needs."""

    seq: int
    time: str
    kind: str
    person: str
    prev: str
    data: Mapping[str, Any]


@dataclass(frozen=True)
class CaseText:
    """A case file as read: its events, the torn end if there is one, and the hash of the last line."""

    path: Path
    events: tuple[Event, ...]
    torn: str
    head: str


def now() -> str:
    """Return the time in UTC to the second, ISO 8601; DIAGNOSE_CLOCK (such a text) stands in for the clock."""
    fixed = os.environ.get("DIAGNOSE_CLOCK", "")
    return fixed or datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def create(path: Path, person: str, data: Mapping[str, Any]) -> None:
    """Write a new case file with its `open` event.

    Raises BadInput where the file exists or cannot be made.
    """
    _check_texts((person, data))
    if path.is_dir():
        raise BadInput(f"case '{path}' is a folder; give the path of a file in it")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = "a file has that name" if isinstance(error, FileExistsError) else error.strerror
        raise BadInput(f"folder '{path.parent}' of the case cannot be made: {why}; give another path") from None
    _, line = _line((), FIRST, "open", person, data)
    try:
        write_new(path, line)
    except FileExistsError:
        raise BadInput(f"case '{path}' exists already; continue it, or give another name") from None
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be made: {error.strerror}; give a folder you may write to") from None


def append(path: Path, kind: str, person: str, data: Mapping[str, Any]) -> Event:
    """Add one event and return it once it is on disk.

    Raises BadInput where a text is too long or the file cannot be written; the file is then as before.
    """
    return append_all(path, person, [(kind, data)])[0]


def append_all(path: Path, person: str, entries: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[Event, ...]:
    """Add events that belong together in one write and return them once they are on disk; a value FROM_FIRST
    becomes the number of the first of them.

    Raises BadInput where a text is too long or the file cannot be written; the file is then as before.
    """
    _check_texts((person, *(data for _, data in entries)))
    with _locked(path) as descriptor:
        text = _read_all(descriptor)
        events, torn, head = _split(path, text)
        size = len(text)
        if torn:
            # Written over the torn bytes, never cut off first: the new line holds them all and is longer.
            size = text.rfind(b"\n") + 1
            event, line = _line(events, head, "recovered", "", {"text": torn, "note": "torn last line set aside"})
            _write(descriptor, size, line)
            events, head, size = (*events, event), _hash(line[:-1]), size + len(line)
        added, lines = events[:0], b""
        for kind, data in entries:
            numbered = {key: len(events) + 1 if value is FROM_FIRST else value for key, value in data.items()}
            event, line = _line((*events, *added), head, kind, person, numbered)
            added, lines, head = (*added, event), lines + line, _hash(line[:-1])
        try:
            _write(descriptor, size, lines)
        except OSError:
            os.ftruncate(descriptor, size)
            raise
    return added


def read(path: Path) -> CaseText:
    """Return a case file.

    Raises BadInput where it is missing or a line inside is not an event.
    """
    events, torn, head = _split(path, _bytes_of(path))
    if not events:
        raise BadInput(f"case '{path}' holds no event; start a case with `diagnose open` under another name")
    return CaseText(path, events, torn, head)


def verify(path: Path) -> tuple[list[Problem], str]:
    """Return every break of the chain, and the head hash to hold against the printed one."""
    problems: list[Problem] = []
    before, number = FIRST, 0
    lines = _bytes_of(path).split(b"\n")
    if lines == [b""]:
        problems.append(Problem(str(path), 0, 0, "empty", "the file holds no event", "restore it from a copy"))
    for number, line in enumerate(lines[:-1], 1):
        problems += _line_problems(str(path), number, line, before)
        before = _hash(line)
    if lines[-1]:
        problems.append(
            Problem(
                str(path), number + 1, 1, "torn", "the last line is not complete", "it was never recorded; the next entry sets it aside"
            )
        )
    return problems, before


def _bytes_of(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise BadInput(f"case '{path}' is no ordinary file; give the path of a case file")
        return path.read_bytes()
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be read: {error.strerror}; give the path of a case file") from None


def _line_problems(name: str, number: int, line: bytes, before: str) -> Iterator[Problem]:
    try:
        raw = json.loads(line)
        seq, prev = raw["seq"], raw["prev"]
    except (ValueError, KeyError, TypeError, RecursionError):
        yield Problem(name, number, 1, "not-an-event", "this line is no event", "restore it from a copy")
        return
    if seq != number:
        yield Problem(
            name, number, 1, "sequence", f"event {seq} stands where event {number} should", "a line was removed, added or moved here"
        )
    if prev != before:
        yield Problem(
            name,
            number,
            1,
            "chain",
            "the line before is not the one this event was written after",
            "compare with a copy: an edit, cut or move lies at or before this line",
        )


def _check_texts(data: Any) -> None:
    if isinstance(data, str) and len(data) > MAX_TEXT:
        raise BadInput(f"a text of {len(data)} characters is too long; {MAX_TEXT} is the most")
    for item in data.values() if isinstance(data, Mapping) else data if isinstance(data, (list, tuple)) else ():
        _check_texts(item)


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[int]:
    try:
        descriptor = os.open(path, os.O_RDWR)
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be written: {error.strerror}; this entry was not recorded") from None
    try:
        _wait_for_turn(path, descriptor)
        yield descriptor
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be written: {error.strerror}; this entry was not recorded") from None
    finally:
        os.close(descriptor)


def _wait_for_turn(path: Path, descriptor: int) -> None:
    """Lock an open case file; it stays locked until it is closed. Raises BadInput after LONGEST_WAIT, OSError where nothing locks."""
    from filelock import lock_descriptor  # imported only to write

    until = monotonic() + LONGEST_WAIT
    while not lock_descriptor(descriptor, blocking=False):
        if monotonic() > until:
            told = f"another program has been writing to it for {LONGEST_WAIT:.0f} s"
            raise BadInput(f"case '{path}' cannot be written: {told}; end that one, then enter this again: it was not recorded")
        sleep(0.01)


def _read_all(descriptor: int) -> bytes:
    os.lseek(descriptor, 0, os.SEEK_SET)
    parts = []
    while part := os.read(descriptor, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def _write(descriptor: int, at: int, line: bytes) -> None:
    os.lseek(descriptor, at, os.SEEK_SET)
    while line:
        line = line[os.write(descriptor, line) :]
    os.fsync(descriptor)


def _line(events: tuple[Event, ...], head: str, kind: str, person: str, data: Mapping[str, Any]) -> tuple[Event, bytes]:
    time = now()
    if events and time < events[-1].time:
        data = {**data, "clock": f"went back from {events[-1].time}"}
    event = Event(len(events) + 1, time, kind, person, head, data)
    raw = {"seq": event.seq, "time": time, "kind": kind, "person": person, "prev": head, **data}
    try:
        return event, json.dumps(raw, ensure_ascii=False).encode() + b"\n"
    except UnicodeEncodeError:  # half a character, from an argument that is not UTF-8: kept as an escape
        return event, json.dumps(raw).encode() + b"\n"


def _hash(line: bytes) -> str:
    return hashlib.sha256(line).hexdigest()


def _split(path: Path, text: bytes) -> tuple[tuple[Event, ...], str, str]:
    lines = text.split(b"\n")
    events = tuple(_event(path, number, line) for number, line in enumerate(lines[:-1], 1))
    head = _hash(lines[-2]) if len(lines) > 1 else FIRST
    return events, lines[-1].decode("utf-8", "backslashreplace"), head


def _event(path: Path, number: int, line: bytes) -> Event:
    try:
        raw = json.loads(line)
        head = {key: raw.pop(key) for key in ("seq", "time", "kind", "person", "prev")}
        if not isinstance(head["seq"], int) or not all(isinstance(head[k], str) for k in ("time", "kind", "person", "prev")):
            raise ValueError
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput(f"{path}:{number}: this line is no case event; restore it from a copy (`diagnose verify`)") from None
    return Event(**head, data=raw)
