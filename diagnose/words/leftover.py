"""What of a clause that was read was not understood: words no phrase has, numbers that no grade came from."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from diagnose.words.amounts import measured
from diagnose.words.clauses import Clause, is_speed
from diagnose.words.scope import quiet
from diagnose.words.tokens import Token


def leftover(clause: Clause, used: Collection[str], counted: Collection[int]) -> Iterator[list[Token]]:
    """Yield runs of tokens that neither a phrase (`used`, names) nor a grade (`counted`, where its numbers begin) came from."""
    run: list[Token] = []
    for i, token in enumerate(clause.tokens):
        word = not quiet(token) and token.kind not in ("thing", "regime") and token.name not in used
        if word or _unread(clause, i, used, counted):
            run += [*_before(clause, i, run), token]
        elif run:
            yield run
            run = []
    if run:
        yield run


def _before(clause: Clause, at: int, run: list[Token]) -> list[Token]:
    """Return the small word before a number that a run begins with: "after 20 min"."""
    before = clause.tokens[at - 1 : at] if clause.tokens[at].kind == "number" and not run else ()
    return [t for t in before if t.kind in ("filler", "above", "below") and t.text.isalpha()]


def _unread(clause: Clause, at: int, used: Collection[str], counted: Collection[int]) -> bool:
    """Return whether a token is a number that neither a grade, nor a condition, nor a phrase came from."""
    token = clause.tokens[at]
    if token.kind != "number" or token.start in counted or is_speed(list(clause.tokens), at):
        return False
    if token not in measured(clause.tokens) or (at and clause.tokens[at - 1].kind == "all"):  # the 80 of "78/80", "all 4"
        return False
    return not any(name[0] in "<>" and name.endswith(token.unit or " ") for name in used)


def mostly_unread(clause: Clause, used: Collection[str]) -> bool:
    """Return whether fewer words of a clause were read than not: then what was read may be of something else, and is asked."""
    words = [t.name for t in clause.tokens if t.kind == "word"]
    read = sum(name in used for name in words)
    return len(words) - read > max(read, 1)
