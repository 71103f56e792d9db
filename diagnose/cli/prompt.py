"""Questions on the terminal: one line in, checked against what is allowed."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from textwrap import fill
from typing import TYPE_CHECKING

from diagnose.case.log import MAX_TEXT
from diagnose.report import screens
from diagnose.report.text import clean

if TYPE_CHECKING:
    from rich.console import Console

NOTHING = {"u": "unknown", "c": "cannot", "b": "back"}


class Leave(Exception):
    """The person wants to stop here."""


def ask(out: Console, question: str, allowed: Collection[str] | None) -> str:
    """Return a line; `allowed` None takes any text. `q` and end of input leave."""
    while True:
        out.print(fill(f"{clean(question)} >", out.width - 1) + " ", end="", soft_wrap=True)
        try:
            text = input().strip()
        except EOFError:
            out.print()
            raise Leave from None
        if len(text) > MAX_TEXT:
            screens.line(out, f"That is {len(text)} characters; {MAX_TEXT} is the most. Nothing was recorded; shorten it.")
            continue
        if text.lower() in ("q", "quit"):
            raise Leave
        if allowed is None or text in allowed:
            return text
        if text.lower() in allowed:
            return text.lower()
        screens.line(out, f"'{text[:40]}' is not one of: " + ", ".join(a or "Enter" for a in sorted(allowed)))


def ask_choice(out: Console, question: str, choices: Mapping[str, str], extra: Mapping[str, str] | None = None) -> str:
    """Return one of the choices' ids, `unknown`, `cannot`, `back`, or a key of `extra`.

    A choice is given by its number or its id.
    """
    screens.line(out, question)
    numbers = {str(i): ident for i, ident in enumerate(choices, 1)}
    shown = [f"{i} {choices[ident]}" for i, ident in numbers.items()]
    shown += ["u unknown", "c cannot check", *(f"{k} {v}" for k, v in (extra or {}).items())]
    screens.line(out, "   ".join(shown), "", 2)
    allowed = {
        **numbers,
        **{ident: ident for ident in choices},
        **NOTHING,
        **{v: v for v in NOTHING.values()},
        **{k: k for k in extra or {}},
    }
    return allowed[ask(out, "", allowed.keys())]
