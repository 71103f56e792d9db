"""The console that screens are printed on."""

from __future__ import annotations

from rich.console import Console


class Terminal(Console):
    """A console that leaves a reader who has gone (`| head`) to the program: rich itself would end it with exit code 1."""

    def on_broken_pipe(self) -> None:
        """Pass on the BrokenPipeError that rich is handling when it calls this."""
        raise
