"""What the entry of an exercise is asked for, and what makes each part of it complete.

After what the law asks of an entry (14 CFR 43.9(a): description or data, date, person; the date and the person stand in the file) and
what a stranger needs to follow it (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

_DIGIT = re.compile(r"\d")


@dataclass(frozen=True)
class Field:
    """One part of an entry; `number`: it says little without one."""

    id: str
    label: str
    hint: str
    number: bool = False


FIELDS = (
    Field("found", "As found", "what was wrong, where, with the numbers read", number=True),
    Field("done", "Work done", "what was done, and how it was left"),
    Field("data", "Data used", "document, section and revision", number=True),
    Field("parts", "Parts", "number and serial off and on; 'none' where no part was changed"),
    Field("confirmed", "Confirming run", "conditions and readings after the work", number=True),
    Field("open", "Open items", "what is left to do or to watch; 'none' where nothing is"),
)


def lacking(fields: Mapping[str, str]) -> list[str]:
    """Return in words what an entry lacks."""
    told = []
    for field in FIELDS:
        text = fields.get(field.id, "").strip()
        if not text:
            told.append(f"{field.label}: nothing written ({field.hint})")
        elif field.number and not _DIGIT.search(text):
            told.append(f"{field.label}: no number in it ({field.hint})")
    return told
