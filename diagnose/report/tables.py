"""Tables for a terminal, as lines: heads in capitals, cells folded between words, the last column takes what is left."""

from __future__ import annotations

import io
from collections.abc import Sequence

from diagnose.report.text import clean


def table_lines(heads: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """Return a table as lines of at most `width` columns; it needs no colour and no line to be read."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    for number, head in enumerate(heads):
        made.add_column(Text(head.upper()), ratio=1 if number == len(heads) - 1 else None, overflow="fold")
    for row in rows:
        made.add_row(*(Text(clean(cell)) for cell in row))
    out = Console(file=io.StringIO(), width=width, color_system=None, force_terminal=False, legacy_windows=False)
    out.print(made)
    return [line.rstrip() for line in str(out.file.getvalue()).splitlines()]  # type: ignore[attr-defined]
