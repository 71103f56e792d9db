"""`python -m tests.guide [WALK ...]`: carry out each walk of the guide, then again with each of its lines left out in turn."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.guide.walks import TOP, Walk, attempt, walks


def main(names: list[str]) -> int:
    """Print what became of every walk; exit code 1 where one does not lead to green or a line can be left out."""
    wrong = 0
    for name, walk in walks((TOP / "DEVELOPERS.md").read_text(encoding="utf-8")).items():
        if names and name not in names:
            continue
        told = _fresh(walk)
        print(f"{name}: {told or 'green'}", flush=True)
        wrong += bool(told)
        for number in walk.written:
            told = _fresh(walk.without(number))
            print(f"  without '{walk.lines[number]}': {told.splitlines()[0] if told else 'PASSES'}", flush=True)
            wrong += not told
    return int(wrong > 0)


def _fresh(walk: Walk) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return attempt(walk, Path(folder))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
