"""What every run shares: which tests are `fast`, which start first, and how often Python looks for garbage."""

from __future__ import annotations

import gc

import pytest

# Networks and assessments stay in memory for the whole run: going through them all again and again costs a third of the time.
gc.set_threshold(100_000, 50, 100)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything `fast` that is not `slow`; let the slow ones start first, so that no core waits for them at the end."""
    for item in items:
        if item.get_closest_marker("slow") is None:
            item.add_marker("fast")
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)
