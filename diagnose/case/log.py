"""The case file: one JSON event a line, only ever added to, each carrying the hash of the line before.

A kill at any moment loses nothing recorded: a line is on disk before `append` returns, and a torn last
line is set aside in the open when the next event is written. Two writers take turns by a file lock.
Nothing is added to a file whose chain is broken (`chain`) until a person accepts that, which is recorded.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from diagnose.case.chain import ACCEPTED, FIRST, against_printed, breaks, line_hash, unaccepted
from diagnose.case.newfile import write_new
from diagnose.problems import BadInput, Problem

FROM_FIRST = object()
MAX_TEXT = 20_000
MOST_BREAKS = 5  # named in the entry that accepts them
LONGEST_WAIT = 10.0  # seconds for another writer, who needs some milliseconds: then something is stuck


@dataclass(frozen=True)
class Event:
    """One line of a case file; `data` holds what its kind needs, `batch` the first number and the count of the write it belongs to."""

    seq: int
    time: str
    kind: str
    person: str
    prev: str
    data: Mapping[str, Any]
    batch: tuple[int, int] = (0, 1)


@dataclass(frozen=True)
class CaseText:
    """A case file as read: its events, the torn end if there is one, the hash of the last line, and the breaks of its chain."""

    path: Path
    events: tuple[Event, ...]
    torn: str
    head: str
    breaks: tuple[Problem, ...] = ()


_TIME = "%Y-%m-%dT%H:%M:%SZ"


def now() -> str:
    """Return the time in UTC to the second, ISO 8601; DIAGNOSE_CLOCK (such a text) stands in for the clock. Raises BadInput."""
    fixed = os.environ.get("DIAGNOSE_CLOCK", "")
    if not fixed:
        return datetime.now(UTC).strftime(_TIME)
    try:
        return datetime.strptime(fixed, _TIME).strftime(_TIME)
    except ValueError:
        raise BadInput(f"DIAGNOSE_CLOCK '{fixed}' is no time; write it as 2026-05-04T08:00:00Z, or unset it") from None


def create(path: Path, person: str, data: Mapping[str, Any], more: Sequence[tuple[str, Mapping[str, Any]]] = ()) -> None:
    """Write a new case file with its `open` event and what belongs to it, whole or not at all.

    Raises BadInput where the file exists or cannot be made.
    """
    _check_texts((person, data, *(d for _, d in more)))
    if path.is_dir():
        raise BadInput(f"case '{path}' is a folder; give the path of a file in it")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = "a file has that name" if isinstance(error, FileExistsError) else error.strerror
        raise BadInput(f"folder '{path.parent}' of the case cannot be made: {why}; give another path") from None
    _, lines, _ = _lines((), FIRST, person, [("open", data), *more])
    try:
        write_new(path, lines)
    except FileExistsError:
        raise BadInput(f"case '{path}' exists already; continue it, or give another name") from None
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be made: {error.strerror}; give a folder you may write to") from None


def append(path: Path, kind: str, person: str, data: Mapping[str, Any]) -> Event:
    """Add one event and return it once it is on disk.

    Raises BadInput where a text is too long, the chain is broken or the file cannot be written; the file is then as before.
    """
    return append_all(path, person, [(kind, data)])[0]


def append_all(path: Path, person: str, entries: Sequence[tuple[str, Mapping[str, Any]]]) -> tuple[Event, ...]:
    """Add events that belong together in one write and return them once they are on disk; a value FROM_FIRST
    becomes the number of the first of them.

    Raises BadInput where a text is too long, the chain is broken or the file cannot be written; the file is then as before.
    """
    return _append(path, person, entries, unbroken=True)


def accept_broken(path: Path, person: str) -> Event | None:
    """Record that a person goes on in spite of every break in the file so far; None where there is none to accept."""
    lines = _bytes_of(path).split(b"\n")[:-1]
    found = unaccepted(str(path), lines)
    if not found:
        return None
    told = {"note": "gone on in spite of a broken chain", "problems": [str(p) for p in found[:MOST_BREAKS]]}
    return _append(path, person, [(ACCEPTED, told)], unbroken=False)[0]


def _append(path: Path, person: str, entries: Sequence[tuple[str, Mapping[str, Any]]], unbroken: bool) -> tuple[Event, ...]:
    _check_texts((person, *(data for _, data in entries)))
    with _locked(path) as descriptor:
        text = _read_all(descriptor)
        if unbroken:
            _refuse_broken(path, text)
        events, torn, head = _split(path, text)
        size = len(text)
        if torn:
            # Written over the torn bytes, never cut off first: the new line holds them all and is longer.
            size = text.rfind(b"\n") + 1
            mended, line, head = _lines(events, head, "", [("recovered", {"text": torn, "note": "torn last line set aside"})])
            _write(descriptor, size, line)
            events, size = (*events, *mended), size + len(line)
        added, lines, _ = _lines(events, head, person, entries)
        try:
            _write(descriptor, size, lines)
        except OSError:
            os.ftruncate(descriptor, size)
            raise
    return added


def _refuse_broken(path: Path, text: bytes) -> None:
    lines = text.split(b"\n")[:-1]
    found = unaccepted(str(path), lines)
    if found:
        raise BadInput(
            f"case '{path}' was changed outside this program (line {found[0].line}: {found[0].message}); nothing is added to it: "
            "look at `diagnose verify`, then go on with --accept-broken, which is recorded"
        )


def _lines(
    events: tuple[Event, ...], head: str, person: str, entries: Sequence[tuple[str, Mapping[str, Any]]]
) -> tuple[tuple[Event, ...], bytes, str]:
    """Return the events that follow some others, their lines, and the hash of the last."""
    added, lines = events[:0], b""
    for kind, data in entries:
        numbered = {key: len(events) + 1 if value is FROM_FIRST else value for key, value in data.items()}
        batch = (len(events) + 1, len(entries)) if events and len(entries) > 1 else (0, 1)  # a new file appears whole or not at all
        event, line = _line((*events, *added), head, kind, person, numbered, batch)
        added, lines, head = (*added, event), lines + line, line_hash(line[:-1])
    return added, lines, head


def read(path: Path) -> CaseText:
    """Return a case file.

    Raises BadInput where it is missing or a line inside is not an event.
    """
    data = _bytes_of(path)
    events, torn, head = _split(path, data)
    if not events:
        raise BadInput(f"case '{path}' holds no event; start a case with `diagnose open` under another name")
    return CaseText(path, events, torn, head, tuple(breaks(str(path), data.split(b"\n")[:-1])))


def verify(path: Path, printed: str = "") -> tuple[list[Problem], str]:
    """Return every break of the chain, and the head hash to hold against the printed one; `printed` is held against it here."""
    lines = _bytes_of(path).split(b"\n")
    problems = [Problem(str(path), 0, 0, "empty", "the file holds no event", "restore it from a copy")] if lines == [b""] else []
    problems += breaks(str(path), lines[:-1])
    if lines[-1]:
        mend = "a write was cut short, or its end was cut off later; the next entry keeps what is left of it and goes on below"
        problems.append(Problem(str(path), len(lines), 1, "torn", "the last line breaks off and counts for nothing", mend))
    if printed:
        problems += against_printed(str(path), lines[:-1], printed)[0]
    return problems, line_hash(lines[-2]) if len(lines) > 1 else FIRST


def _bytes_of(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise BadInput(f"case '{path}' is no ordinary file; give the path of a case file")
        return path.read_bytes()
    except OSError as error:
        raise BadInput(f"case '{path}' cannot be read: {error.strerror}; give the path of a case file") from None


def _check_texts(data: Any) -> None:
    if isinstance(data, str) and len(data) > MAX_TEXT:
        raise BadInput(f"a text of {len(data)} characters is too long; {MAX_TEXT} is the most")
    for item in data.values() if isinstance(data, Mapping) else data if isinstance(data, (list, tuple)) else ():
        _check_texts(item)


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[int]:
    try:
        descriptor = os.open(path, os.O_RDWR | getattr(os, "O_BINARY", 0))
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


def _line(
    events: tuple[Event, ...], head: str, kind: str, person: str, data: Mapping[str, Any], batch: tuple[int, int]
) -> tuple[Event, bytes]:
    time = now()
    if events and time < events[-1].time:
        data = {**data, "clock": f"went back from {events[-1].time}"}
    event = Event(len(events) + 1, time, kind, person, head, data, batch)
    together = {"batch": list(batch)} if batch[1] > 1 else {}
    raw = {"seq": event.seq, "time": time, "kind": kind, "person": person, "prev": head, **together, **data}
    try:
        return event, json.dumps(raw, ensure_ascii=False).encode() + b"\n"
    except UnicodeEncodeError:  # half a character, from an argument that is not UTF-8: kept as an escape
        return event, json.dumps(raw).encode() + b"\n"


def _split(path: Path, text: bytes) -> tuple[tuple[Event, ...], str, str]:
    lines = text.split(b"\n")
    events = tuple(_event(path, number, line) for number, line in enumerate(lines[:-1], 1))
    head = line_hash(lines[-2]) if len(lines) > 1 else FIRST
    return _whole_batches(events), lines[-1].decode("utf-8", "backslashreplace"), head


def _whole_batches(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Return the events, those of a batch that is not there as a whole set aside: a kill cut it short and nobody was told of it."""
    there = Counter(e.batch for e in events if e.batch[1] > 1 and e.batch[0] <= e.seq < sum(e.batch))
    return tuple(e if e.batch[1] == 1 or there[e.batch] == e.batch[1] else _set_aside(e) for e in events)


def _set_aside(event: Event) -> Event:
    told = {"text": json.dumps({"kind": event.kind, **event.data}, ensure_ascii=False), "note": "half of a batch set aside"}
    return replace(event, kind="recovered", data=told)


def _batch(raw: Any) -> tuple[int, int]:
    """Return first number and count of the write a line belongs to; one by itself where it says none that can be."""
    whole = isinstance(raw, list) and len(raw) == 2 and all(type(n) is int and n > 0 for n in raw)
    return (raw[0], raw[1]) if whole else (0, 1)


def _event(path: Path, number: int, line: bytes) -> Event:
    try:
        raw = json.loads(line)
        head = {key: raw.pop(key) for key in ("seq", "time", "kind", "person", "prev")}
        if not isinstance(head["seq"], int) or not all(isinstance(head[k], str) for k in ("time", "kind", "person", "prev")):
            raise ValueError
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput(f"{path}:{number}: this line is no case event; restore it from a copy (`diagnose verify`)") from None
    return Event(**head, batch=_batch(raw.pop("batch", None)), data=raw)
