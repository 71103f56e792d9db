"""What must be there: a value that may be None by its type and must not be in a test."""

from __future__ import annotations

from typing import TypeVar

T = TypeVar("T")


def present(value: T | None) -> T:
    """Return the value; the test fails where there is none."""
    assert value is not None
    return value
