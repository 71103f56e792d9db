"""`python -m tests.versions`: record the versions of program and rule base as released, with what they stand for."""

from __future__ import annotations

import sys
import tempfile
from functools import partial
from pathlib import Path

from tests.versions.released import LISTS, current, lacking, record, released


def main() -> int:
    """Write released.yaml; exit code 1 with a line each where a version or a list of changes lacks something."""
    with tempfile.TemporaryDirectory() as folder:
        now = current(Path(folder))
    before = released()
    changes = {what: LISTS[what].read_text(encoding="utf-8") for what in LISTS}
    said = [lacking(what, v.version, before[what], changes[what], partial(getattr, v, "digest")) for what, v in now.items()]
    told = [line for line in said if line]
    if told:
        print("\n".join(told), file=sys.stderr)
        return 1
    record(now)
    print(", ".join(f"{what} {v.version}" for what, v in now.items()), "recorded as released")
    return 0


if __name__ == "__main__":
    sys.exit(main())
