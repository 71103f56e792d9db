"""The end of a drill: what it was, the entry, and out."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.cli.drills.mending import first_seq
from diagnose.cli.drills.session import Session
from diagnose.report.said import cause_name
from diagnose.training.entry_fields import FIELDS
from diagnose.training.measures import OTHER
from diagnose.training.offered import found_labels

MOST = 9
LEAST = 0.005  # share from which a cause was ever likely enough to be on the list


def write_entry(s: Session, a: Assessment) -> bool:
    """Ask what it was and for the entry; return whether the drill ended."""
    named = _what_it_was(s, a)
    if named is None:
        return False
    fields = typed(s)
    title = ["THE ENTRY: a stranger must be able to tell what was found, what was done and by which data.", ""]
    for field in FIELDS:
        so_far = [f"{f.label}: {fields[f.id]}" for f in FIELDS if f.id in fields]
        empty = "leave as it stands" if field.id in fields else "leave empty"
        text = s.panel([*title, *so_far, "", f"{field.label}: {field.hint}"], f"{field.label} (Enter: {empty})")
        if text:
            fields[field.id] = text
            s.move("typed", field=field.id, text=text)
    s.move("entry", named=named, fields=fields)
    s.move("end")
    return True


def typed(s: Session) -> dict[str, str]:
    """Return the fields typed before, at an entry that was left: each was kept as it was typed, the newest of each counts."""
    return {str(e.data["field"]): str(e.data["text"]) for e in s.work.moves if e.data.get("move") == "typed"}


def _what_it_was(s: Session, a: Assessment) -> list[str] | None:
    """Return the located causes the trainee names, `other` among them where none of the list; None for a step back."""
    first = s.work.assessment(first_seq(s))
    best: dict[str, float] = {}
    for row in (*first.finding.causes, *a.finding.causes):
        if row.share >= LEAST:
            best[row.id] = max(best.get(row.id, 0.0), row.share)
    likely = sorted(best, key=lambda c: (-round(best[c], 9), c))[:MOST]
    rows = dict(sorted(((c, cause_name(s.network, c)) for c in likely), key=lambda row: row[1]))
    rows |= {"words": "another: say it in words", OTHER: "something else, which is none of the tool's causes"}
    chosen = s.picks(
        ["WHAT WAS IT? Name every cause you would still write down; one alone where you are sure.", ""],
        rows,
        "Numbers (Enter: back, not ended)",
    )
    if chosen is None:
        return None
    return [*(c for c in chosen if c != "words"), *(_by_words(s) if "words" in chosen else [])]


def _by_words(s: Session) -> list[str]:
    text = s.panel(["What was wrong, and where?"], "In your words (Enter: none)")
    found = found_labels(s.network.base, text, {c: cause_name(s.network, c) for c in s.network.causes}, MOST) if text else []
    if not found:
        return []
    return s.picks([f'"{text[:70]}" - which of these?', ""], {c: cause_name(s.network, c) for c in found}, "Numbers (Enter: none)") or []
