"""What `--out` names: a text file that must not exist yet."""

from __future__ import annotations

from pathlib import Path

from diagnose.case.newfile import write_new
from diagnose.problems import BadInput
from diagnose.report.text import say, write


def put_out(out: str, text: str, then: str = "") -> None:
    """Write a text as the new file that `--out` names and say so (`then`: what to do with it), or print it where none is named."""
    if not out:
        write(text.rstrip("\n"))
        return
    write_out(Path(out), text)
    say(f"written: {out}{then}")


def write_out(path: Path, text: str) -> None:
    """Write a text as a new file, whole or not at all; BadInput where it exists or cannot be made."""
    try:
        write_new(path, text.encode("utf-8", "backslashreplace"))
    except FileExistsError:
        raise BadInput(f"'{path}' exists already; give another name in --out") from None
    except OSError as error:
        raise BadInput(f"'{path}' cannot be written: {error.strerror}; give the path of a new file you may write") from None
