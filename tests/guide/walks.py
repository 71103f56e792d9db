"""The walks of the contributor guide, read out of it and carried out on a copy of the project.

A walk is a heading of the third level, a block of text with what goes into which file, and a block of commands.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnose import __version__
from diagnose.rulebase.locate import shipped_version
from tests.versions.released import RELEASED, Version, record

TOP = Path(__file__).parents[2]
PARTS = ("diagnose", "rulebase", "cases", "tests", "DEVELOPERS.md", "README.md", "pyproject.toml")
STEP = re.compile(r"=== (\S+), (new|under|in place of)((?: `[^`]+`,?)*)")
RISE = re.compile(r"=== (\S+) and (\S+), version (\S+): (.+)")
WALK = re.compile(r"(?ms)^### ([^\n]+)\n.*?^```text\n(.*?)^```")
THEN = "=== then"
VERSION = re.compile(r'(?m)^(  version: |__version__ = ")[\d.]+')


class CannotWalk(Exception):
    """A walk says something that cannot be done; the text says what."""


@dataclass(frozen=True)
class Walk:
    """What goes into which file, line by line, and the commands that must then pass."""

    name: str
    lines: tuple[str, ...]
    commands: tuple[str, ...]

    @property
    def written(self) -> list[int]:
        """Return the numbers of the lines that are not empty."""
        return [n for n, line in enumerate(self.lines) if line.strip()]

    def without(self, number: int) -> Walk:
        """Return the walk with one line left out, counted from 0 over what goes into files."""
        return Walk(self.name, (*self.lines[:number], *self.lines[number + 1 :]), self.commands)

    def carry_out(self, folder: Path) -> None:
        """Put what it says into the files of a copy; CannotWalk where a place is not there."""
        for head, text in _steps(self):
            rise, step = RISE.fullmatch(head), STEP.fullmatch(head)
            if rise and not text:
                _raise_version(self, folder, rise)
            elif step:
                _put(self, folder, step, text)
            else:
                raise CannotWalk(f"{self.name}: '{head}' is no step")


def walks(guide: str) -> dict[str, Walk]:
    """Return the walks of a guide by name."""
    found = {}
    for name, text in WALK.findall(guide):
        lines, _, commands = text.partition(f"{THEN}\n")
        found[name] = Walk(name, tuple(lines.splitlines()), tuple(commands.splitlines()))
    return found


def copy_of_the_project(to: Path) -> Path:
    """Copy what the walks and their commands need; what is there counts as released, so that a walk has to raise its version."""
    for part in PARTS:
        if (TOP / part).is_dir():
            shutil.copytree(TOP / part, to / part)  # with what is compiled: it is only younger where a walk writes
        else:
            to.mkdir(parents=True, exist_ok=True)
            shutil.copy(TOP / part, to / part)
    record({"program": Version(__version__, "-"), "rulebase": Version(shipped_version(), "-")}, to / RELEASED.relative_to(TOP))
    return to


def _steps(walk: Walk) -> Iterator[tuple[str, str]]:
    heads = [n for n, line in enumerate(walk.lines) if line.startswith("===")]
    if not heads or heads[0] != 0:
        raise CannotWalk(f"{walk.name}: the first line names no file")
    for head, end in zip(heads, [*heads[1:], len(walk.lines)], strict=True):
        yield walk.lines[head], "".join(f"{line}\n" for line in walk.lines[head + 1 : end])


def _raise_version(walk: Walk, folder: Path, rise: re.Match[str]) -> None:
    """Raise the version in the first file, and put its entry on top of the list of changes in the second."""
    file, changes, version, told = rise.groups()
    path = folder / file
    path.write_text(VERSION.sub(rf"\g<1>{version}", path.read_text(encoding="utf-8"), count=1), encoding="utf-8")
    _put_after(folder / changes, ("Newest first",), f"\n## {version}\n- {told}\n", walk.name)


def _put(walk: Walk, folder: Path, step: re.Match[str], text: str) -> None:
    path, anchors = folder / step[1], tuple(re.findall(r"`([^`]+)`", step[3]))
    if step[2] == "new":
        path.write_text(text, encoding="utf-8")
    else:
        _put_after(path, anchors, text, walk.name, instead=step[2] == "in place of")


def _put_after(path: Path, anchors: tuple[str, ...], text: str, name: str, instead: bool = False) -> None:
    if not path.is_file():
        raise CannotWalk(f"{name}: there is no {path.name}")
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    at = _find(lines, anchors, f"{name}: {path.name}")
    lines[at : at + 1] = [text] if instead else [lines[at], text]
    path.write_text("".join(lines), encoding="utf-8")


def _find(lines: list[str], anchors: tuple[str, ...], where: str) -> int:
    """Return the number of the line that the last anchor begins, each looked for after the one before."""
    at = -1
    for anchor in anchors:
        at = next((n for n in range(at + 1, len(lines)) if lines[n].strip().startswith(anchor)), -1)
        if at < 0:
            raise CannotWalk(f"{where} has no line that begins with '{anchor}'")
    return at


def attempt(walk: Walk, folder: Path) -> str:
    """Carry out a walk on a fresh copy and return what went wrong first; empty where all its commands pass."""
    copy_of_the_project(folder)
    try:
        walk.carry_out(folder)
    except CannotWalk as error:
        return str(error)
    return next(filter(None, (_failure(command, folder) for command in walk.commands)), "")


def _failure(command: str, folder: Path) -> str:
    """Return a command that does not pass in a copy, with the end of what it said; empty where it passes."""
    program, *words = shlex.split(command, comments=True)
    start = ["-m", "diagnose"] if program == "diagnose" else []
    own = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST", "PYTHONDONT", "DIAGNOSE"))}
    env = {**own, "PYTHONPATH": str(folder), "DIAGNOSE_CACHE": "off", "PYTEST_ADDOPTS": "-p no:cacheprovider -n 0"}
    done = subprocess.run([sys.executable, *start, *words], cwd=folder, env=env, capture_output=True, text=True, check=False, timeout=600)
    return f"{command}\n{(done.stdout + done.stderr)[-3000:]}" if done.returncode else ""
