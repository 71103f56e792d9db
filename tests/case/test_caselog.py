"""The case file: nothing recorded is lost, nothing inside can be changed unseen."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import os
import signal
import subprocess
import sys
import time

import pytest

from diagnose import loaded
from diagnose.assessment.assess import assess
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.problems import BadInput

WRITER = """
import sys
from pathlib import Path
from diagnose.case import log
for k in range(int(sys.argv[2])):
    event = log.append(Path(sys.argv[1]), "note", sys.argv[3], {"text": f"{sys.argv[3]}{k}"})
    print(event.seq, flush=True)
"""


@pytest.fixture
def path(tmp_path):
    """Return a fresh case file on opposed-4."""
    base = loaded.rulebase()
    case = tmp_path / "a.case"
    open_case(case, base, base.layouts["opposed-4"], "anna", {"nickname": "x"})
    return case


def enter(path, *results, complaint=False):
    """Record results."""
    for text in results:
        log.append(path, "result", "anna", {"result": text, "complaint": complaint})


def start(path, count, name):
    """Start a writer process."""
    return subprocess.Popen([sys.executable, "-c", WRITER, str(path), str(count), name], stdout=subprocess.PIPE, text=True)


def test_a_kill_loses_nothing_recorded(path):
    """Every event a killed writer had been told of is in the file."""
    writer = start(path, 5000, "k")
    assert writer.stdout is not None
    told = [int(writer.stdout.readline())]
    time.sleep(0.1)
    os.kill(writer.pid, signal.SIGKILL)
    told += [int(line) for line in writer.communicate()[0].split()]
    log.append(path, "note", "", {"text": "after"})
    assert len(log.read(path).events) >= told[-1] + 1
    assert log.verify(path)[0] == []


def test_two_writers_take_turns(path):
    """A hundred events of two writers make one whole chain."""
    writers = [start(path, 50, name) for name in "ab"]
    for writer in writers:
        writer.communicate()
    assert len(log.read(path).events) == 101
    assert log.verify(path)[0] == []


def test_a_torn_last_line_is_set_aside_in_the_open(path):
    """Everything before it stays; the fragment is kept as text."""
    with path.open("ab") as file:
        file.write(b'{"seq":2,"ti')
    assert [e.seq for e in log.read(path).events] == [1]
    log.append(path, "note", "", {"text": "next"})
    kinds = [(e.kind, e.data.get("text")) for e in log.read(path).events]
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
    problems, _ = log.verify(path)
    assert problems
    assert problems[0].line in (2, 3)


def test_a_cut_tail_shows_only_against_the_head(path):
    """The chain is whole, the head is another one."""
    enter(path, "rough@left=yes")
    _, before = log.verify(path)
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))
    problems, head = log.verify(path)
    assert problems == []
    assert head != before


@pytest.mark.slow
def test_reopening_gives_the_same_numbers_and_a_repair_confirms(path):
    """Replay equals replay; a partial repair keeps the trouble open; all normal confirms it."""
    enter(path, "rough.runup@left=yes", "rough.high_power@left=yes", complaint=True)
    enter(path, "drop@left=severe", "drop@left=excessive", "plug_lead@3-bottom=yes")

    def now():
        case, network = loaded.case_at(str(path))
        return case, assess(network, case.trouble)

    case, first = now()
    assert case.changed == ("drop.runup@left: severe -> excessive",)
    assert [(r.id, r.responsible) for r in now()[1].finding.causes] == [(r.id, r.responsible) for r in first.finding.causes]
    log.append(path, "repair", "anna", {"remedy": "clean_plug@3-bottom"})
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
    log.append(path, "correct", "bob", {"corrects": 2, "withdrawn": True, "reason": "wrong side"})
    case = load(path, loaded.rulebase())
    assert case.trouble.looks[0].results == ()
    assert case.events[1].data["result"] == "rough@left=yes"


def test_strange_texts_come_back_as_they_went(path):
    """Brackets, quotes, escapes, direction marks; too long is refused before anything is written."""
    text = "[red]\"'<b>\x1b[31m‮" + "x" * 10_000
    log.append(path, "note", "", {"text": text})
    assert log.read(path).events[-1].data["text"] == text
    with pytest.raises(BadInput):
        log.append(path, "note", "", {"text": "x" * 20_001})
    assert len(log.read(path).events) == 2


def test_a_clock_that_goes_back_is_noted(path, monkeypatch):
    """The event says from when."""
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2001-01-01T00:00:00Z")
    event = log.append(path, "note", "", {"text": "t"})
    assert event.data["clock"].startswith("went back from")


def test_a_line_put_in_is_found_at_its_number(path):
    """A well-formed event slipped in between two others breaks numbering and chain right there."""
    enter(path, "rough@left=yes", "drop@left=excessive")
    lines = path.read_bytes().splitlines(keepends=True)
    lines.insert(2, lines[1])
    path.write_bytes(b"".join(lines))
    problems, _ = log.verify(path)
    assert [(p.line, p.code) for p in problems] == [(3, "sequence")], "one insertion is named at one place"


@pytest.mark.parametrize("number", [1, 2, 3])
def test_an_edit_is_named_at_its_line(path, number):
    """Every line but the last is held by the hash in the line after it, the opening line too: one edit, one place, the right one."""
    enter(path, "rough@left=yes", "drop@left=excessive", "drop_fast@left=yes")
    lines = path.read_bytes().splitlines(keepends=True)
    lines[number - 1] = lines[number - 1].replace(b'"person": "anna"', b'"person": "otto"')
    path.write_bytes(b"".join(lines))
    assert [(p.line, p.code) for p in log.verify(path)[0]] == [(number, "chain")]


@pytest.mark.parametrize(("edit", "named"), [("hash", [3]), ("number", [3]), ("swap", [2]), ("two", [2, 5]), ("beside", [3])])
def test_each_edit_is_named_once(path, edit, named):
    """A hash or number of its own, two lines exchanged, two lines far apart, two beside each other."""
    enter(path, *(f"drop@{side}={grade}" for grade in ("excessive", "normal") for side in ("left", "right")), "rough@left=yes")
    lines = path.read_bytes().splitlines(keepends=True)
    if edit == "hash":
        lines[2] = lines[2].replace(b'"prev": "', b'"prev": "f', 1)
    elif edit == "number":
        lines[2] = lines[2].replace(b'"seq": 3', b'"seq": 33')
    elif edit == "swap":
        lines[1], lines[2] = lines[2], lines[1]
    else:
        for number in (2, 5) if edit == "two" else (2, 3):
            lines[number - 1] = lines[number - 1].replace(b'"person": "anna"', b'"person": "otto"')
    path.write_bytes(b"".join(lines))
    assert [p.line for p in log.verify(path)[0]] == named


def test_prev_is_the_hash_of_the_line_before(path):
    """Counted anew here with the plain hash function, not with the module's own."""
    enter(path, "rough@left=yes", "drop@left=excessive")
    before = "0" * 64
    for number, line in enumerate(path.read_bytes().splitlines(), 1):
        raw = json.loads(line)
        assert (raw["seq"], raw["prev"]) == (number, before)
        before = hashlib.sha256(line).hexdigest()
    assert log.verify(path)[1] == before


def test_nothing_already_written_is_touched(path):
    """The file only ever grows at its end, whatever is entered."""
    enter(path, "rough@left=yes")
    added: list[tuple[str, dict[str, object]]] = [
        ("correct", {"corrects": 2, "withdrawn": True, "reason": "r"}),
        ("note", {"text": "n"}),
        ("repair", {"remedy": "clean_plug@3-bottom"}),
    ]
    for kind, data in added:
        before = path.read_bytes()
        log.append(path, kind, "", data)
        assert path.read_bytes().startswith(before)


@pytest.mark.parametrize("torn", [b'{"seq":2,"ti', b'{"note":"\xc3', b"\x00\x01", b"x" * 50_000])
def test_every_torn_byte_is_kept(path, torn):
    """Also half a character and a long fragment; `verify` names the torn line, then finds all whole."""
    with path.open("ab") as file:
        file.write(torn)
    assert [(p.line, p.code) for p in log.verify(path)[0]] == [(2, "torn")]
    assert load(path, loaded.rulebase()).warnings[0].startswith("the last line breaks off")
    enter(path, "rough@left=yes")
    assert log.read(path).events[1].data["text"] == torn.decode("utf-8", "backslashreplace")
    assert log.verify(path)[0] == []
    assert load(path, loaded.rulebase()).warnings == ()


def test_a_full_disk_refuses_the_entry_and_leaves_the_file_as_it_was(path):
    """A limit on the file's size stands in for the full disk."""
    resource = pytest.importorskip("resource", reason="no file size limit on this system")
    before = path.read_bytes()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 100, hard))
    try:
        with pytest.raises(BadInput, match="not recorded"):
            log.append(path, "note", "", {"text": "y" * 500})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert path.read_bytes() == before


def test_too_long_a_text_makes_no_file(tmp_path):
    """Refused at opening too, in any field, and nothing is left behind."""
    base = loaded.rulebase()
    for person, words in (("p" * 20_001, ""), ("", "w" * 20_001)):
        with pytest.raises(BadInput, match="20000 is the most"):
            open_case(tmp_path / "b.case", base, base.layouts["opposed-4"], person, {"words": words})
    assert list(tmp_path.iterdir()) == []


def test_a_case_is_never_opened_twice(path):
    """The second opening is refused and the file stays byte for byte."""
    base, before = loaded.rulebase(), path.read_bytes()
    with pytest.raises(BadInput, match="exists already"):
        open_case(path, base, base.layouts["opposed-6"], "otto", {})
    assert path.read_bytes() == before


def test_another_rule_base_is_told(path, tmp_path):
    """A case opened under other numbers says so; under the same ones it says nothing."""
    base = loaded.rulebase()
    assert load(path, base).warnings == ()
    other = dataclasses.replace(base, sha256="f" * 64)
    (warning,) = load(path, other).warnings
    assert base.sha256[:12] in warning
    assert "f" * 12 in warning
    assert "numbers can differ" in warning


def test_a_correction_puts_the_right_result_in_its_place(path):
    """The newest correction counts, and the complaint stays a complaint."""
    enter(path, "rough@left=yes", complaint=True)
    log.append(path, "correct", "bob", {"corrects": 2, "withdrawn": True, "reason": "r"})
    log.append(path, "correct", "bob", {"corrects": 2, "result": "rough@right=yes", "reason": "wrong side"})
    case = load(path, loaded.rulebase())
    assert [str(r) for r in case.trouble.looks[0].complaint] == ["rough.runup@right=yes"]
    assert case.events[1].data["result"] == "rough@left=yes"
    assert case.corrected[2][-1].data["reason"] == "wrong side"


def test_a_remedy_starts_a_new_look(path):
    """Results after it do not replace those before; two remedies with nothing seen between share a look."""
    enter(path, "rough@left=yes", complaint=True)
    for remedy in ("clean_plug@3-bottom", "clean_plug@1-bottom"):
        log.append(path, "repair", "", {"remedy": remedy})
    enter(path, "rough@left=no")
    first, second = load(path, loaded.rulebase()).trouble.looks
    assert [str(r) for r in first.results] == ["rough.runup@left=yes"]
    assert [str(r) for r in second.repairs] == ["clean_plug@3-bottom", "clean_plug@1-bottom"]
    assert [str(r) for r in second.results] == ["rough.runup@left=no"]
    assert load(path, loaded.rulebase()).changed == ()


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "result"},
        {"kind": "repair"},
        {"kind": "access", "now": 5},
        {"kind": "decline"},
        {"kind": "correct", "corrects": "x"},
        {"kind": ["x"]},
        {"seq": "two"},
        {"time": 5},
        b"[" * 100_000,
        b"\xff\xfe",
        b"",
    ],
)
def test_a_spoilt_line_is_named(path, line):
    """Whatever is in the file: one line with its number, never a trace."""
    event = {"seq": 2, "time": "2030-01-01T00:00:00Z", "kind": "note", "person": "", "prev": "x"}
    with path.open("ab") as file:
        file.write((line if isinstance(line, bytes) else json.dumps({**event, **line}).encode()) + b"\n")
    with pytest.raises(BadInput, match=r"a\.case:2: ") as told:
        load(path, loaded.rulebase())
    assert "\n" not in str(told.value)
    assert log.verify(path)[0][0].line == 2


def test_half_a_character_from_the_command_line_is_kept(path):
    """An argument that is not UTF-8 reaches Python as a lone surrogate; the file stays UTF-8."""
    log.append(path, "note", "\udcff", {"text": "a\udcffb"})
    path.read_bytes().decode("utf-8")
    assert log.read(path).events[-1].data["text"] == "a\udcffb"


def test_an_empty_file_is_no_whole_case(tmp_path):
    """An emptied file must not pass as whole."""
    (tmp_path / "e.case").write_bytes(b"")
    assert [p.code for p in log.verify(tmp_path / "e.case")[0]] == ["empty"]
