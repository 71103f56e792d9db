"""The `diagnose` command."""

from __future__ import annotations

import sys
from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code: 0 ok, 1 problems, 2 bad input, 3 internal, 130 interrupt."""
    from diagnose.cli.app import run

    return run(sys.argv[1:] if argv is None else list(argv))


if __name__ == "__main__":
    sys.exit(main())
