"""The three commands, and putting a paper on disk: never over a file, never half of one."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.cli.app import run
from diagnose.cli.output import write_out
from diagnose.problems import BadInput
from tests.report import samples

SCHEMAS = {"record": "entry_draft/1", "report": "worksheet/1", "handover": "handover/1"}
STOPS = {"before it is on disk": "os.fsync = lambda d: os._exit(9)", "before it has its name": "os.link = lambda a, b: os._exit(9)"}


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a short case."""
    return samples.bare(tmp_path_factory.mktemp("writing") / "bare.case")


@pytest.mark.slow
@pytest.mark.parametrize("command", SCHEMAS)
def test_each_command_writes_each_form(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str) -> None:
    assert run([command, str(case), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["schema"] == SCHEMAS[command]
    assert run([command, str(case)]) == 0
    assert capsys.readouterr().out.startswith("# ")
    for form, start in (("html", "<!DOCTYPE html>"), ("text", "")):
        out = tmp_path / f"{command}.{form}"
        assert run([command, str(case), "--format", form, "--out", str(out)]) == 0
        text = out.read_text("utf-8")
        assert text.startswith(start)
        assert text.endswith("\n")
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(f"{command}.{f}" for f in ("html", "text"))


def test_a_file_that_exists_is_left_as_it_was(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "sheet.html"
    out.write_text("mine")
    assert run(["handover", str(case), "--out", str(out)]) == 2
    assert "exists already; give another name in --out" in capsys.readouterr().err
    assert out.read_text() == "mine"
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(BadInput, match="exists already"):
        write_out(tmp_path / "link", "text")
    assert not (tmp_path / "nowhere").exists()


def test_a_file_that_appears_in_between_is_left_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "sheet.md"
    real = os.fsync

    def meanwhile(descriptor: int) -> None:
        out.write_text("theirs")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(BadInput, match="exists already"):
        write_out(out, "mine")
    assert out.read_text() == "theirs"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.md"]


def test_a_disc_without_links_gets_the_file_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise PermissionError(1, "no links here")

    monkeypatch.setattr(os, "link", none)
    write_out(tmp_path / "a", "text\n")
    assert (tmp_path / "a").read_text() == "text\n"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


@pytest.mark.parametrize("stop", STOPS)
def test_a_kill_leaves_nothing_under_the_name(tmp_path: Path, stop: str) -> None:
    out = tmp_path / "sheet.md"
    code = (
        "import os, sys; from pathlib import Path; from diagnose.cli.output import write_out; "
        f"{STOPS[stop]}; write_out(Path(sys.argv[1]), 'x' * 100_000)"
    )
    done = subprocess.run([sys.executable, "-c", code, str(out)], check=False)
    assert done.returncode == 9
    assert not out.exists()
    write_out(out, "whole\n")
    assert out.read_text() == "whole\n"


def test_a_folder_that_is_missing_is_one_clear_line(case: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["record", str(case), "--out", str(tmp_path / "no" / "a.md")]) == 2
    said = capsys.readouterr().err.strip()
    assert "cannot be written: No such file or directory; give the path of a new file you may write" in said
    assert "\n" not in said


def test_help_does_not_import_the_template_engine() -> None:
    code = "import sys; from diagnose.cli.app import run; run(['--help']); assert 'jinja2' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
