"""What `--out` names: a text file that must not exist yet."""

from __future__ import annotations

from pathlib import Path

from diagnose.case.newfile import write_new
from diagnose.problems import BadInput


def write_out(path: Path, text: str) -> None:
    """Write a text as a new file, whole or not at all; BadInput where it exists or cannot be made."""
    try:
        write_new(path, text.encode("utf-8", "backslashreplace"))
    except FileExistsError:
        raise BadInput(f"'{path}' exists already; give another name in --out") from None
    except OSError as error:
        raise BadInput(f"'{path}' cannot be written: {error.strerror}; give the path of a new file you may write") from None
