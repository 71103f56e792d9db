"""Putting a paper on disk: never over another file, and never half of one."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from diagnose.problems import BadInput


def write_new(path: Path, text: str) -> None:
    """Write a text file that must not exist yet; a kill at any moment leaves either all of it or nothing under its name.

    The text goes to a file beside it first, reaches the disk, and is then linked under its own name, which
    fails where that name is taken (on a disc without links a kill between two calls can leave the name empty).
    Raises BadInput where the file exists or cannot be made.
    """
    beside = ""
    try:
        if path.is_symlink() or path.exists():
            raise FileExistsError
        descriptor, beside = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
        with os.fdopen(descriptor, "w", encoding="utf-8", errors="backslashreplace", newline="\n") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(beside, 0o644)
        _name(beside, path)
    except FileExistsError:
        raise BadInput(f"'{path}' exists already; give another name in --out") from None
    except OSError as error:
        raise BadInput(f"'{path}' cannot be written: {error.strerror}; give the path of a new file you may write") from None
    finally:
        if beside:
            with contextlib.suppress(OSError):
                os.unlink(beside)


def _name(beside: str, path: Path) -> None:
    """Give a finished file its name, never in place of another."""
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:
        # No links here (some sticks): claim the name, then move the finished file onto the claim.
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        os.replace(beside, path)
