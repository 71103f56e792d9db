"""One key at a time from a terminal, without Enter; where there is no terminal there are only lines.

`termios` and `msvcrt` come with Python on their systems, so that no further library is needed.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

ESCAPE = "\x1b"
WAIT = 0.1  # seconds: the rest of an arrow's code is there by then, over a slow line too; a finger is not
END = ("\x04", "\x1a")  # Ctrl-D, Ctrl-Z: the end of input
ENTER = ("\r", "\n")
CODES = re.compile(r"\x1b(?:\[[0-?]*[ -/]*[@-~]|O.|.)?")  # what keys without a letter send (ECMA-48)


def single() -> bool:
    """Return whether single keys can be had: both ends are a terminal, and nobody asked for lines (DIAGNOSE_LINES)."""
    return sys.stdin.isatty() and sys.stdout.isatty() and not os.environ.get("DIAGNOSE_LINES") and os.environ.get("TERM") != "dumb"


def forget() -> None:
    """Drop keys typed so far: pressed while nothing was asked, they were meant for no question that now appears."""
    if not single():
        return
    if sys.platform == "win32":
        import msvcrt

        while msvcrt.kbhit():
            msvcrt.getwch()
        return
    import termios

    termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)


def without_codes(text: str) -> str:
    """Return a line without the codes that keys such as arrows send: they are no part of what was meant."""
    return CODES.sub("", text)


@contextmanager
def unheard() -> Iterator[None]:
    """Neither show nor keep what is typed while this lasts: it was meant for no question. Does nothing where there is no terminal."""
    if not single() or sys.platform == "win32":
        yield
        forget()
        return
    with _raw(sys.stdin.fileno()):
        try:
            yield
        finally:
            forget()


def key() -> str:
    """Return the next key: a letter, "\\n" for Enter, "\\x1b" for Escape, empty for what has no letter, such as an arrow.

    Raises EOFError at the end of input and KeyboardInterrupt at Ctrl-C.
    """
    found = _windows() if sys.platform == "win32" else _posix()
    if found == "\x03":
        raise KeyboardInterrupt
    if found in END:
        raise EOFError
    return "\n" if found in ENTER else found


def _posix() -> str:
    import select

    handle = sys.stdin.fileno()
    with _raw(handle):
        return read_key(lambda: os.read(handle, 1), lambda: bool(select.select([handle], [], [], WAIT)[0]))


def read_key(read: Callable[[], bytes], more: Callable[[], bool]) -> str:
    """Return one key from single bytes: `read` gives the next one, `more` says whether one is waiting."""
    first = read()
    if not first:
        raise EOFError
    if first == b"\x1b":
        return _escaped(read, more)
    code = first
    while len(code) < 4 and code[0] >= 0xC0 and more():
        code += read()
        if _letter(code):
            break
    return _letter(code)


def _escaped(read: Callable[[], bytes], more: Callable[[], bool]) -> str:
    """Read the rest of a code that begins with Escape and return nothing; Escape where it stands alone."""
    if not more():
        return ESCAPE
    if read() not in (b"[", b"O"):
        return ""
    while more():
        if b"\x40" <= read() <= b"\x7e":
            break
    return ""


def _letter(code: bytes) -> str:
    try:
        return code.decode("utf-8")
    except UnicodeDecodeError:
        return ""


@contextmanager
def _raw(handle: int) -> Iterator[None]:
    """Take keys one by one and unseen for as long as this lasts; Ctrl-C keeps its meaning."""
    import termios
    import tty

    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle, termios.TCSADRAIN)
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)


def _windows() -> str:
    if sys.platform != "win32":
        return ""
    import msvcrt

    found = msvcrt.getwch()
    if found in ("\x00", "\xe0"):  # a key without a letter: its code follows
        msvcrt.getwch()
        return ""
    return found
