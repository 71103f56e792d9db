"""What the documents say of the tool is what the tool does."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from diagnose.__main__ import main
from diagnose.cli.parser import make_parser

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def test_readme_names_only_commands_that_exist():
    """Every `diagnose COMMAND` of the README, and every command of the tool in it."""
    known = set(next(a.choices for a in make_parser("calc")._actions if a.choices))
    named = set(re.findall(r"diagnose ([a-z]+)", README))
    assert named <= known
    assert known <= named | {"demo"}


def commands_of_the_readme():
    """Return every `diagnose ...` line of the README's shell blocks, in order, as words."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("diagnose ")]
    return [shlex.split(line, comments=True)[1:] for line in lines]


def test_every_command_of_the_readme_runs_as_it_stands(tmp_path, monkeypatch, capsys):
    """In one folder, in the README's order; `chase` asks for a terminal, and a rule base of one's own is made first."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my-rules").mkdir()
    (tmp_path / "my-rules" / "mine.yaml").write_text("format: 1\nscale: {perhaps: {value: .3, numbers: estimate}}\n")
    codes = {}
    for words in commands_of_the_readme():
        codes[" ".join(words)] = main(words)
    odd = {told: code for told, code in codes.items() if code != 0}
    assert {told.split()[0]: code for told, code in odd.items()} == {"chase": 2}, (odd, capsys.readouterr().err)
    assert len([told for told in codes if told.startswith("calc ")]) >= 9


def test_what_the_readme_shows_of_plain_words_is_what_is_read(capsys):
    """The README's example of `tell`, word by word."""
    block = next(part for part in README.split("```") if part.strip().startswith("$ diagnose tell"))
    command, _, shown = block.strip().partition("\n")
    assert main(shlex.split(command)[2:]) == 0
    assert capsys.readouterr().out.splitlines() == shown.splitlines()


def test_the_papers_in_the_readme_are_those_of_the_demo(demo, capsys):
    """Line by line; entry numbers are those of the demo's case."""
    case = str(demo.path)
    shown = set()
    for paper in ("report", "record", "handover"):
        assert main([paper, case, "--format", "text"]) == 0
        shown |= {line.rstrip() for line in capsys.readouterr().out.splitlines()}
    part = README.split("## The three papers")[1].split("## Cautions")[0]
    lines = [line for block in part.split("```")[1::2] for line in block.splitlines() if line]
    assert len(lines) >= 14
    assert [line for line in lines if line not in shown] == []


def test_the_screen_in_the_readme_is_one_of_the_demo(demo):
    """Line by line, apart from the dots where something is left out."""
    shown = {line.rstrip() for line in demo.screen.splitlines()}
    screen = README.split("```\n")
    block = next(part for part in screen if part.startswith("NOT YET FOUND"))
    assert [line for line in block.splitlines() if line and line != "..." and line.rstrip() not in shown] == []
