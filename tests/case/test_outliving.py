"""A case outlives the rule base it was written under, a newer program, and damage to its neighbours."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import load
from diagnose.problems import BadInput
from diagnose.rulebase.records import Replaced

BASE = loaded.rulebase()
A_MARK = next(iter(BASE.symptoms.values())).mark


def replaced(ident, by, **grades):
    """Return a rule base in which an id old cases hold is said to be replaced."""
    entry = Replaced(ident, A_MARK, {}, "shipped", "renamed for this test", (), by, grades)
    return replace(BASE, replaced={ident: entry})


@pytest.fixture
def path(tmp_path):
    """Return a case with an old result, an old remedy and a result of now."""
    name = tmp_path / "old.case"
    log.create(name, "anna", {"schema": "case/1", "layout": "opposed-4", "rulebase": {"version": "0.9", "sha256": "x"}})
    for kind, data in (
        ("result", {"result": "old_word@left=bad", "complaint": True}),
        ("result", {"result": "rough@left=yes"}),
        ("repair", {"remedy": "old_remedy@3-bottom"}),
        ("result", {"result": "rough@left=no"}),
    ):
        log.append(name, kind, "anna", data)
    return name


def test_a_renamed_id_is_carried_over_with_its_grades(path):
    case = load(path, replaced("old_word", "drop", bad="excessive"))
    assert [str(r) for r in case.trouble.looks[0].complaint] == ["drop.runup@left=excessive"]
    assert any("'old_word@left=bad' is read as 'drop@left=excessive': renamed for this test" in w for w in case.warnings)


def test_what_cannot_be_carried_over_is_said_and_stays_in_the_file(path):
    before = path.read_bytes()
    case = load(path, replaced("old_word", "", bad="excessive"))
    assert [str(r) for look in case.trouble.looks for r in look.results] == ["rough.runup@left=no"]
    assert [w for w in case.warnings if "entry 2" in w and "counts for nothing" in w and "renamed for this test" in w]
    assert [w for w in case.warnings if "entry 4: 'old_remedy@3-bottom' counts for nothing" in w]
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "command",
    [
        ["rank"],
        ["next"],
        ["why"],
        ["report"],
        ["record"],
        ["handover"],
        ["replay"],
        ["log"],
        ["note", "seen"],
        ["enter", "drop@left=normal"],
    ],
)
def test_every_command_works_on_a_case_with_unknown_ids(path, command, capsys):
    """Also entering, noting and papers; the same for correcting."""
    name, *rest = command
    assert main([name, str(path), *rest]) == 0
    told = capsys.readouterr()
    assert "entry 2: 'old_word@left=bad' counts for nothing" in told.err
    assert "internal" not in told.err


def test_an_unknown_result_can_be_corrected(path, capsys):
    assert main(["correct", str(path), "2", "--result", "drop@left=excessive", "--reason", "renamed"]) == 0
    assert not [w for w in load(path, BASE).warnings if "entry 2" in w]
    capsys.readouterr()


def test_unknown_kinds_are_kept_and_said(path):
    log.append(path, "smell", "anna", {"of": "fuel"})
    (said,) = [w for w in load(path, BASE).warnings if "smell" in w]
    assert said == "entry 6 is of a kind this program does not know, 'smell': kept, not used"


def test_a_newer_format_is_named_as_such(tmp_path):
    log.create(tmp_path / "n.case", "", {"schema": "case/7", "layout": "opposed-4"})
    with pytest.raises(BadInput, match="is of the newer format case/7, this program reads case/1"):
        load(tmp_path / "n.case", BASE)
    log.create(tmp_path / "o.case", "", {"schema": "recipe/1", "layout": "opposed-4"})
    with pytest.raises(BadInput, match="not a case of this tool"):
        load(tmp_path / "o.case", BASE)


def deep(levels):
    """Return a note nested so deep that reading it by recursion would fail."""
    return '{"a":' * levels + '"x"' + "}" * levels


DAMAGED = {
    "corrects a list": '"kind": "correct", "corrects": [1]',
    "corrects infinity": '"kind": "correct", "corrects": Infinity',
    "400 digits": '"kind": "correct", "corrects": ' + "9" * 400,
    "deep note": '"kind": "note", "note": ' + deep(700),
    "state of lists": '"kind": "state", "state": [[1]]',
    "closes a map": '"kind": "note", "note": "x", "closes": {"a": 1}',
}


@pytest.mark.parametrize("name", DAMAGED)
def test_one_damaged_case_stops_neither_list_nor_open(tmp_path, name, capsys):
    for good in ("a", "z"):
        assert main(["open", str(tmp_path / f"{good}.case"), "--layout", "opposed-4", "--nickname", "Wren"]) == 0
    spoilt = tmp_path / "m.case"
    assert main(["open", str(spoilt), "--layout", "opposed-4", "--nickname", "Wren"]) == 0
    with spoilt.open("a") as file:
        file.write(f'{{"seq": 2, "time": "2030-01-01T00:00:00Z", "person": "", "prev": "x", {DAMAGED[name]}}}\n')
    capsys.readouterr()
    assert main(["list", str(tmp_path)]) in (0, 1)
    out = capsys.readouterr().out
    assert "a.case" in out
    assert "z.case" in out
    assert main(["list", str(tmp_path), "--json"]) in (0, 1)
    assert len(json.loads(capsys.readouterr().out)["cases"]) >= 2
    assert main(["open", str(tmp_path / "new.case"), "--layout", "opposed-4", "--nickname", "Wren"]) == 0
