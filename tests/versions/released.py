"""What was released last, held against what is there now: a change wants a higher version and a word in its list of changes."""

from __future__ import annotations

import re
from collections.abc import Callable
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


def versions() -> dict[str, str]:
    """Return the versions of the program and of the rule base as they are now."""
    return {"program": __version__, "rulebase": shipped_version()}


def current(folder: Path) -> dict[str, Version]:
    """Return what both are now; a case is made in `folder` on the way."""
    made = {"program": lambda: digests.program(folder), "rulebase": digests.rulebase}
    return {what: Version(version, made[what]()) for what, version in versions().items()}


def numbers(version: str) -> tuple[int, ...]:
    """Return a version as numbers that can be ordered."""
    return tuple(int(part) for part in version.split("."))


def entries(changes: str) -> dict[str, str]:
    """Return version -> what a list of changes says of it, in its order."""
    parts = HEADING.split(changes)[1:]
    return {version: text.strip() for version, text in zip(parts[::2], parts[1::2], strict=True)}


def lacking(what: str, now: str, before: Version, changes: str, digest: Callable[[], str]) -> str:
    """Return in one line what a change still lacks; empty where version and list of changes tell of it.

    What is there now is digested only where the version has not risen since the release: after that it may be anything.
    """
    told = entries(changes)
    if numbers(now) <= numbers(before.version) and digest() != before.digest:
        return f"the {what} is no longer what was released as {before.version}: raise {PLACES[what]}"
    if next(iter(told), "") != now or not told[now].startswith("- "):
        return f"{LISTS[what].name} of the {what} does not begin with `## {now}` and what changed, in lines that begin with `- `"
    return ""


def record(now: dict[str, Version], path: Path = RELEASED) -> None:
    """Write down versions as released."""
    lines = [f"{what}: {{version: {v.version}, digest: '{v.digest}'}}\n" for what, v in now.items()]
    path.write_text(HEAD + "".join(lines), encoding="utf-8")
