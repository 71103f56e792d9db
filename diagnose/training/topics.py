"""The principles that a check or a cause rests on, by the names under which they can be read up: the one place that asks for them."""

from __future__ import annotations

from diagnose.rulebase.records import Cause, Check


def topics_of(entry: Check | Cause) -> tuple[str, ...]:
    """Return the topics an entry names; none where this rule base names none."""
    return tuple(getattr(entry, "topics", ()))
