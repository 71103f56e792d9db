"""Progress: silent where piped and for what is quick, with the time left on a terminal; what is done is not changed by it."""

from __future__ import annotations

import io

import pytest

from diagnose.cli.progress import Work, followed, left


class Terminal(io.StringIO):
    """A stderr that is a terminal."""

    def isatty(self):
        return True


def clock(monkeypatch, each):
    """Let every look at the clock be `each` seconds after the one before."""
    ticks = iter(range(10_000))
    monkeypatch.setattr("diagnose.cli.progress.time.monotonic", lambda: next(ticks) * each)


@pytest.mark.parametrize(("terminal", "each", "shown"), [(True, 3.0, True), (True, 0.01, False), (False, 3.0, False)])
def test_only_long_work_on_a_terminal_is_shown(monkeypatch, terminal, each, shown):
    err = Terminal() if terminal else io.StringIO()
    monkeypatch.setattr("sys.stderr", err)
    monkeypatch.setenv("COLUMNS", "80")
    clock(monkeypatch, each)
    assert list(followed("going through", "abcd", 4)) == list("abcd")
    assert ("going through" in err.getvalue()) == shown


def test_the_time_left_follows_from_the_time_taken(monkeypatch):
    """Three of four parts in 9 s: 3 s left."""
    err = Terminal()
    monkeypatch.setattr("sys.stderr", err)
    monkeypatch.setenv("COLUMNS", "80")
    clock(monkeypatch, 9.0)
    work = Work("parts")
    work.done(3, 4)
    assert work.shown is not None
    assert work.shown.tasks[0].fields["left"] == "about 3 s left"
    work.close()
    assert "3/4" in err.getvalue()


@pytest.mark.parametrize(("seconds", "words"), [(0.2, "nearly done"), (42, "about 42 s left"), (600, "about 10 min left")])
def test_a_time_left_in_words(seconds, words):
    assert left(seconds) == words


def test_work_given_up_takes_its_bar_away(monkeypatch):
    monkeypatch.setattr("sys.stderr", Terminal())
    clock(monkeypatch, 5.0)
    stopped = []
    monkeypatch.setattr(Work, "close", lambda work: stopped.append(work))

    def broken():
        yield 1
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        list(followed("parts", broken(), 3))
    assert len(stopped) == 1
