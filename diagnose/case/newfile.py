"""A new file on disk: never over another one, and never half of it."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path


def write_new(path: Path, data: bytes) -> None:
    """Let a file appear under its name with all its bytes on disk, or not at all.

    Raises FileExistsError where the name is taken, OSError where it cannot be made. A kill on the way leaves at most a
    hidden file of another name, which blocks nothing.
    """
    if path.is_symlink() or path.exists():
        raise FileExistsError
    hidden = path.parent / f".new-{os.urandom(8).hex()}"
    descriptor = os.open(hidden, os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0), 0o644)
    try:
        try:
            _write_whole(descriptor, data)
        finally:
            os.close(descriptor)
        _take_name(hidden, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(hidden)
    _sync_folder(path.parent)


def _write_whole(descriptor: int, data: bytes) -> None:
    while data:
        data = data[os.write(descriptor, data) :]
    os.fsync(descriptor)


def _take_name(hidden: Path, path: Path) -> None:
    """Give a whole file its name; one that is there already is never replaced."""
    try:
        os.link(hidden, path)
    except FileExistsError:
        raise
    except OSError:
        # No second names on this file system: the name is claimed first, which a kill right here would leave empty.
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        os.replace(hidden, path)


def _sync_folder(folder: Path) -> None:
    """Bring the name itself to disk; not every system lets a folder be opened."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
