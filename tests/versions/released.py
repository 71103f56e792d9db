"""What was released last, held against what is there now: a change wants a higher version and a word in its list of changes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import yaml

from diagnose import __version__
from diagnose.rulebase.locate import shipped_version
from tests.versions import digests

TOP = Path(__file__).parents[2]
RELEASED = Path(__file__).parent / "released.yaml"
HEAD = "# The newest versions that were released, and what they stood for (digests.py). `python -m tests.versions` records a release.\n"
LISTS = {"program": TOP / "diagnose" / "CHANGES.md", "rulebase": TOP / "rulebase" / "CHANGES.md"}
PLACES = {"program": "`__version__` in diagnose/__init__.py", "rulebase": "`version` in rulebase/common.yaml"}
HEADING = re.compile(r"(?m)^## (\S+)$")


@dataclass(frozen=True)
class Version:
    """A version and the digest of what it stands for."""

    version: str
    digest: str


def released() -> dict[str, Version]:
    """Return the newest released version of the program and of the rule base."""
    written = yaml.safe_load(RELEASED.read_text(encoding="utf-8"))
    return {what: Version(**fields) for what, fields in written.items()}


def current_rulebase() -> Version:
    """Return what the rule base is now."""
    return Version(shipped_version(), digests.rulebase())


def current_program(folder: Path) -> Version:
    """Return what the program is now; a case is made in `folder` on the way."""
    return Version(__version__, digests.program(folder))


def current(folder: Path) -> dict[str, Version]:
    """Return both; a case is made in `folder` on the way."""
    return {"program": current_program(folder), "rulebase": current_rulebase()}


def numbers(version: str) -> tuple[int, ...]:
    """Return a version as numbers that can be ordered."""
    return tuple(int(part) for part in version.split("."))


def entries(changes: str) -> dict[str, str]:
    """Return version -> what a list of changes says of it, in its order."""
    parts = HEADING.split(changes)[1:]
    return {version: text.strip() for version, text in zip(parts[::2], parts[1::2], strict=True)}


def lacking(what: str, now: Version, before: Version, changes: str) -> str:
    """Return in one line what a change still lacks; empty where version and list of changes tell of it."""
    told = entries(changes)
    if now.digest != before.digest and numbers(now.version) <= numbers(before.version):
        return f"the {what} is no longer what was released as {before.version}: raise {PLACES[what]}"
    if next(iter(told), "") != now.version or not told[now.version].startswith("- "):
        return f"{LISTS[what].name} of the {what} does not begin with `## {now.version}` and what changed, in lines that begin with `- `"
    return ""


def record(now: dict[str, Version], path: Path = RELEASED) -> None:
    """Write down versions as released."""
    lines = [f"{what}: {{version: {v.version}, digest: '{v.digest}'}}\n" for what, v in now.items()]
    path.write_text(HEAD + "".join(lines), encoding="utf-8")
