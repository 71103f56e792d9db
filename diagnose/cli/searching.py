"""`list`: the case files of folders, searched and shown newest first."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from diagnose import loaded
from diagnose.assessment.finding import rank
from diagnose.belief.model import Contradiction
from diagnose.case.not_used import counted, not_used
from diagnose.cli.pager import on_screen, show_lines
from diagnose.problems import BadInput, did_you_mean
from diagnose.report.screens import percent
from diagnose.report.text import clean, say, size, wrapped, write, write_json
from diagnose.review import shelf
from diagnose.review.shelf import Shelved
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.evidence import prepare


def list_(args: argparse.Namespace) -> int:
    """List case files; one that cannot be read is a note and never stops the list."""
    overlay = tuple(args.rulebase)
    base = loaded.rulebase(overlay)
    if args.cause and args.cause.partition("@")[0] not in base.causes:
        raise BadInput(f"cause '{args.cause}' is not known; {did_you_mean(args.cause.partition('@')[0], base.causes)}")
    rows, notes = [], []
    for found in shelf.shelf(shelf.case_files([Path(d) for d in args.dirs]), base):
        if isinstance(found, str):
            notes.append(found)
        elif _wanted(found, args):
            rows.append(found)
    if args.cause:
        rows = [led for led in (_led(row, base, overlay, args.cause) for row in rows) if led is not None]
    if args.left:
        return _left_over(rows, args.json)
    rows.sort(key=lambda row: (row.newest, str(row.case.path)), reverse=True)
    if args.json:
        document = {"schema": "list/1", "cases": [_document(row) for row in rows], "notes": notes, "again": _again(rows)}
        write_json(document)
        return 0
    if on_screen() and rows:
        show_lines(_table(rows, base))
    else:
        write(wrapped([clean(line) for line in _lines(rows, base)]))
    for note in notes:
        say(f"note: {' '.join(note.split())}")
    return 0


def _left_over(rows: Sequence[Shelved], as_json: bool) -> int:
    """Print what was told and not understood, counted over cases: where the next word of the vocabulary is missed."""
    found = counted(not_used(row.case.events) for row in rows)
    if as_json:
        write_json({"schema": "list-left/1", "cases": len(rows), "left": [{"words": words, "cases": n} for words, n in found]})
        return 0
    write(wrapped([f"{len(rows)} cases; not understood: {len(found)}", *(f'{n:>4}  "{words}"' for words, n in found)]))
    return 0


def _wanted(row: Shelved, args: argparse.Namespace) -> bool:
    """Return whether a case passes what its entries alone decide; the cheap tests stand first."""
    return (
        (not args.nickname or shelf.same_name(args.nickname, row.nickname))
        and (not args.open or bool(row.unfinished) or row.state != "confirmed")
        and (not args.serial or shelf.has_serial(row.case, args.serial))
        and (not args.text or shelf.has_words(row.case, args.text))
    )


def _led(row: Shelved, base: RuleBase, overlay: Sequence[str], wanted: str) -> Shelved | None:
    """Return the case with its first cause worked out now, where a repair ended the wanted cause or it ranks first."""
    network = loaded.network_of(tuple(overlay), row.case.layout.id)
    prepared = prepare(network, row.case.trouble.looks)
    try:
        first = rank(network, prepared)[1][0] if any(prepared.seen) else None
    except Contradiction:
        first = None
    if first is not None:
        row = replace(row, cause=first.id, share=first.share)
    leads = row.cause == wanted or row.cause.partition("@")[0] == wanted
    return row if leads or shelf.repaired_cause(row, base, wanted) else None


def _document(row: Shelved) -> dict[str, Any]:
    return {
        "file": str(row.case.path),
        "nickname": row.nickname,
        "layout": row.case.layout.id,
        "opened": row.case.events[0].time,
        "newest": row.newest,
        "entries": len(row.case.events),
        "state": row.state,
        "cause": row.cause or None,
        "responsible": row.share,
        "open": [{"entry": number, "text": text} for number, text in row.open_items.items()],
        "still_open": [o.text for o in row.unfinished],
        "repairs": [{"entry": e.seq, "time": e.time, "remedy": str(e.data["remedy"])} for e in row.repairs],
        "warnings": list(row.case.warnings),
    }


def _again(rows: Sequence[Shelved]) -> list[dict[str, Any]]:
    """Return each remedy done at one place of one aircraft in more than one of these cases: the fault came back."""
    found: dict[tuple[str, str], list[str]] = {}
    for row in rows:
        for remedy in sorted({str(e.data["remedy"]) for e in row.repairs}):
            key = (" ".join(row.nickname.split()).casefold(), remedy)
            if key[0]:
                found.setdefault(key, []).append(str(row.case.path))
    return [{"nickname": name, "remedy": remedy, "files": files} for (name, remedy), files in found.items() if len(files) > 1]


def _table(rows: Sequence[Shelved], base: RuleBase) -> list[str]:
    """Return the cases as a table, under it what came back."""
    from diagnose.report.tables import table_lines

    one_folder = len({row.case.path.parent for row in rows}) == 1
    cells = []
    for row in rows:
        file = row.case.path.name if one_folder else f"{row.case.path.parent.name}/{row.case.path.name}"
        cells.append((row.newest[:10], " ".join(row.nickname.split()) or "-", row.state, file, "; ".join(_stands(row, base)) or "-"))
    return [*table_lines(("newest", "aircraft", "state", "file", "how it stands"), cells, size()[0]), *_back_again(rows)]


def _stands(row: Shelved, base: RuleBase) -> list[str]:
    """Return what is known of a case in words: its first cause, repairs, open items."""
    found = []
    if row.cause:
        ident, _, place = row.cause.partition("@")
        label = base.causes[ident].label if ident in base.causes else ident
        share = f", {percent(row.share)}" if row.share is not None else ""
        found.append(f"first cause: {label}, {place}{share}")
    found += [f"repaired {e.time[:10]}: {e.data['remedy']}" for e in row.repairs]
    found += [f"open item {number}: {' '.join(text.split())}" for number, text in row.open_items.items()]
    more = [o.text for o in row.unfinished if o.entry not in row.open_items]
    if more:
        found.append(f"open: {more[0]}{f', and {len(more) - 1} more' if len(more) > 1 else ''}")
    return found


def _back_again(rows: Sequence[Shelved]) -> list[str]:
    return [f"back again: {a['remedy']} on {a['nickname']} in {', '.join(a['files'])}" for a in _again(rows)]


def _lines(rows: Sequence[Shelved], base: RuleBase) -> list[str]:
    found = [f"{len(rows)} case{'' if len(rows) == 1 else 's'}, newest first" if rows else "no case found"]
    for row in rows:
        found.append(f"{row.newest[:10]}  {' '.join(row.nickname.split()) or '(no nickname)'}  [{row.state}]  {row.case.path}")
        found += [f"    {text}" for text in _stands(row, base)]
    return [*found, *_back_again(rows)]
