"""The guide leads where it says: each walk, read out of it, is carried out on a copy, and no line of it can be left out."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.guide.walks import TOP, CannotWalk, Walk, attempt, walks
from tests.house.floors import floors

GUIDE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
WALKS = walks(GUIDE)
NAMED = {"A cause", "A symptom", "A layout", "A check with its remedy", "A calc command", "A field of a paper"}
LEFT_OUT = [(name, n) for name in ("A cause", "A field of a paper") for n in Random(name).sample(WALKS[name].written, 1)]


def test_the_guide_is_short_and_holds_the_house_and_six_walks():
    assert len(GUIDE.splitlines()) <= 200
    assert len(floors(GUIDE)) > 15
    assert set(WALKS) == NAMED


@pytest.mark.parametrize("name", WALKS)
def test_a_walk_names_what_holds_it_to_account(name):
    """Tests of its own and the versions; for the rule base the loader and the audit too."""
    said = "\n".join(WALKS[name].commands)
    assert "python -m pytest tests/versions tests/" in said
    if any(line.startswith("=== rulebase/") for line in WALKS[name].lines):
        assert "diagnose check" in said
        assert "diagnose audit" in said


@pytest.mark.slow
@pytest.mark.parametrize("name", WALKS)
def test_a_walk_leads_to_green(tmp_path, name):
    assert attempt(WALKS[name], tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize(("name", "number"), LEFT_OUT)
def test_no_line_can_be_left_out(tmp_path, name, number):
    """A sample; `python -m tests.guide` leaves out each in turn."""
    assert attempt(WALKS[name].without(number), tmp_path), f"the walk passes without '{WALKS[name].lines[number]}'"


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (("a: 1",), "names no file"),
        (("=== README.md, beside `a`", "b"), "is no step"),
        (("=== nowhere.yaml, under `a:`", "b"), "there is no nowhere.yaml"),
        (("=== README.md, under `nothing like it`", "b"), "no line that begins with 'nothing like it'"),
    ],
)
def test_a_walk_that_cannot_be_carried_out_says_why(tmp_path, lines, told):
    with pytest.raises(CannotWalk, match=told):
        Walk("x", lines, ()).carry_out(_with_a_file(tmp_path))


def test_what_goes_where(tmp_path):
    """By hand: after the line below another, in place of a line, a file of its own, a version with its entry."""
    folder = _with_a_file(tmp_path)
    (folder / "c.md").write_text("# Changes\n\nNewest first.\n\n## 1.0\n- First.\n")
    (folder / "v.yaml").write_text("rulebase:\n  version: 1.0\n")
    lines = ("=== README.md, under `b:`, `x:`", "new", "=== README.md, in place of `y`", "z", "=== n.txt, new", "all")
    Walk("x", (*lines, "=== v.yaml and c.md, version 2.0: More."), ()).carry_out(folder)
    assert (folder / "README.md").read_text() == "x:\nb:\n  x:\nnew\nz\n"
    assert (folder / "n.txt").read_text() == "all\n"
    assert (folder / "v.yaml").read_text() == "rulebase:\n  version: 2.0\n"
    assert (folder / "c.md").read_text() == "# Changes\n\nNewest first.\n\n## 2.0\n- More.\n\n## 1.0\n- First.\n"


def _with_a_file(folder: Path) -> Path:
    (folder / "README.md").write_text("x:\nb:\n  x:\n  y\n")
    return folder
