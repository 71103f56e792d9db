"""A file changed outside the program: every command says so first, none adds to it until a person accepts that."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import load
from tests.fast import all_but_first_slow, slow

READING = ["rank", "next", "why", "report", "record", "handover", "replay", "log"]
WRITING = [
    ["enter", "drop@left=normal"],
    ["exchange", "swap_plug@3-bottom,1-bottom"],
    slow(["remedy", "clean_plug@3-bottom"]),
    ["correct", "2", "--reason", "wrong side"],
    ["note", "seen"],
]


@pytest.fixture
def path(tmp_path):
    """Return a case in which a person was renamed by hand."""
    name = tmp_path / "b.case"
    assert main(["open", str(name), "--layout", "opposed-4", "--person", "anna"]) == 0
    assert main(["enter", str(name), "rough@left=yes", "--complaint", "--person", "anna"]) == 0
    assert main(["enter", str(name), "drop@left=excessive", "--person", "anna"]) == 0
    text = name.read_bytes().replace(b'"kind": "result", "person": "anna"', b'"kind": "result", "person": "otto"', 1)
    name.write_bytes(text)
    return name


@pytest.mark.parametrize("command", all_but_first_slow(READING))
def test_reading_commands_say_it_first(path, command, capsys):
    capsys.readouterr()
    assert main([command, str(path)]) == 0
    assert "THIS FILE WAS CHANGED OUTSIDE THIS PROGRAM: line 2" in capsys.readouterr().err.splitlines()[0]


@pytest.mark.parametrize("command", WRITING, ids=lambda c: c[0])
def test_nothing_is_added_until_it_is_accepted(path, command, capsys):
    before = path.read_bytes()
    name, *rest = command
    assert main([name, str(path), *rest]) == 2
    assert path.read_bytes() == before
    assert "--accept-broken" in capsys.readouterr().err.splitlines()[-1]
    assert main([name, str(path), *rest, "--accept-broken", "--person", "ida"]) == 0
    events = log.read(path).events
    assert (events[3].kind, events[3].person) == ("accepted", "ida")
    assert events[3].data["problems"][0].startswith(f"{path}:2:1")
    assert main([name, str(path), *rest]) in (0, 2)
    assert "--accept-broken" not in capsys.readouterr().err, "accepted once, up to that entry"


def test_a_new_break_after_the_accepted_one_is_refused_again(path):
    assert main(["note", str(path), "a", "--accept-broken"]) == 0
    assert main(["note", str(path), "b"]) == 0
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:-2], lines[-2].replace(b'"note": "a"', b'"note": "c"'), lines[-1]]))
    assert main(["note", str(path), "d"]) == 2


@pytest.mark.parametrize("changed", [3, 4])
def test_an_edit_of_the_accepting_entry_or_of_the_line_before_it_is_refused(path, changed):
    """Both were whole when a person accepted what stood above them, so neither is covered by that."""
    assert main(["note", str(path), "a", "--accept-broken"]) == 0
    lines = path.read_bytes().splitlines(keepends=True)
    lines[changed - 1] = lines[changed - 1].replace(b'", "prev"', b'.", "prev"')
    path.write_bytes(b"".join(lines))
    assert main(["note", str(path), "b"]) == 2


def test_a_whole_file_needs_no_acceptance(tmp_path):
    name = tmp_path / "w.case"
    assert main(["open", str(name), "--layout", "opposed-4"]) == 0
    assert main(["note", str(name), "a", "--accept-broken"]) == 0
    assert [e.kind for e in log.read(name).events] == ["open", "note"]


def test_the_printed_head_is_held_against_the_file(tmp_path, capsys):
    name = tmp_path / "h.case"
    assert main(["open", str(name), "--layout", "opposed-4"]) == 0
    _, printed = log.verify(name)
    for text in ("a", "b"):
        assert main(["note", str(name), text]) == 0
    assert main(["verify", str(name), "--head", printed]) == 0
    assert main(["verify", str(name), "--head", printed[:12].upper()]) == 0
    capsys.readouterr()
    assert main(["verify", str(name), "--head", printed[:8]]) == 1
    assert "too short" in capsys.readouterr().out
    _, now = log.verify(name)
    whole = name.read_bytes()
    name.write_bytes(b"".join(whole.splitlines(keepends=True)[:-1]))
    assert main(["verify", str(name)]) == 0, "a cut tail is a whole chain"
    assert main(["verify", str(name), "--head", now, "--json"]) == 1
    told = capsys.readouterr().out
    (problem,) = json.loads(told[told.index("{") :])["problems"]
    assert problem["code"] == "head"


def test_a_forged_line_with_an_old_date_is_named(tmp_path, monkeypatch):
    """Right number, right chain, a time before the line above, and no mark of the program: time going backward."""
    name = tmp_path / "t.case"
    assert main(["open", str(name), "--layout", "opposed-4"]) == 0
    _, head = log.verify(name)
    forged = {"seq": 2, "time": "2020-01-01T00:00:00Z", "kind": "note", "person": "x", "prev": head, "note": "done"}
    with name.open("a") as file:
        file.write(json.dumps(forged) + "\n")
    assert [(p.line, p.code) for p in log.verify(name)[0]] == [(2, "time")]
    assert load(name, loaded.rulebase()).warnings[0].startswith("THIS FILE WAS CHANGED")


def test_a_clock_put_back_is_marked_and_no_break(tmp_path, monkeypatch):
    name = tmp_path / "c.case"
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2030-01-02T00:00:00Z")
    log.create(name, "", {"schema": "case/1", "layout": "opposed-4"})
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2030-01-01T00:00:00Z")
    log.append(name, "note", "", {"note": "a"})
    assert log.verify(name)[0] == []
    assert log.read(name).events[1].data["clock"] == "went back from 2030-01-02T00:00:00Z"
