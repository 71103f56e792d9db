"""What an exchange showed is kept of the part that was taken from the place of its check, however it is given."""

from __future__ import annotations

import io
from pathlib import Path
from types import SimpleNamespace
from typing import cast
from unittest.mock import patch

import pytest

from diagnose import loaded
from diagnose.case import log
from diagnose.case.case import load
from diagnose.cli import checking
from diagnose.cli.talk import Talk
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.plan import Valued
from diagnose.report import screens
from diagnose.trouble.exchanges import Exchange, taken_to
from diagnose.trouble.looks import LookResults
from tests.review.test_library import SUSPECT, made, run

BASE = loaded.rulebase()
HOME, NOW = "3-bottom", "1-bottom"
SWAP = ("exchange", {"exchange": f"swap_plug@{HOME},{NOW}"})
RIGHT = ("result", {"result": f"fault_follows_plug.runup@{NOW}=yes"})


def looks(path: Path) -> tuple[LookResults, ...]:
    """Return what belief is worked out from: the same looks are the same belief."""
    return load(path, BASE).trouble.looks


def swapped(path: Path) -> Path:
    return made(path, SUSPECT, more=[SWAP])


@pytest.mark.parametrize(
    ("pairs", "place", "now"),
    [
        ("1t2t", "1-top", "2-top"),
        ("1t2t", "2-top", "1-top"),
        ("1t2t 2t3t", "1-top", "3-top"),  # went on: from the place its newest exchange found it in
        ("1t2t 2t3t", "2-top", "3-top"),  # the plug that stood in 2-top before the second exchange
        ("1t2t 2t1t", "1-top", "1-top"),  # put back: what was seen is of the plug that stands at home again
        ("1t2t 3t4t 1t2t", "2-top", "2-top"),
        ("3t4t", "1-top", "1-top"),
    ],
)
def test_where_the_part_taken_from_a_place_stands_followed_by_hand(pairs: str, place: str, now: str) -> None:
    done = [Exchange("swap_plug", f"{p[0]}-top", f"{p[2]}-top") for p in pairs.split()]
    assert taken_to(BASE, done, "swap_plug", place) == now


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ([f"fault_follows_plug@{HOME}=yes", "--check", f"swap_plug@{HOME}"], f"the plug from {HOME} now stands in {NOW}: kept as"),
        ([f"fault_follows_plug@{NOW}=yes", "--check", f"swap_plug@{HOME}"], ""),
        ([f"fault_follows_plug@{NOW}=yes"], f"taken for the plug that stands in {NOW} now, which is from {HOME}"),
    ],
)
def test_every_way_to_enter_it_is_the_right_reading(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], given: list[str], told: str
) -> None:
    right = made(tmp_path / "right.case", SUSPECT, more=[SWAP, RIGHT])
    path = swapped(tmp_path / "a.case")
    code, out, err = run(capsys, "enter", path, *given, "--person", "anna")
    assert code == 0
    assert told in out + err
    assert ("now stands" in out + err or "taken for" in out + err) == bool(told)
    assert looks(path) == looks(right)


def test_without_its_check_it_is_said_which_plug_it_was_taken_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`enter` and `tell` alike keep it as written; what they say gives the words for the other plug, and those are the right reading."""
    entered, told = swapped(tmp_path / "a.case"), swapped(tmp_path / "b.case")
    said = [
        " ".join("".join(run(capsys, "enter", entered, f"fault_follows_plug@{HOME}=yes", "--person", "anna")[1:]).split()),
        " ".join("".join(run(capsys, "tell", told, "fault followed the plug of 3 bottom", "--yes", "--person", "anna")[1:]).split()),
    ]
    for text in said:
        assert f"taken for the plug that stands in {HOME} now, which is from {NOW}" in text
        assert f"fault_follows_plug.runup@{NOW}=yes, or --check swap_plug@{HOME}" in text
    assert looks(entered) == looks(told)
    assert looks(entered)[-1].results[0].place == HOME


def test_a_result_corrected_is_read_as_it_would_have_been(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = swapped(tmp_path / "a.case")
    run(capsys, "enter", path, f"fault_follows_plug@{HOME}=no", "--check", f"swap_plug@{HOME}", "--person", "anna")
    seq = log.read(path).events[-1].seq
    assert run(capsys, "correct", path, str(seq), "--result", f"fault_follows_plug@{HOME}=yes", "--reason", "misread")[0] == 0
    assert looks(path) == looks(made(tmp_path / "right.case", SUSPECT, more=[SWAP, RIGHT]))


@pytest.mark.parametrize(("answers", "place"), [(("r", "yes"), NOW), (("n", "yes", ""), HOME)])
def test_the_interview_asks_which_exchange_is_meant(tmp_path: Path, answers: tuple[str, ...], place: str) -> None:
    """Of the one on record the plug that was taken away is meant; of a new one the plug that stands there now, before it is taken."""
    path, network = swapped(tmp_path / "a.case"), loaded.network_of((), "opposed-4")
    located = LocatedCheck(BASE.checks["swap_plug"], HOME, (f"fault_follows_plug.runup@{HOME}",))
    lines = io.TextIOWrapper(io.BytesIO("".join(f"{a}\n" for a in answers).encode()), encoding="utf-8")
    with patch.dict("os.environ", DIAGNOSE_ASK="1"), patch("sys.stdin", lines):
        assert checking._results_of(Talk(path, "anna", network, screens.console()), cast("Valued", SimpleNamespace(located=located)))
    result = next(e for e in reversed(log.read(path).events) if e.kind == "result")
    assert result.data["result"] == f"fault_follows_plug.runup@{place}=yes"
    assert result.data["check"] == f"swap_plug@{HOME}"
