"""The log against any single change, against writers at the same time, and against a kill while a case is opened."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from itertools import pairwise

import filelock
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.case import log
from diagnose.problems import BadInput

TEXTS = st.text(max_size=30)
OFTEN = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """Return the bytes of a case of eight entries with letters of several scripts, and the head on paper."""
    path = tmp_path_factory.mktemp("log") / "whole.case"
    log.create(path, "anna", {"schema": "case/1", "layout": "opposed-4"})
    for number in range(7):
        log.append(path, "note", "Jürgen", {"note": f"entry {number}: Zündkerze, свеча, 点火 \u202e\n"})
    problems, head = log.verify(path)
    assert problems == []
    return path.read_bytes(), head


def verified(tmp_path, data):
    """Return the problems and the head of some bytes as a case file."""
    path = tmp_path / "changed.case"
    path.write_bytes(data)
    return log.verify(path)


def line_of(data, at):
    """Return the number of the line a byte stands in (a line end belongs to its own line)."""
    return data[:at].count(b"\n") + 1


@OFTEN
@given(data=st.data())
def test_any_single_byte_changed_is_found_at_its_line(tmp_path, whole, data):
    """Every byte of every line, any other value: told at that line and nowhere else; in the last line by the head on paper.

    Of the last line only the hash it holds can be seen to be wrong, and then it or the line above was changed.
    """
    before, head = whole
    at = data.draw(st.integers(0, len(before) - 1))
    value = data.draw(st.integers(0, 255).filter(lambda v: v != before[at]))
    changed = before[:at] + bytes([value]) + before[at + 1 :]
    problems, now = verified(tmp_path, changed)
    line, last = line_of(before, at), before.count(b"\n")
    if line == last and not problems:
        assert now != head
    else:
        assert problems[0].line in ((line - 1, line) if line == last else (line,))
    assert len(problems) == 1 or b"\n" in (changed[at : at + 1], before[at : at + 1]) or now != head


@OFTEN
@given(data=st.data())
def test_a_byte_put_in_or_taken_out_is_found(tmp_path, whole, data):
    """As above, where the length changes."""
    before, head = whole
    at = data.draw(st.integers(0, len(before) - 1))
    put = data.draw(st.binary(max_size=2))
    gone = data.draw(st.integers(0 if put else 1, 1))
    changed = before[:at] + put + before[at + gone :]
    if changed == before:
        return
    problems, now = verified(tmp_path, changed)
    assert problems or now != head
    if problems:
        line, last = line_of(before, at), before.count(b"\n")
        assert problems[0].line in ((line - 1, line) if line == last else (line,))


@OFTEN
@given(data=st.data())
def test_any_line_cut_out_is_found_where_it_stood(tmp_path, whole, data):
    """Every line but the last: the one after it does not follow; without the last one only the head tells."""
    before, head = whole
    lines = before.splitlines(keepends=True) if b"\r" not in before else None
    assert lines is not None
    number = data.draw(st.integers(1, len(lines)))
    problems, now = verified(tmp_path, b"".join(lines[: number - 1] + lines[number:]))
    if number == len(lines):
        assert problems == []
        assert now != head
    else:
        assert [(p.line, p.code) for p in problems] == [(number, "sequence")], "one cut is named at one place"


@OFTEN
@given(data=st.data())
def test_any_two_lines_exchanged_are_found_at_the_first(tmp_path, whole, data):
    """Two lines, near or far apart."""
    lines = whole[0].splitlines(keepends=True)
    one = data.draw(st.integers(0, len(lines) - 2))
    other = data.draw(st.integers(one + 1, len(lines) - 1))
    lines[one], lines[other] = lines[other], lines[one]
    problems, _ = verified(tmp_path, b"".join(lines))
    assert problems[0].line == one + 1


@pytest.mark.slow
@OFTEN
@given(entries=st.lists(st.tuples(TEXTS, TEXTS), max_size=6))
def test_whatever_is_written_comes_back_in_a_whole_chain(tmp_path, entries):
    """Any text of any person, in the order written."""
    path = tmp_path / f"{os.urandom(6).hex()}.case"
    log.create(path, "", {"schema": "case/1"})
    for person, text in entries:
        log.append(path, "note", person, {"note": text})
    assert [(e.person, e.data["note"]) for e in log.read(path).events[1:]] == entries
    assert log.verify(path)[0] == []


@pytest.mark.slow
@OFTEN
@given(times=st.lists(st.integers(2000, 2040), min_size=2, max_size=6))
def test_a_clock_that_goes_back_is_noted_each_time_and_only_then(tmp_path, times):
    """Held against the time of the entry before."""
    path = tmp_path / f"{os.urandom(6).hex()}.case"
    stamps = [f"{year}-01-01T00:00:00Z" for year in times]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DIAGNOSE_CLOCK", stamps[0])
        log.create(path, "", {"schema": "case/1"})
        for before, stamp in pairwise(stamps):
            patch.setenv("DIAGNOSE_CLOCK", stamp)
            event = log.append(path, "note", "", {"note": "x"})
            assert event.data.get("clock") == (f"went back from {before}" if stamp < before else None)
    assert log.verify(path)[0] == []


WRITER = """
import sys
from pathlib import Path
from diagnose.case import log
for k in range(40):
    log.append(Path(sys.argv[1]), "note", sys.argv[2], {"note": f"{sys.argv[2]}{k}"})
"""
OPENER = """
import sys
from pathlib import Path
from diagnose.case import log
from diagnose.problems import BadInput
sys.stdin.readline()
try:
    log.create(Path(sys.argv[1]), sys.argv[2], {"schema": "case/1"})
    print("mine")
except BadInput as error:
    print("taken" if "exists already" in str(error) else error)
"""
KILLED = """
import os, sys
from pathlib import Path
from diagnose.case import log
setattr(os, sys.argv[2], lambda *_: os._exit(9))
log.create(Path(sys.argv[1]), "", {"schema": "case/1"})
"""


HOLDER = """
import os, sys
from filelock import lock_descriptor
lock_descriptor(os.open(sys.argv[1], os.O_RDWR))
print("held", flush=True)
sys.stdin.readline()
"""


def start(code, *args):
    """Start a process of its own."""
    return subprocess.Popen([sys.executable, "-c", code, *map(str, args)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


def test_three_writers_at_once_lose_nothing_and_keep_their_own_order(tmp_path):
    """Every entry of every process is there once, each process's in its order."""
    path = tmp_path / "a.case"
    log.create(path, "", {"schema": "case/1"})
    for process in [start(WRITER, path, name) for name in "abc"]:
        process.communicate()
        assert process.returncode == 0
    told = [e.data["note"] for e in log.read(path).events[1:]]
    assert len(told) == 120
    for name in "abc":
        assert [t for t in told if t.startswith(name)] == [f"{name}{k}" for k in range(40)]
    assert log.verify(path)[0] == []


def test_of_many_who_open_one_case_at_once_one_does(tmp_path):
    """The others are told that it exists; its first line is the winner's; nothing else is left in the folder."""
    path = tmp_path / "a.case"
    openers = [start(OPENER, path, f"p{n}") for n in range(5)]
    for process in openers:
        process.stdin.write("\n")
        process.stdin.flush()
    told = [process.communicate()[0].strip() for process in openers]
    assert sorted(told) == ["mine", *["taken"] * 4]
    assert log.read(path).events[0].person == f"p{told.index('mine')}"
    assert list(tmp_path.iterdir()) == [path]


def test_a_writer_that_never_ends_is_not_waited_for_for_ever(tmp_path, monkeypatch):
    """One line after the longest wait, nothing recorded; killed, it holds nothing back any more, and no file stays beside."""
    path = tmp_path / "a.case"
    log.create(path, "", {"schema": "case/1"})
    holder = start(HOLDER, path)
    assert holder.stdout.readline() == "held\n"
    before = path.read_bytes()
    monkeypatch.setattr(log, "LONGEST_WAIT", 0.05)
    with pytest.raises(BadInput, match=r"a\.case.*another program has been writing to it.*not recorded"):
        log.append(path, "note", "", {"note": "x"})
    assert path.read_bytes() == before
    holder.kill()
    holder.communicate()
    log.append(path, "note", "", {"note": "y"})
    assert [e.data.get("note") for e in log.read(path).events] == [None, "y"]
    assert list(tmp_path.iterdir()) == [path]


def test_a_system_that_cannot_lock_is_told_and_nothing_is_written(tmp_path, monkeypatch):
    """Two writers at once could tear the chain there, so no entry is taken without a lock."""

    def refused(*_, **__):
        raise OSError(errno.ENOSYS, "no locks here")

    path = tmp_path / "a.case"
    log.create(path, "", {"schema": "case/1"})
    before = path.read_bytes()
    monkeypatch.setattr(filelock, "lock_descriptor", refused)
    with pytest.raises(BadInput, match="no locks here; this entry was not recorded"):
        log.append(path, "note", "", {"note": "x"})
    assert path.read_bytes() == before


@pytest.mark.parametrize("moment", ["write", "fsync", "link"])
def test_a_kill_while_a_case_is_opened_does_not_block_its_name(tmp_path, moment):
    """Before its first line is on disk the case is not there at all, and can be opened again under that name."""
    path = tmp_path / "a.case"
    process = start(KILLED, path, moment)
    process.communicate()
    assert process.returncode == 9
    assert not path.exists()
    log.create(path, "anna", {"schema": "case/1"})
    assert [e.person for e in log.read(path).events] == ["anna"]


def test_a_kill_just_after_leaves_a_whole_case(tmp_path):
    """Once it has its name, its first line is whole."""
    path = tmp_path / "a.case"
    process = start(KILLED, path, "unlink")
    process.communicate()
    assert process.returncode == 9
    assert log.verify(path)[0] == []
    assert len(log.read(path).events) == 1


def test_without_second_names_an_existing_case_is_still_kept(tmp_path, monkeypatch):
    """On a file system that knows no hard links the case opens too, and never over another."""

    def refused(*_):
        raise OSError(95, "not supported")

    monkeypatch.setattr(os, "link", refused)
    path = tmp_path / "a.case"
    log.create(path, "anna", {"schema": "case/1"})
    before = path.read_bytes()
    assert json.loads(before)["person"] == "anna"
    with pytest.raises(BadInput, match="exists already"):
        log.create(path, "otto", {"schema": "case/1"})
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_full_disk_at_opening_leaves_nothing(tmp_path):
    """A limit on the file's size stands in for the full disk."""
    resource = pytest.importorskip("resource", reason="no file size limit on this system")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50, hard))
    try:
        with pytest.raises(BadInput, match="cannot be made"):
            log.create(tmp_path / "a.case", "", {"words": "y" * 500})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("said", ["yesterday", "2026-02-30T08:00:00Z", "2026-05-04"])
def test_a_clock_that_is_no_time_is_refused(monkeypatch, said):
    monkeypatch.setenv("DIAGNOSE_CLOCK", said)
    with pytest.raises(BadInput, match="write it as 2026-05-04T08:00:00Z"):
        log.now()
