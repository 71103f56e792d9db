"""Recorded before computed: what was done is on disk before anything is worked out, and a batch is all or nothing."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log


@pytest.fixture
def path(tmp_path):
    """Return an open case with a complaint."""
    name = tmp_path / "r.case"
    assert main(["open", str(name), "--layout", "opposed-4", "--unit", "engine=E-1", "--unit", "plugs=P-1"]) == 0
    assert main(["enter", str(name), "rough@left=yes", "--complaint"]) == 0
    return name


def test_a_repair_is_on_disk_when_ranking_is_killed(path, monkeypatch):
    def killed(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(loaded, "assessed", killed)
    assert main(["remedy", str(path), "replace_plug@3-bottom"]) == 130
    assert log.read(path).events[-1].data["remedy"] == "replace_plug@3-bottom"


@pytest.mark.slow
def test_the_warning_follows_as_an_entry_of_its_own(path, capsys):
    assert main(["remedy", str(path), "replace_plug@3-bottom"]) == 0
    repair, warning = log.read(path).events[-2:]
    assert (repair.kind, warning.kind) == ("repair", "warning")
    assert warning.data["about"] == repair.seq
    assert "A part would be changed" in warning.data["warning"]
    assert warning.data["warning"] in capsys.readouterr().err.replace("note: ", "")
    assert main(["report", str(path)]) == 0
    assert "repair against a warning" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    "command",
    [
        ["enter", "{case}", "drop@left=excessive", "drop@right=normal", "drop_fast@left=yes"],
        ["open", "{new}", "--layout", "opposed-4", "--unit", "engine=E-2"],
    ],
    ids=["enter", "open"],
)
def test_a_batch_killed_on_the_way_leaves_nothing(path, command, monkeypatch):
    """Whatever write fails first: either everything is there or nothing."""
    import os

    before, new = path.read_bytes(), path.with_name("new.case")
    real = os.write

    def failing(descriptor, data):
        if len(data) > 60:
            real(descriptor, data[: len(data) // 2])
            raise OSError(28, "No space left on device")
        return real(descriptor, data)

    monkeypatch.setattr(os, "write", failing)
    assert main([part.format(case=path, new=new) for part in command]) in (1, 2)
    monkeypatch.undo()
    assert path.read_bytes() == before
    assert not new.exists()


@pytest.mark.slow
def test_next_keep_records_the_advice_once_and_plain_next_nothing(path, capsys):
    before = path.read_bytes()
    assert main(["next", str(path)]) == 0
    assert path.read_bytes() == before
    assert main(["next", str(path), "--keep", "--person", "ida"]) == 0
    advice = log.read(path).events[-1]
    assert (advice.kind, advice.person) == ("advice", "ida")
    assert advice.data["check"]
    kept = path.read_bytes()
    assert main(["next", str(path), "--keep"]) == 0
    assert path.read_bytes() == kept
    capsys.readouterr()
    assert main(["replay", str(path)]) == 0
    assert "reproduced: all 1 advice entries" in capsys.readouterr().out


def test_keep_wants_a_case(capsys):
    assert main(["next", "--layout", "opposed-4", "--complaint", "rough@left=yes", "--keep"]) == 2
    assert "--keep records in a case; name its file" in capsys.readouterr().err
