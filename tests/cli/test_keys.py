"""Single keys: what a terminal sends for them, and fields judged as they are typed."""

from __future__ import annotations

import argparse
import os
import pty
import re
import select
import subprocess
import sys
import time

import pytest

from diagnose import loaded
from diagnose.calc.static_run import FieldConditions, StaticRun, static_run
from diagnose.calc.units import Quantity
from diagnose.cli import keys, prompt
from diagnose.cli.asking import TOOL
from diagnose.cli.calculations import ALL
from diagnose.cli.calculations.questions import QUESTIONS, Question
from diagnose.cli.judging import KINDS, doubt, judged, rise
from diagnose.cli.keys import ESCAPE, read_key
from diagnose.problems import BadInput

LAYOUT = loaded.rulebase().layouts["opposed-4"]


def key(sent: bytes) -> tuple[str, bytes]:
    """Return the key read from some bytes, and what of them is left."""
    left = bytearray(sent)

    def read() -> bytes:
        return bytes([left.pop(0)]) if left else b""

    return read_key(read, lambda: bool(left)), bytes(left)


@pytest.mark.parametrize(
    ("sent", "expected"),
    [
        (b"d", "d"),
        (b"\r", "\r"),
        ("é".encode(), "é"),
        (b"\x1b", ESCAPE),
        (b"\x1b[A", ""),  # up: ECMA-48 cursor key
        (b"\x1bOB", ""),  # down, in application mode
        (b"\x1b[1;5C", ""),  # right with Ctrl
        (b"\x1b[3~", ""),  # delete
        (b"\x1bx", ""),  # Alt and a letter
        (b"\xff", ""),
    ],
)
def test_a_key_is_a_letter_or_nothing(sent, expected):
    """The codes of keys without a letter are read to their end: nothing of them is left to be taken for an answer."""
    assert key(sent) == (expected, b"")


def test_the_end_of_input_is_no_key():
    """A closed terminal ends the interview."""
    with pytest.raises(EOFError):
        key(b"")


@pytest.mark.parametrize("allowed", [{""}, {"", "b"}, {"d", "b"}])
def test_an_arrow_is_no_answer_and_no_enter(allowed):
    """Enter is an answer where it is allowed, Escape a step back where there is one; what has no letter is never one."""
    assert prompt._meant("", allowed) is None
    assert prompt._meant("\n", allowed) == ("" if "" in allowed else None)
    assert prompt._meant(ESCAPE, allowed) == ("b" if "b" in allowed else None)
    assert prompt._meant("D", allowed) == ("d" if "d" in allowed else None)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("lead\x1b[Aed", "leaded"), ("\x1bOB3\x1b[1;5C", "3"), ("\x1b", ""), ("0.018 in\x1b[3~", "0.018 in"), ("3-bottom", "3-bottom")],
)
def test_the_codes_of_arrows_are_no_part_of_a_line(typed, meant):
    """Where the system does not edit lines they come through (ECMA-48)."""
    assert keys.without_codes(typed) == meant


def at(option: str, name: str = "mag-check") -> Question:
    """Return a question of a calculation."""
    return next(q for q in QUESTIONS[name] if q.option == option)


@pytest.mark.parametrize(
    ("option", "text", "kept"),
    [("--left-run", "r", "rough"), ("--left-run", "Smooth", "smooth"), ("--left", "DIES", "dies"), ("--left", "1560", "1560")],
)
def test_a_field_is_kept_as_it_is_meant(option, text, kept):
    """The first letters of a choice are enough."""
    assert judged(at(option), text, LAYOUT) == kept


@pytest.mark.parametrize(
    ("option", "text", "told"),
    [
        ("--left-run", "1800", "none of: smooth, rough"),
        ("--left-change", "x", "none of: fast, slow, both"),
        ("--left", "156", "give a value from 300 to 5000 rpm"),
        ("--both", "eighteen", "not a number"),
        ("--drop-limit", "0", "give a value from 1 to 1000 rpm"),
        ("--plug", "9-bottom", "not on this engine"),
        ("--gap", "0.017", "no unit given for a length"),
        ("--gap", "0.17 in", "outside 0.005 to 0.08 in"),
        ("--resistance", "1.8", "no unit given for a resistance"),
        ("--cylinder", "7", "not on this engine"),
        ("--reading", "85/80", "cylinder"),
        ("--specified", "250", "cannot be right"),
        ("--test-voltage", "10 V in", "not a unit of voltage"),
        ("--egt-left", "1300,hot,1310,1290", "No. 2: 'hot' is not a number"),
        ("--calibration", "next year", "is no date"),
        ("--temperature", "900 C", "outside -50 to 55 degC"),
        ("--ambient", "900 C", "outside -50 to 55 degC"),
        ("--elevation", "45000 ft", "outside -500 to 6000 m"),
        ("--maker-limit", "600", "outside 20 to 100 psi"),
        ("--rpm", "240", "give a value from 800 to 5000 rpm"),
        ("--e-gap", "45", "give a value from 1 to 30 magnet deg"),
        ("--test-voltage", "100 kV", "outside 0.001 to 20 kV"),
        ("--insulation", "-5 Mohm", "outside 0 to"),
    ],
)
def test_a_field_that_cannot_be_is_refused_as_it_is_typed(option, text, told):
    """Not ten questions later."""
    found = next(q for q in (*(q for asked in QUESTIONS.values() for q in asked), *TOOL) if q.option == option)
    with pytest.raises(BadInput, match=told):
        judged(found, text, LAYOUT)


def test_every_kind_of_answer_is_one_that_is_judged():
    """No question names a kind that nothing reads, and no kind is left without a question."""
    asked = {q.kind for questions in (*QUESTIONS.values(), TOOL) for q in questions} - {""}
    assert asked == set(KINDS)
    for questions in QUESTIONS.values():
        options = {q.option for q in questions}
        assert all({q.of, q.instead} - {""} <= options for q in questions)


def test_a_side_above_both_is_a_rise_beyond_the_tachometer_s_own_error():
    """25 rpm either way is the tachometer's (the band of `calc mag-check`); a side that died rises by nothing."""
    left, given = at("--left"), {"--both": "1800"}
    assert rise(left, "1840", given) == 40
    assert rise(left, "1820", given) == 0
    assert rise(left, "dies", given) == 0
    assert rise(at("--both-after"), "1900", given) == 0, "BOTH against itself drifts; it does not rise"


def test_a_list_has_a_number_for_every_cylinder():
    """Three numbers for four cylinders are refused at once."""
    question = at("--egt-left", "egt")
    assert judged(question, "1300,1310,-,1290", LAYOUT)
    with pytest.raises(BadInput, match="3 numbers for 4 cylinders"):
        judged(question, "1300,1310,1290", LAYOUT)


def test_a_drop_that_nobody_meant_is_asked_about():
    """From 2000 to 356 is 1644 rpm: asked; 240 is not; a rise of 100 is."""
    left, given = at("--left"), {"--both": "2000"}
    assert "1644 rpm" in doubt(left, "356", given)
    assert doubt(left, "1760", given) == ""
    assert "rise of 100 rpm" in doubt(left, "2100", given)
    assert doubt(left, "dies", given) == ""
    assert doubt(left, "356", {}) == ""


def test_every_number_has_a_span_as_typed_and_in_the_calculation():
    """A field without one takes any slip of the pen; one number left out must not let another through unjudged."""
    numbers = {"rpm", "degrees", "temperature", "height", "resistance", "voltage", "length", "pressure"}
    asked = [q for questions in QUESTIONS.values() for q in questions if q.kind in numbers]
    assert len(asked) > 20
    assert [q.option for q in asked if q.span is None] == []
    hot = FieldConditions(temperature=Quantity(900, "degC", "temperature"))
    with pytest.raises(BadInput, match="air temperature"):
        static_run(StaticRun(2300, None, None, hot, 25))
    with pytest.raises(BadInput, match="-60"):
        judged(at("--egt-left", "egt"), "1300,1310,9999,1290", LAYOUT, {"--unit": "F"})


@pytest.mark.parametrize(
    ("option", "name", "text", "asked"),
    [
        ("--both", "mag-check", "700", True),
        ("--both", "mag-check", "1800", False),
        ("--drop-limit", "mag-check", "400", True),
        ("--drop-limit", "mag-check", "150", False),
        ("--rpm", "static", "1200", True),
        ("--rpm", "static", "2350", False),
        ("--calibration", "", "2926-11-30", True),
        ("--calibration", "", "2027-03-31", False),
        ("--calibration", "", "none needed", False),
    ],
)
def test_what_is_out_of_the_usual_is_asked_about(option, name, text, asked):
    """It can be so, and is seldom meant (all estimates)."""
    question = at(option, name) if name else next(q for q in TOOL if q.option == option)
    assert bool(doubt(question, text, {})) == asked


def test_every_choice_offered_is_one_the_calculation_takes():
    """The questions and the options of a calculation say the same; a choice may be part of a free text, never more."""
    for name, questions in QUESTIONS.items():
        parser = argparse.ArgumentParser()
        ALL[name].add(parser)
        options = {o: a for a in parser._actions for o in a.option_strings}
        for question in questions:
            taken = options[question.option].choices
            if taken:
                assert set(question.choices) <= set(taken), question
                assert question.choices or question.place, question


@pytest.mark.slow
def test_on_a_terminal_a_key_acts_at_once_and_arrows_do_nothing(tmp_path):
    """Through a pseudo-terminal of 80 by 24: no Enter after a key; the step fills 24 lines and no more."""
    case = tmp_path / "a.case"
    base = [sys.executable, "-m", "diagnose"]
    subprocess.run([*base, "open", str(case), "--layout", "opposed-4"], check=True, capture_output=True)
    subprocess.run([*base, "enter", str(case), "rough@left=yes", "--complaint"], check=True, capture_output=True)
    main, terminal = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k != "DIAGNOSE_ASK"}
    env |= {"COLUMNS": "80", "LINES": "24", "TERM": "xterm", "NO_COLOR": "1"}
    with subprocess.Popen([*base, "chase", str(case)], stdin=terminal, stdout=terminal, stderr=terminal, env=env) as run:
        os.close(terminal)
        try:
            until(main, "holds > ")
            os.write(main, b"\x1b[A\x1b[B\x1b[3~x")  # keys without a letter say nothing; a letter that is no key is told which are
            told = until(main, "Enter q > ")
            assert told.endswith("x does nothing here; these keys do: ? Enter q > ")
            assert "\n" not in told, "in place of the line it stands on: a full screen does not scroll"
            os.write(main, b"\r")  # Enter after a key that is none belongs to it
            assert until(main, "q > ").endswith("Enter right after x is not taken; these keys do something: ? Enter q > ")
            os.write(main, b"\rqq")  # what is typed ahead of an answer that takes a while is no answer to what comes
            rows = until(main, "q > ").split("\n")[-24:]
            assert rows[0].startswith("NOT YET FOUND")
            assert any(row.startswith("DO NEXT") for row in rows)
            os.write(main, b"h")
            assert "Source: " in until(main, "the step > ")
            os.write(main, b"\r")
            assert until(main, "q > ").split("\n")[-24:] == rows
            os.write(main, b"q")
            assert "Left." in until(main, "nothing more: to its end")
            assert run.wait(timeout=30) == 0
        finally:
            run.kill()
            os.close(main)


def test_keys_pressed_while_nothing_is_asked_are_dropped(monkeypatch):
    """Typed at a pseudo-terminal while the program works; the next key read is the one pressed afterwards."""
    ours, theirs = pty.openpty()
    with os.fdopen(theirs, "r") as terminal:
        monkeypatch.setattr("sys.stdin", terminal)
        monkeypatch.setattr(keys, "single", lambda: True)
        os.write(ours, b"dd\r")
        assert select.select([theirs], [], [], 5)[0]
        keys.forget()
        os.write(ours, b"w")
        assert keys.key() == "w"
    os.close(ours)


def until(main: int, ends: str, seconds: float = 60) -> str:
    """Return what a terminal shows until it ends so, or for so many seconds, without its escapes."""
    sent, seen, limit = "", "", time.monotonic() + seconds
    while not seen.endswith(ends) and time.monotonic() < limit:
        if select.select([main], [], [], min(1, seconds))[0]:
            try:
                sent += os.read(main, 4096).decode().replace("\r", "")
                seen = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]|working\.\.\. *", "", sent)
            except OSError:  # the other end is closed
                break
    return seen
