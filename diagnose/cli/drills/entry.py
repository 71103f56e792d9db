"""The end of a drill: what it was, the entry, and out. What is typed is kept as it is typed; one step back goes to the question before."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from diagnose.assessment.assess import Assessment
from diagnose.cli.drills.mending import first_seq
from diagnose.cli.drills.session import Back, Session, walk
from diagnose.report.said import cause_name
from diagnose.training.entry_fields import FIELDS, Field
from diagnose.training.measures import OTHER
from diagnose.training.offered import found_labels, nearest_labels

MOST, MOST_NEAR = 9, 6
LEAST = 0.005  # share from which a cause was ever likely enough to be on the list
TITLE = "WHAT WAS IT? Name every cause you would still write down; one alone where you are sure."
NAMED = "named"  # field under which the causes named are kept before the entry is whole


def write_entry(s: Session, a: Assessment) -> bool:
    """Ask what it was and for the entry; return whether the drill ended."""
    questions: list[Callable[[], bool | None]] = [partial(_what_it_was, s, a), *(partial(_field, s, field) for field in FIELDS)]
    if not walk(questions):
        return False
    s.move("entry", named=named(s) or [], fields={f: text for f, text in typed(s).items() if f != NAMED})
    s.move("end")
    return True


def _field(s: Session, field: Field) -> None:
    """Ask for one part of the entry. Raises Back."""
    fields = typed(s)
    title = ["THE ENTRY: a stranger must be able to tell what was found, what was done and by which data.", ""]
    so_far = [f"{f.label}: {fields[f.id]}" for f in FIELDS if f.id in fields]
    empty = "leave as it stands" if field.id in fields else "leave empty"
    text = s.panel([*title, *so_far, "", f"{field.label}: {field.hint}"], f"{field.label} (Enter: {empty}, b back)")
    if text.lower() == "b":
        raise Back
    if text:
        s.move("typed", field=field.id, text=text)


def typed(s: Session) -> dict[str, str]:
    """Return what was typed before, at an entry that was left: each was kept as it was typed, the newest of each counts."""
    return {str(e.data["field"]): str(e.data["text"]) for e in s.work.moves if e.data.get("move") == "typed"}


def named(s: Session) -> list[str] | None:
    """Return the causes named last, at an entry that was left too; None where none were."""
    text = typed(s).get(NAMED)
    return None if text is None else text.split()


def _what_it_was(s: Session, a: Assessment) -> None:
    """Have the located causes named, `other` among them where none of the list; they are kept at once. Raises Back."""
    before = named(s)
    rows = _listed(s, a, before or [])
    shown = {c: f"{'* ' if before and c in before else '  ' if before else ''}{words}" for c, words in rows.items()}
    title = [TITLE, *(["* as you named it"] if before is not None else []), ""]
    enter = "Enter: back, not ended" if before is None else "Enter: as you named it, b back"
    while True:
        chosen = s.picks(title, shown, f"Numbers ({enter})", before)
        if chosen is None:
            raise Back
        more = _by_words(s) if "words" in chosen else []
        if more is not None:
            break
    found = list(dict.fromkeys((*(c for c in chosen if c != "words"), *more)))
    if found != before:
        s.move("typed", field=NAMED, text=" ".join(found))


def _listed(s: Session, a: Assessment, before: list[str]) -> dict[str, str]:
    """Return the causes to choose from, by name: those likely at the squawk or now, and those named before."""
    first = s.work.assessment(first_seq(s))
    best: dict[str, float] = {}
    for row in (*first.finding.causes, *a.finding.causes):
        if row.share >= LEAST:
            best[row.id] = max(best.get(row.id, 0.0), row.share)
    likely = sorted(best, key=lambda c: (-round(best[c], 9), c))[:MOST]
    also = [c for c in before if c in s.network.causes and c not in likely]
    rows = dict(sorted(((c, cause_name(s.network, c)) for c in (*likely, *also)), key=lambda row: row[1]))
    return rows | {"words": "another: say it in words", OTHER: "something else, which is none of the tool's causes"}


def _by_words(s: Session) -> list[str] | None:
    """Find causes by the trainee's own words; where none is like them, the nearest are offered. None for a step back."""
    every, said = {c: cause_name(s.network, c) for c in s.network.causes}, ""
    while True:
        text = s.panel(["What was wrong, and where?"], "In your words (Enter: back)", said=said)
        if text.lower() in ("", "b"):
            return None
        found = found_labels(s.network.base, text, every, MOST)
        near = found or nearest_labels(s.network.base, text, every, MOST_NEAR)
        said = "" if near else f"No cause is like '{text[:40]}'. Say the part, what is wrong with it, and where."
        title = f'"{text[:70]}" - which of these?' if found else f"No cause is called '{text[:40]}'. Did you mean one of these?"
        chosen = s.picks([title, ""], {c: every[c] for c in near}, "Numbers; 0 none of these (Enter: say it again)") if near else None
        if chosen:
            return chosen
