"""The case file: nothing recorded is lost, nothing inside can be changed unseen."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from diagnose import caselog, session
from diagnose.case import load, open_case
from diagnose.chase import assess
from diagnose.problems import BadInput

WRITER = """
import sys
from pathlib import Path
from diagnose import caselog
for k in range(int(sys.argv[2])):
    event = caselog.append(Path(sys.argv[1]), "note", sys.argv[3], {"text": f"{sys.argv[3]}{k}"})
    print(event.seq, flush=True)
"""


@pytest.fixture
def path(tmp_path):
    """Return a fresh case file on opposed-4."""
    base = session.rulebase()
    case = tmp_path / "a.case"
    open_case(case, base, base.layouts["opposed-4"], "anna", {"nickname": "x"})
    return case


def enter(path, *results, complaint=False):
    """Record results."""
    for text in results:
        caselog.append(path, "result", "anna", {"result": text, "complaint": complaint})


def start(path, count, name):
    """Start a writer process."""
    return subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(count), name], stdout=subprocess.PIPE, text=True)


def test_a_kill_loses_nothing_recorded(path):
    """Every event a killed writer had been told of is in the file."""
    writer = start(path, 5000, "k")
    time.sleep(0.6)
    os.kill(writer.pid, signal.SIGKILL)
    told = [int(line) for line in writer.communicate()[0].split()]
    assert told
    caselog.append(path, "note", "", {"text": "after"})
    assert len(caselog.read(path).events) >= told[-1] + 1
    assert caselog.verify(path)[0] == []


def test_two_writers_take_turns(path):
    """A hundred events of two writers make one whole chain."""
    writers = [start(path, 50, name) for name in "ab"]
    for writer in writers:
        writer.communicate()
    assert len(caselog.read(path).events) == 101
    assert caselog.verify(path)[0] == []


def test_a_torn_last_line_is_set_aside_in_the_open(path):
    """Everything before it stays; the fragment is kept as text."""
    with path.open("ab") as file:
        file.write(b'{"seq":2,"ti')
    assert [e.seq for e in caselog.read(path).events] == [1]
    caselog.append(path, "note", "", {"text": "next"})
    kinds = [(e.kind, e.data.get("text")) for e in caselog.read(path).events]
    assert kinds[1:] == [("recovered", '{"seq":2,"ti'), ("note", "next")]


@pytest.mark.parametrize("change", ["edit", "cut", "swap"])
def test_changes_inside_are_found_with_their_line(path, change):
    """An edit, a cut and a swap inside the file."""
    enter(path, "rough@left=yes", "drop@left=excessive", "drop_fast@left=yes")
    lines = path.read_bytes().splitlines(keepends=True)
    if change == "edit":
        lines[1] = lines[1].replace(b"rough", b"roUgh")
    elif change == "cut":
        del lines[1]
    else:
        lines[1], lines[2] = lines[2], lines[1]
    path.write_bytes(b"".join(lines))
    problems, _ = caselog.verify(path)
    assert problems
    assert problems[0].line in (2, 3)


def test_a_cut_tail_shows_only_against_the_head(path):
    """The chain is whole, the head is another one."""
    enter(path, "rough@left=yes")
    _, before = caselog.verify(path)
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))
    problems, head = caselog.verify(path)
    assert problems == []
    assert head != before


def test_reopening_gives_the_same_numbers_and_a_repair_confirms(path):
    """Replay equals replay; a partial repair keeps the trouble open; all normal confirms it."""
    enter(path, "rough.runup@left=yes", "rough.high_power@left=yes", complaint=True)
    enter(path, "drop@left=severe", "drop@left=excessive", "plug_lead@3-bottom=yes")

    def now():
        case, network = session.case_at(str(path))
        return case, assess(network, case.trouble)

    case, first = now()
    assert case.changed == ("drop.runup@left: severe -> excessive",)
    assert [(r.id, r.responsible) for r in now()[1].finding.causes] == [(r.id, r.responsible) for r in first.finding.causes]
    caselog.append(path, "repair", "anna", {"remedy": "clean_plug@3-bottom"})
    enter(path, "rough.runup@left=no", "rough.high_power@left=yes")
    case, partial = now()
    assert partial.finding.state != "confirmed"
    assert partial.complaint == ("rough.high_power@left=yes",)
    assert next(r for r in partial.finding.causes if r.id == "plug_lead_fouled@3-bottom").removed
    enter(path, "rough.high_power@left=no")
    assert now()[1].finding.state == "confirmed"


def test_corrections_keep_the_original(path):
    """A withdrawn entry counts no more and stays readable."""
    enter(path, "rough@left=yes")
    caselog.append(path, "correct", "bob", {"corrects": 2, "withdrawn": True, "reason": "wrong side"})
    case = load(path, session.rulebase())
    assert case.trouble.looks[0].results == ()
    assert case.events[1].data["result"] == "rough@left=yes"


def test_strange_texts_come_back_as_they_went(path):
    """Brackets, quotes, escapes, direction marks; too long is refused before anything is written."""
    text = "[red]\"'<b>\x1b[31m‮" + "x" * 10_000
    caselog.append(path, "note", "", {"text": text})
    assert caselog.read(path).events[-1].data["text"] == text
    with pytest.raises(BadInput):
        caselog.append(path, "note", "", {"text": "x" * 20_001})
    assert len(caselog.read(path).events) == 2


def test_a_clock_that_goes_back_is_noted(path, monkeypatch):
    """The event says from when."""
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2001-01-01T00:00:00Z")
    event = caselog.append(path, "note", "", {"text": "t"})
    assert event.data["clock"].startswith("went back from")
