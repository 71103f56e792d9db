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

TOP = Path(__file__).parents[2]
PARTS = ("diagnose", "rulebase", "cases", "tests", "DEVELOPERS.md", "README.md", "pyproject.toml")
STEP = re.compile(r"=== (\S+?),? (new|under|in place of)((?: \"[^\"]+\",?)*)")
WALK = re.compile(r"(?ms)^### (.+?)\n(.*?)^```text\n(.*?)^```\n+```sh\n(.*?)^```")


class CannotWalk(Exception):
    """A walk says something that cannot be done; the text says what."""


@dataclass(frozen=True)
class Walk:
    """What goes into which file, line by line, and the commands that must then pass."""

    name: str
    lines: tuple[str, ...]
    commands: tuple[str, ...]

    def without(self, number: int) -> Walk:
        """Return the walk with one line left out, counted from 0 over what goes into files."""
        return Walk(self.name, (*self.lines[:number], *self.lines[number + 1 :]), self.commands)


def walks(guide: str) -> dict[str, Walk]:
    """Return the walks of a guide by name."""
    found = WALK.findall(guide)
    return {name: Walk(name, tuple(text.splitlines()), tuple(commands.splitlines())) for name, _, text, commands in found}


def copy_of_the_project(to: Path) -> Path:
    """Copy what the walks and their commands need."""
    for part in PARTS:
        if (TOP / part).is_dir():
            shutil.copytree(TOP / part, to / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            to.mkdir(parents=True, exist_ok=True)
            shutil.copy(TOP / part, to / part)
    return to


def carry_out(walk: Walk, folder: Path) -> None:
    """Put what a walk says into the files of a copy; CannotWalk where a place is not there."""
    for (file, where, anchors), text in _steps(walk):
        path = folder / file
        if where == "new":
            path.write_text(text, encoding="utf-8")
            continue
        if not path.is_file():
            raise CannotWalk(f"{walk.name}: there is no {file}")
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        at = _find(lines, anchors, f"{walk.name}: {file}")
        lines[at : at + 1] = [text] if where == "in place of" else [lines[at], text]
        path.write_text("".join(lines), encoding="utf-8")


def _steps(walk: Walk) -> Iterator[tuple[tuple[str, str, tuple[str, ...]], str]]:
    heads = [n for n, line in enumerate(walk.lines) if line.startswith("===")]
    if not heads or heads[0] != 0:
        raise CannotWalk(f"{walk.name}: the first line names no file")
    for head, end in zip(heads, [*heads[1:], len(walk.lines)], strict=True):
        found = STEP.fullmatch(walk.lines[head])
        if not found:
            raise CannotWalk(f"{walk.name}: '{walk.lines[head]}' is no step")
        anchors = tuple(re.findall(r'"([^"]+)"', found[3]))
        yield (found[1], found[2], anchors), "".join(f"{line}\n" for line in walk.lines[head + 1 : end])


def _find(lines: list[str], anchors: tuple[str, ...], where: str) -> int:
    """Return the number of the line that the last anchor begins, each looked for after the one before."""
    at = -1
    for anchor in anchors:
        at = next((n for n in range(at + 1, len(lines)) if lines[n].strip().startswith(anchor)), -1)
        if at < 0:
            raise CannotWalk(f"{where} has no line that begins with '{anchor}'")
    return at


def failing(walk: Walk, folder: Path) -> str:
    """Return the first command of a walk that does not pass in a copy, with the end of what it said; empty where all pass."""
    for command in walk.commands:
        program, *words = shlex.split(command, comments=True)
        start = ["-m", "diagnose"] if program == "diagnose" else []
        env = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1", "PYTEST_ADDOPTS": "-p no:cacheprovider -n 0"}
        env = {name: value for name, value in env.items() if not name.startswith("PYTEST_XDIST")}
        done = subprocess.run([sys.executable, *start, *words], cwd=folder, env=env, capture_output=True, text=True, check=False, timeout=300)
        if done.returncode:
            return f"{command}\n{(done.stdout + done.stderr)[-3000:]}"
    return ""
