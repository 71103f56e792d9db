"""Broken rule base files, one trouble each: the code, line and column, and a hint that mends it.

Every file of tests/bad starts with `# expect: LINE:COLUMN code ...` and may say `# says: words of the problem`.
Lines and columns are what an editor shows, counted from 1, worked out by hand from the file.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from tests.fast import every_nth_fast

BAD = sorted((Path(__file__).parents[1] / "bad").glob("*.yaml"))


def expected(path):
    """Return [(line, column, code)] and the texts that the problems must contain."""
    head = path.read_bytes().splitlines()[:2]
    first = head[0].decode()
    assert first.startswith("# expect: "), path
    places = [(int(line), int(column), code) for line, column, code in re.findall(r"(\d+):(\d+) ([a-z-]+)", first)]
    return sorted(places), [line.decode().removeprefix("# says: ") for line in head[1:] if line.startswith(b"# says: ")]


@pytest.mark.parametrize("path", every_nth_fast(4, BAD), ids=lambda p: p.stem)
def test_a_broken_file_gives_its_problems_and_no_other(path, tmp_path):
    """Exactly the problems expected, each in the broken file, each with a way to mend it on one line."""
    shutil.copy(path, tmp_path)
    base, problems = read_rulebase([shipped("rulebase"), tmp_path])
    places, texts = expected(path)
    assert sorted((p.line, p.column, p.code) for p in problems) == places
    assert {Path(p.file).name for p in problems} == {path.name}
    assert problems == sorted(problems)
    for problem in problems:
        assert problem.fix
        assert "\n" not in str(problem)
    for text in texts:
        assert any(text in str(p) for p in problems), [str(p) for p in problems]
    assert len(base.causes) >= 45  # what could be read is still there


def test_the_corpus_has_not_been_lost():
    """The parametrised test reads files by pattern; it must not pass by finding none."""
    assert len(BAD) >= 60
