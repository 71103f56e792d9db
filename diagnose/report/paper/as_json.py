"""A paper as a JSON document. Every value is one text; an old value in it reads `[struck out: ...]`."""

from __future__ import annotations

from typing import Any

from diagnose.report.paper.model import Blanks, Block, Bullets, Pairs, Paper, Para, Section, Table, plain


def paper_document(paper: Paper) -> dict[str, Any]:
    """Return the document: schema, kind, title, about, lead, sections (key, title, blocks, parts), foot."""
    return {
        "schema": paper.schema,
        "kind": paper.kind,
        "title": paper.title,
        "about": paper.about,
        "lead": [_block(b) for b in paper.lead],
        "sections": [_section(s) for s in paper.sections],
        "foot": [plain(line) for line in paper.foot],
    }


def _section(section: Section) -> dict[str, Any]:
    return {
        "key": section.key,
        "title": section.title,
        "blocks": [_block(b) for b in section.blocks],
        "parts": [_section(p) for p in section.parts],
    }


def _block(block: Block) -> dict[str, Any]:
    """Return one block; `block` says which of paragraph, values, table, list, blanks or picture it is."""
    if isinstance(block, Para):
        return {"block": "paragraph", "tone": block.tone, "text": plain(block.words)}
    if isinstance(block, Pairs):
        return {"block": "values", "values": [{"key": r.key, "label": r.label, "value": plain(r.words)} for r in block.rows]}
    if isinstance(block, Table):
        keys = [key for key, _ in block.columns]
        rows = [dict(zip(keys, map(plain, row), strict=True)) for row in block.rows]
        return {"block": "table", "key": block.key, "caption": block.caption, "columns": dict(block.columns), "rows": rows}
    if isinstance(block, Bullets):
        return {"block": "list", "items": [plain(i) for i in block.items]}
    if isinstance(block, Blanks):
        return {"block": "blanks", "blanks": [{"label": label, "hint": hint} for label, hint in block.rows]}
    return {"block": "picture", "caption": block.caption}
