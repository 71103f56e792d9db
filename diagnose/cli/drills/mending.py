"""What changes the engine in a drill: parts changed and mended, the confirming run, what is put right; and what still fits."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.cli.drills.before import Cautions, Sure
from diagnose.cli.drills.checking import held, in_words, safe, stopped
from diagnose.cli.drills.session import Session, state_line, walk, words_of
from diagnose.plan.access import RUNNING
from diagnose.plan.rules import off_check_may_be_run
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import before_turning
from diagnose.report.said import alarms
from diagnose.training.offered import found_remedies, suspects
from diagnose.training.righting import put_right, to_right
from diagnose.trouble.alarms import live_mended
from diagnose.trouble.repair_groups import can_be_done

LIKELY = 9  # repairs on the list
LEAST = 0.01  # share from which a repair is on it
TITLE = "WHAT STILL FITS all that was seen? What you leave out, you say is ruled out."


def mark(s: Session, a: Assessment) -> bool:
    """Have the trainee mark which families of causes still fit; False for a step back."""
    rows = {f: f.replace("_", " ") for f in suspects(s.work.assessment(first_seq(s)), a)}
    before = next((e.data["fits"] for e in reversed(s.work.moves) if e.data.get("move") == "marks"), None)
    shown = {f: f"{'* ' if before and f in before else '  '}{words}" for f, words in rows.items()}
    chosen = s.picks(
        [TITLE, *(["* as you marked it last"] if before else []), ""],
        shown,
        "Numbers of all that fit; 0 none of these; a all (Enter: back)",
    )
    if chosen is not None:
        s.move("marks", listed=list(rows), fits=chosen)
        s.noted = f"Marked: {len(chosen)} of {len(rows)} still fit."
    return chosen is not None


def first_seq(s: Session) -> int:
    """Return the number of the first move, before which only the squawk was known."""
    return next((e.seq for e in s.work.moves), len(s.work.case.events) + 1)


def change(s: Session, a: Assessment) -> None:
    """Have a part changed or mended, chosen from a list in no order of worth or in the trainee's own words."""
    if not _marked_since_last_look(s) and not mark(s, a):
        return
    shares = a.finding.group_shares
    likely = sorted((k for k in shares if shares[k] >= LEAST), key=lambda k: (-round(shares[k], 9), k))[:LIKELY]
    rows = dict(sorted(((k, _named(s, k)) for k in likely), key=lambda row: row[1]))
    rows["words"] = "something else: say it in words"
    while chosen := s.pick(["CHANGE OR MEND, in no order of worth", ""], rows):
        if _by_words(s, a) if chosen == "words" else _do(s, a, chosen):
            return


def _named(s: Session, key: str) -> str:
    name, _, place = key.partition("@")
    remedy = s.network.base.remedies[name]
    return f"{words_of(s.network, remedy.label, place)} ({s.work.minutes_of(remedy):.0f} min{', a part' if remedy.parts else ''})"


def _by_words(s: Session, a: Assessment) -> bool:
    """Find a remedy by the trainee's own words and do it; False for a step back."""
    every = [
        f"{r.id}@{p}"
        for r in s.network.base.remedies.values()
        for p in s.network.layout.places(r.at)
        if can_be_done(s.network.layout, r, p)
    ]
    named, said = {key: _named(s, key) for key in every}, ""
    while (text := s.panel(["What do you change or mend, and where?"], "In your words (Enter: back)", said=said)).lower() not in ("", "b"):
        found = found_remedies(s.network.base, text, named)
        said = "" if found else f"Nothing to change or mend is like '{text[:50]}'. Say it otherwise."
        while found and (chosen := s.pick([f'"{text[:70]}" - which of these?', ""], {key: named[key] for key in found})):
            if _do(s, a, chosen):
                return True
    return False


def _do(s: Session, a: Assessment, key: str) -> bool:
    """Do a remedy, if it is safe: procedure, cautions, how sure, done. Return False for a step back, before anything is done."""
    name, _, place = key.partition("@")
    remedy = s.network.base.remedies[name]
    words = words_of(s.network, remedy.label, place)
    told = [words, "", f"{s.work.minutes_of(remedy):.0f} min with what must be opened. People: {remedy.people}."]
    while s.panel([*told, *state_line(s), "", remedy.how], "Enter: go on, b back", {"", "b"}) != "b":
        if not safe(s, a, remedy, place):
            return True
        cautions, sure = Cautions(s, remedy), Sure(s, words)
        if walk([*cautions.questions, sure.ask]):
            s.work.repair(remedy, place, {"sure": sure.share, **cautions.heeded})
            s.noted = f"Done: {words}. Nothing is proved before the confirming run (r)."
            return True
    return False


def _marked_since_last_look(s: Session) -> bool:
    moves = [e.data.get("move") for e in s.work.moves if e.data.get("move") in ("marks", "check", "confirm")]
    return bool(moves) and moves[-1] == "marks"


def confirm(s: Session, a: Assessment) -> None:
    """Make the confirming run: the complaint under its own conditions and every part of the run."""
    work, looks = s.work, s.work.case.trouble.looks
    proving = off_check_may_be_run(s.network, work.case.trouble, a.bars, live_mended(s.network, looks))
    if a.bars.powered and not proving:
        stopped(s, "Confirming run", "confirm", list(alarms(s.network, a)))
        return
    why = before_turning(WHOLE_RUN, work.case.trouble.aircraft)
    if why:
        held(s, "Confirming run", "confirm", why)
        return
    told = ["CONFIRMING RUN: the complaint under its own conditions, a magneto check, static rpm, the OFF check.", ""]
    cautions = [s.network.base.cautions[c].label for c in s.network.base.access[RUNNING].cautions]
    if s.show([*told, *(f"! {text}" for text in cautions)], "Enter: all of it is seen to, b back") == "b":
        return
    read, found = work.confirm({})
    now = work.assessment()
    gone = "The complaint is gone." if now.finding.state == "confirmed" else "Not shown to be gone."
    s.noted = f"Confirming run made. {gone}"
    s.show([f"CONFIRMING RUN. {gone}", "", *read, "", *in_words(s, found)])


def right(s: Session, a: Assessment) -> None:
    """Put right what is off, open or due, as it would be before anything turns the engine."""
    wanted = to_right(s.network.base, a.trouble.aircraft, a.bars.blow)
    if not wanted.told:
        s.noted = "Nothing is off or open." + (" The OFF check is still due: r, or choose it as a check." if a.bars.unproved else "")
        return
    later = ["Not done by this: the OFF check. It stays due: r, or choose it as a check."] if wanted.proof else []
    told = ["TO PUT RIGHT", "", *(f"- {text}" for text in wanted.told), "", *later, f"{wanted.minutes:.0f} min"]
    if s.show(told, "Enter: done, b back") == "b":
        return
    put_right(s.work, wanted)
    due = s.work.case.trouble.aircraft.off_due is not None
    s.noted = "Put right, but for the OFF check, which is still due: r, or choose it as a check." if due else "Put right."
