"""What goes out: into a pipe that closes, as wide as asked, in whole words, a screen at a time on a terminal."""

from __future__ import annotations

import io

import pytest

from diagnose.__main__ import main

TROUBLE = ["--layout", "opposed-4", "--complaint", "rough@left=yes"]


class Gone(io.StringIO):
    """A stream whose reader has gone, as `| head` leaves it."""

    def write(self, text):
        raise BrokenPipeError


@pytest.mark.parametrize("argv", [["rank", *TROUBLE], ["show", "causes"], ["explain", "e-gap"], ["why", *TROUBLE]])
def test_a_reader_that_has_gone_is_no_error(monkeypatch, argv):
    monkeypatch.setattr("sys.stdout", Gone())
    assert main(argv) == 0
