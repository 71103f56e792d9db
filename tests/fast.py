"""Which cases of a test stay in the `fast` run where each alone takes long: the rest only run in the whole."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def slow(value: Any) -> Any:
    """Return one case of a parametrized test, marked slow."""
    return pytest.param(value, marks=pytest.mark.slow)


def all_but_first_slow(values: Iterable[Any]) -> list[Any]:
    """Return the cases of a parametrized test, the first to run with the fast ones."""
    first, *rest = values
    return [first, *map(slow, rest)]


def every_nth_fast(n: int, values: Iterable[Any]) -> list[Any]:
    """Return the cases of a parametrized test, the first and every n-th after it to run with the fast ones."""
    return [value if i % n == 0 else slow(value) for i, value in enumerate(values)]
