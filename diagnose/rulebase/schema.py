"""The JSON schema of a rule base file, for editors: from the same declarations that the loader reads by."""

from __future__ import annotations

from typing import Any

from diagnose.rulebase.kinds import ID, Json, list_of, map_of, shape
from diagnose.rulebase.records import REGIMES
from diagnose.rulebase.sections import NUMBERS, SECTIONS, Section


def schema() -> dict[str, Any]:
    """Return the schema (JSON Schema, draft 7)."""
    sections = {name: {**_section(name, section), "description": section.help} for name, section in SECTIONS.items()}
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "A file of a rule base, format 1",
        "type": "object",
        "properties": {
            "format": {"description": "The format the file follows; the first key of every file.", "const": 1},
            NUMBERS.name: {"description": NUMBERS.help, **NUMBERS.kind.schema},
            **sections,
        },
        "required": ["format"],
        "additionalProperties": False,
    }


def _section(name: str, section: Section) -> Json:
    if name == "regimes":
        return map_of(list_of({"enum": list(REGIMES)}), ID)
    entry = shape((*section.fields, NUMBERS))
    if section.rest is not None:
        entry = {**entry, "additionalProperties": section.rest.schema}
    if not section.named:
        return entry
    return map_of(entry, "^[a-z][a-z0-9_-]*$" if name == "sources" else ID)
