"""Ids of older rule bases in a case: what stands for them now, and one line on what does not.

The words of a case are never changed; this only decides what they count for under the rule base of now.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeVar

from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase

Read = TypeVar("Read")
_ID = re.compile(r"[a-z][a-z0-9_]*")


def read_as_now(text: str, entry: int, base: RuleBase, read: Callable[[str], Read], said: list[str]) -> Read | None:
    """Return what a text of an old entry reads as now; None where it counts for nothing any more, which is `said` in one line.

    `said` also gets a line where the text was carried over to another id.
    """
    try:
        return read(text)
    except BadInput as error:
        now = _renamed(text, base)
        why = base.replaced[_id_of(text)].label if _id_of(text) in base.replaced else str(error)
    if now is not None:
        try:
            found = read(now)
        except BadInput as error:
            why = f"{why}; {error}"
        else:
            said.append(f"entry {entry}: '{text}' is read as '{now}': {why}")
            return found
    said.append(f"entry {entry}: '{text}' counts for nothing under this rule base: {why}")
    return None


def _id_of(text: str) -> str:
    found = _ID.match(text)
    return found[0] if found else ""


def _renamed(text: str, base: RuleBase) -> str | None:
    """Return a text with its id, and its grades, as they are now; None where nothing stands for the id."""
    old = base.replaced.get(_id_of(text))
    if old is None or not old.by:
        return None
    subject, equals, grades = text.partition("=")
    told = "|".join(old.grades.get(g, g) for g in grades.split("|"))
    return f"{old.by}{subject[len(old.id) :]}{equals}{told}"
