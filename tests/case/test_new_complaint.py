"""A complaint told after the first was seen to be gone opens the case again, on the screen and on the papers."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case.case import load
from diagnose.trouble.complaint import complaint_gone


@pytest.mark.slow
@pytest.mark.parametrize("new", ["kick_back@engine=yes", "drop@right=excessive"])
def test_a_new_complaint_after_confirmed_takes_the_state_back(tmp_path, capsys, new):
    path = str(tmp_path / "a.case")
    for command in (
        ["open", path, "--layout", "opposed-4"],
        ["enter", path, "rough@left=yes", "--complaint"],
        ["remedy", path, "clean_plug@3-bottom"],
        ["enter", path, "rough@left=no"],
    ):
        assert main(command) == 0
    assert complaint_gone(load(tmp_path / "a.case", loaded.rulebase()).trouble.looks)
    assert main(["enter", path, new, "--complaint"]) == 0
    assert not complaint_gone(load(tmp_path / "a.case", loaded.rulebase()).trouble.looks)
    for paper in ("rank", "handover"):
        capsys.readouterr()
        assert main([paper, path]) == 0
        told = capsys.readouterr().out
        assert "COMPLAINT GONE" not in told
        assert "Write the maintenance entry" not in told
