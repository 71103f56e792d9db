"""What goes out: into a pipe that closes, as wide as asked, in whole words, a screen at a time on a terminal."""

from __future__ import annotations

import io
import re

import pytest

from diagnose.__main__ import main
from diagnose.cli.pager import show_lines
from diagnose.loaded import rulebase

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


@pytest.mark.parametrize("columns", [60, 72])
@pytest.mark.parametrize("argv", PAGES, ids=lambda argv: argv[0])
def test_columns_is_obeyed_in_whole_words(monkeypatch, capsys, columns, argv):
    """A narrow screen holds the words of a wide one: none is broken in two."""
    found = {}
    for width in (120, columns):
        monkeypatch.setenv("COLUMNS", str(width))
        assert main(argv) == 0
        found[width] = capsys.readouterr().out.partition("examples:")[0]  # what is to be copied stays as a shell takes it
    assert max(len(line) for line in found[columns].splitlines()) <= columns
    assert set(found[columns].split()) - set(found[120].split()) == set()


class Terminal(io.StringIO):
    """A screen of 80 columns and 24 lines; nothing can be typed at it, so no pager is started."""

    def isatty(self):
        return True


def terminal(monkeypatch):
    """Return what is shown on a terminal from now on."""
    shown = Terminal()
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setattr("sys.stdout", shown)
    return shown


@pytest.mark.parametrize("what", ["symptoms", "causes", "checks", "limits", "sources"])
def test_a_list_is_a_table_on_a_terminal_and_a_line_an_entry_in_a_pipe(monkeypatch, what):
    """Every id stands at the start of a line of the table, every line fits."""
    screen = terminal(monkeypatch)
    assert main(["show", what]) == 0
    lines = screen.getvalue().splitlines()
    assert lines[0].startswith("ID ")
    assert max(map(len, lines)) <= 80
    starts = {line.split()[0] for line in lines[1:] if not line.startswith(" ")}
    entries = getattr(rulebase(), what)
    assert starts >= set(entries)


def test_log_and_list_speak_in_words_on_a_terminal(monkeypatch, tmp_path):
    screen, path = terminal(monkeypatch), tmp_path / "a.case"
    assert main(["open", str(path), "--layout", "opposed-4", "--nickname", "Blue [b]one[/b]", "--person", "anna"]) == 0
    assert main(["enter", str(path), "rough@left=yes", "--complaint"]) == 0
    assert main(["enter", str(path), "drop@left=normal"]) == 0
    assert main(["correct", str(path), "3", "--reason", "wrong side"]) == 0
    assert main(["log", str(path)]) == 0
    shown = " ".join(screen.getvalue().split())
    assert "left magneto rough at run-up; complained of" in shown
    assert "CORRECTED BELOW: " in shown
    assert "entry 3 withdrawn; because: wrong side" in shown
    assert "nickname: Blue [b]one[/b]" in shown
    assert max(map(len, screen.getvalue().splitlines())) <= 80
    screen.truncate(0)
    assert main(["list", str(tmp_path)]) == 0
    assert "AIRCRAFT" in screen.getvalue()
    assert "a.case" in screen.getvalue()


@pytest.mark.parametrize(("lines", "paged"), [(10, False), (23, False), (24, True), (200, True)])
def test_only_what_does_not_fit_goes_through_the_pager(monkeypatch, lines, paged):
    """The last line of a screen is the shell's."""
    screen = terminal(monkeypatch)
    sent: list[str] = []
    monkeypatch.setattr("pydoc.pager", sent.append)
    monkeypatch.setattr("sys.stdin", Terminal())
    show_lines([f"line {number}" for number in range(lines)])
    assert bool(sent) == paged
    assert "line 9" in (sent[0] if paged else screen.getvalue())


def test_a_pipe_never_meets_the_pager(monkeypatch, capsys):
    monkeypatch.setattr("pydoc.pager", lambda _: pytest.fail("paged"))
    show_lines(["x"] * 500)
    assert capsys.readouterr().out.count("x") == 500


def test_a_wide_and_tall_terminal_holds_more(monkeypatch, capsys):
    """120 by 50: more suspects and checks, longer bars, an outcome on the line of what it leads to; the first suspects stay the same."""
    found = {}
    for command in ("rank", "next"):
        for columns, lines in ((80, 24), (120, 50)):
            monkeypatch.setenv("COLUMNS", str(columns))
            monkeypatch.setenv("LINES", str(lines))
            assert main([command, *TROUBLE]) == 0
            found[command, columns] = capsys.readouterr().out.splitlines()
            assert max(len(line.rstrip()) for line in found[command, columns]) <= columns
    suspects = {c: [line for line in found["rank", c] if re.match(r" *\d+  \S", line)] for c in (80, 120)}
    assert (len(suspects[80]), len(suspects[120])) == (8, 30)
    assert [line[5:35].split("..")[0] for line in suspects[120][:8]] == [line[5:35].split("..")[0] for line in suspects[80]]
    assert not [line for line in found["next", 80] if re.match(r" +[<>\d.]+ %  .* -> ", line)]
    assert [line for line in found["next", 120] if re.match(r" +[<>\d.]+ %  .* -> ", line)]
