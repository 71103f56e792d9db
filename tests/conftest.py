"""What every run shares: which tests are `fast`, which start first, and how often Python looks for garbage."""

from __future__ import annotations

import contextlib
import gc
import getpass
import io
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest

from diagnose.__main__ import main

# Every process of a run shares what a rule base comes to; a file is named for what it holds, so an old one is never taken.
os.environ.setdefault("DIAGNOSE_CACHE", str(Path(tempfile.gettempdir()) / f"ignition-diagnose-tests-{getpass.getuser()}"))

# Networks and assessments stay in memory for the whole run: going through them all again and again costs a third of the time.
gc.set_threshold(100_000, 50, 100)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark everything `fast` that is not `slow`; let the slow ones start first, so that no core waits for them at the end.

    A test of a slow file can say of itself that it is fast.
    """
    for item in items:
        if item.get_closest_marker("slow") is None:
            item.add_marker("fast")
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)


@dataclass(frozen=True)
class Demo:
    """The demo as it ran: its case file (to read, not to write) and its screen."""

    path: Path
    screen: str


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """Return the demo, run once."""
    path = tmp_path_factory.mktemp("demo") / "demo.case"
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert main(["demo", "--save", str(path)]) == 0
    return Demo(path, out.getvalue())
