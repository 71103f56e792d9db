"""No writing command loses what it acknowledged, wherever it is killed; `python -m tests.case.kills` prints every command's counts."""

from __future__ import annotations

import os

import pytest

from diagnose.case import log
from tests.case import kills

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked with the rule base read")]

# Each of these works an assessment out before it is killed; `python -m tests.case.kills` kills every command at every call.
STRIDE = {"remedy": 15, "chase": 15, "picture --out": 9}


@pytest.mark.parametrize("name", list(kills.COMMANDS))
def test_a_kill_at_any_call_loses_nothing_and_leaves_no_half(name):
    """Before, inside and after each call that touches the disk."""
    found = kills.drive(name, stride=STRIDE.get(name, 3))
    assert found.wrong == []
    assert found.kills >= 3


def test_half_a_batch_is_set_aside_and_its_numbers_stay(tmp_path):
    """Two of three lines on disk count for nothing; the chain stays whole and the next entry follows them."""
    case = kills.prepared(tmp_path)
    first = len(log.read(case).events) + 1
    log.append_all(case, "ida", [("note", {"note": text}) for text in ("one", "two", "three")])
    lines = case.read_bytes().splitlines(keepends=True)
    case.write_bytes(b"".join(lines[:-1]))
    assert [e.kind for e in log.read(case).events[first - 1 :]] == ["recovered", "recovered"]
    log.append(case, "note", "ida", {"note": "after"})
    assert log.verify(case)[0] == []
    events = log.read(case).events
    assert [e.seq for e in events] == list(range(1, len(events) + 1))
    assert [e.data.get("note") for e in events[first - 1 :]] == ["half of a batch set aside"] * 2 + ["after"]
    log.append_all(case, "ida", [("note", {"note": text}) for text in ("four", "five")])
    assert [e.data["note"] for e in log.read(case).events[-2:]] == ["four", "five"]
