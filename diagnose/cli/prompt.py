"""Questions on the terminal: a key or a line in, checked against what is allowed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from functools import partial
from time import monotonic
from typing import TYPE_CHECKING

from diagnose.case.log import MAX_TEXT
from diagnose.cli import keys
from diagnose.report import screens
from diagnose.report.glance import prompt_lines
from diagnose.report.text import clean, cut

if TYPE_CHECKING:
    from rich.console import Console

AT_ONCE = 1.0  # seconds: an Enter typed together with a wrong key (estimate)
NOTHING = {"u": "unknown", "c": "cannot", "b": "back"}
HELP = (
    "A number or letter before an answer gives it. Enter takes what the question says of it. u: not known. c: cannot be looked at here. "
    "b: one step back, the last answer is taken back and stays in the file. q: leave; everything answered is kept. ?: this."
)


class Leave(Exception):
    """The person wants to stop here."""


def ask(
    out: Console,
    question: str,
    allowed: Collection[str] | None,
    help_: str = HELP,
    line: bool = False,
    tell: Callable[[str], None] | None = None,
) -> str:
    """Return an answer; `allowed` None takes any text. `q` and end of input leave, `?` says what the keys do.

    On a terminal a key of `allowed` acts at once where each is one letter, or Enter (empty), unless a `line` with its Enter is wanted.
    `tell` shows what is said of an answer that is none, and the help; without it they are printed below.
    """
    tell = tell or partial(screens.line, out)
    at_once = not line and allowed is not None and keys.single() and all(len(a) <= 1 for a in allowed)
    while True:
        text = _key(out, question, allowed or ()) if at_once else _line(out, question)
        if len(text) > MAX_TEXT:
            tell(f"That is {len(text)} characters; {MAX_TEXT} is the most. Nothing was recorded; shorten it.")
        elif text.lower() in ("q", "quit"):
            raise Leave
        elif text == "?" and "?" not in (allowed or ()):
            tell(help_)
        elif allowed is None or text in allowed:
            return text
        elif text.lower() in allowed:
            return text.lower()
        else:
            tell(f"'{text[:40]}' is not one of: {_listed(allowed)}")


def _listed(allowed: Collection[str]) -> str:
    """Return what can be answered: letters, and of many numbers the first and the last."""
    numbers = sorted(int(a) for a in allowed if a.isdigit())
    told = [a or "Enter" for a in sorted(allowed) if not a.isdigit()]
    short = [f"{numbers[0]} to {numbers[-1]}"] if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1 else map(str, numbers)
    return ", ".join((*short, *told))


def _line(out: Console, question: str) -> str:
    """Return a line as typed; arrows move in it where the system edits lines."""
    prompt = "\n".join(prompt_lines(question, out.width)) + " "
    try:
        if keys.single():
            _edited()
            return keys.without_codes(input(prompt)).strip()
        out.print(prompt, end="", soft_wrap=True)
        return input().strip()
    except EOFError:
        out.print()
        raise Leave from None


def _edited() -> None:
    """Have arrows move in the line where the system can do so; an earlier answer is no answer to this question, so none is kept."""
    with suppress(ImportError, AttributeError):
        import readline

        readline.set_auto_history(False)


def _key(out: Console, question: str, allowed: Collection[str]) -> str:
    """Return one key that is allowed, q or ?; any other is none: it is named in place of the question's last line, and nothing scrolls.

    Enter at once after a key that is none belongs to that key: it is not taken for the answer that Enter gives.
    """
    _shown(out, prompt_lines(question, out.width))
    wanted = {*allowed, "q", "?"}
    wrong, since, acting = "", 0.0, " ".join(sorted(k or "Enter" for k in wanted))
    while True:
        try:
            pressed = keys.key()
        except EOFError:
            out.print()
            raise Leave from None
        found = _meant(pressed, wanted)
        if wrong and pressed == "\n" and "" in wanted and monotonic() - since < AT_ONCE:
            _instead(out, f"Enter right after {wrong} is not taken; these keys do something: {acting}")
            wrong = ""
        elif found is not None:
            out.print(clean(found), highlight=False)
            return found
        elif pressed:  # a key without a letter, such as an arrow, says nothing
            name = {"\n": "Enter", keys.ESCAPE: "Esc"}.get(pressed) or clean(pressed).strip() or "that key"
            wrong, since = "" if pressed == "\n" else name, monotonic()
            _instead(out, f"{name} does nothing here; these keys do: {acting}")


def _shown(out: Console, lines: Sequence[str]) -> None:
    out.print("\n".join(lines) + " ", end="", soft_wrap=True, highlight=False)
    out.file.flush()


def _instead(out: Console, text: str) -> None:
    """Show a line in place of the one the cursor stands on: on a full screen a further line would push the first one out."""
    from rich.control import Control
    from rich.segment import ControlType

    out.control(Control(ControlType.CARRIAGE_RETURN, (ControlType.ERASE_IN_LINE, 2)))
    _shown(out, [f"{cut(text, out.width - 4)} >"])


def _meant(pressed: str, wanted: Collection[str]) -> str | None:
    """Return the answer a key gives; None where it gives none, as an arrow never does."""
    if not pressed:
        return None
    found = "" if pressed == "\n" else "b" if pressed == keys.ESCAPE else pressed
    return next((k for k in (found, found.lower()) if k in wanted), None)


def _rows(words: Sequence[str], width: int) -> list[str]:
    """Return words side by side on as many lines as they need, none of them broken that fits on a line."""
    rows = [""]
    for word in words:
        joined = f"{rows[-1]}   {word}" if rows[-1] else word
        rows = [*rows[:-1], joined] if len(joined) <= width or not rows[-1] else [*rows, word]
    return rows


SAID = {"unknown": "unknown", "cannot": "cannot check"}


def ask_choice(
    out: Console, question: str, choices: Mapping[str, str], extra: Mapping[str, str] | None = None, nothing: Mapping[str, str] = NOTHING
) -> str:
    """Return one of the choices' ids, `unknown`, `cannot`, `back`, or a key of `extra`.

    A choice is given by its number or by y and n, as shown beside it, in a line also by its id; `nothing` are the keys that give no choice.
    """
    screens.line(out, question)
    numbers = {str(i): ident for i, ident in enumerate(choices, 1)}
    letters = {k[0]: k for k in ("yes", "no") if k in choices and k[0] not in (extra or {})}
    also = {ident: f"/{key}" for key, ident in letters.items()}
    shown = [f"{i}{also.get(ident, '')} {choices[ident]}" for i, ident in numbers.items()]
    shown += [f"{k} {SAID[v]}" for k, v in nothing.items() if v in SAID]
    shown += [f"{k} {v}" for k, v in (extra or {}).items()]
    for row in _rows(shown, out.width - 2):
        screens.line(out, row, "", 2)
    allowed = {**numbers, **letters, **nothing, **{k: k for k in extra or {}}}
    if not keys.single():
        allowed |= {**{ident: ident for ident in choices}, **{v: v for v in nothing.values()}}
    return allowed[ask(out, "", allowed.keys())]
