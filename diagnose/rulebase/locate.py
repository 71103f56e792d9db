"""Where the shipped rule base and cases lie: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def shipped(name: str) -> Path:
    """Return the shipped folder `rulebase` or `cases`; the checkout's own wins over an installed copy."""
    beside = _PACKAGE.parent / name
    if beside.is_dir() and (_PACKAGE.parent / "pyproject.toml").is_file():
        return beside
    return _PACKAGE / "_data" / name


def shipped_version() -> str:
    """Return the version of the shipped rule base, read without loading it."""
    for path in sorted(shipped("rulebase").glob("*.yaml")):
        lines = path.read_text("utf-8").splitlines()
        if "rulebase:" in lines:
            after = lines[lines.index("rulebase:") :]
            return next((line.split(":", 1)[1].strip() for line in after if line.strip().startswith("version:")), "?")
    return "?"
