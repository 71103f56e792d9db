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
