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


PAGES = [["show", "swap_plug"], ["rank", "--help"], ["show", "questions"], ["explain", "lead_fouling"], ["why", *TROUBLE]]


@pytest.mark.parametrize("columns", [50, 72])
@pytest.mark.parametrize("argv", PAGES, ids=lambda argv: argv[0])
def test_columns_is_obeyed_in_whole_words(monkeypatch, capsys, columns, argv):
    """A narrow screen holds the words of a wide one: none is broken in two."""
    found = {}
    for width in (120, columns):
        monkeypatch.setenv("COLUMNS", str(width))
        assert main(argv) == 0
        found[width] = capsys.readouterr().out
    assert max(len(line) for line in found[columns].splitlines()) <= columns
    assert set(found[columns].split()) - set(found[120].split()) == set()
