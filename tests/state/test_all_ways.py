"""A sample of the table of `python -m tests.state.ways`: in any order and by any way of saying it, one state and the same papers."""

from __future__ import annotations

import pytest

from tests.state.ways import HISTORIES, differs

SAMPLE = ("runs in OFF", "kick-back", "P-lead off, points gauged", "mag check in numbers", "two complaints")


def test_the_table_is_whole():
    """Thirty histories, ten of them dangerous, each told apart by its name."""
    assert len({h.name for h in HISTORIES}) == 30
    assert sum(h.danger for h in HISTORIES) == 10


@pytest.mark.parametrize("history", [h for h in HISTORIES if h.name in SAMPLE], ids=lambda h: h.name)
def test_state_of_every_order_and_way(tmp_path, history):
    """What the aircraft comes to and what it forbids."""
    assert differs(tmp_path, history, papers=()) == []


@pytest.mark.slow
@pytest.mark.parametrize("history", [h for h in HISTORIES if h.name in SAMPLE], ids=lambda h: h.name)
def test_papers_of_every_order_and_way(tmp_path, history):
    """Hand-over and draft."""
    assert differs(tmp_path, history) == []
