"""The engines the arithmetic is tried on: the layouts of the shipped rule base, which it reads itself."""

from __future__ import annotations

from diagnose import loaded
from diagnose.places import Layout

LAYOUTS = tuple(loaded.rulebase().layouts)


def engine(name: str) -> Layout:
    """Return a shipped layout."""
    return loaded.rulebase().layouts[name]
