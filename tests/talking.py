"""An interview in this process: lines in as bytes, what the screen and the error stream held out."""

from __future__ import annotations

import io
from pathlib import Path
from unittest.mock import patch

from diagnose.__main__ import main


def talk(case: Path, *answers: str, options: tuple[str, ...] = (), command: str = "chase") -> tuple[int, str, str]:
    """Run `chase`, or another command that asks, on these lines and return exit code, screen and errors; what follows the lines is the end of input."""
    lines = "".join(f"{a}\n" for a in answers).encode("utf-8", "surrogateescape")
    stdin = io.TextIOWrapper(io.BytesIO(lines), encoding="utf-8")
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    with patch.dict("os.environ", DIAGNOSE_ASK="1"), patch("sys.stdin", stdin), patch("sys.stdout", out), patch("sys.stderr", err):
        code = main([command, str(case), *options])
    said = []
    for stream in (out, err):
        stream.flush()
        stream.seek(0)
        said.append(stream.read())
    return code, said[0], said[1]
