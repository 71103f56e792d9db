"""The interview at a repair: shown on one screen, recorded with what the record should hold of it."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.assessment.assess import Assessment, repair_warning
from diagnose.assessment.steps import remedy_order
from diagnose.cli.behind import pages
from diagnose.cli.history import ask_questions
from diagnose.cli.paging import choose, minded
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk, at, enter, withdraw_last
from diagnose.report import screens
from diagnose.report.glances import of_repair, repair_cautions
from diagnose.review.shelf import earlier_lines
from diagnose.trouble.looks import Repair
from diagnose.trouble.repair_groups import RepairGroup

# The first asks whether there is anything to tell; skipped, the others are not asked.
REPAIR_ASKED = (
    ("found", "As found"),
    ("left", "As left"),
    ("off", "Part off: number, serial, condition, where it is now"),
    ("on", "Part on: number, serial, its paper"),
    ("procedure", "Done by: document, section, revision"),
)


def step_repair(talk: Talk, assessment: Assessment, other: Callable[[], bool], chosen: bool = False) -> bool:
    """Show the repairs worth doing and act on one key: `other` has another check chosen.

    With `chosen`, b goes back to the check it was chosen at.
    """
    order = remedy_order(talk.network, assessment)
    group = assessment.groups[order[0]] if order else None
    cautions = repair_cautions(talk.network, assessment, group) if group is not None else ()
    glance = of_repair(talk.network, assessment, at(talk), " ".join((*_before(talk, assessment, order), talk.noted())))
    allowed = {str(n) for n in range(1, len(order) + 1)} | set("otpb")
    text = choose(talk, glance, allowed, pages(talk, assessment, cautions, group.remedy if group is not None else None))
    if text == "o":
        return other()
    if text == "b":
        return True if chosen else withdraw_last(talk)
    if text == "t":
        enter(talk, ask(talk.out, "What was seen, in your words (Enter: back)", None))
    elif text == "p":
        ask_questions(talk, None)
    else:
        _done(talk, assessment, assessment.groups[order[int(text) - 1]])
    return True


def _before(talk: Talk, assessment: Assessment, order: list[str]) -> list[str]:
    """Return what was repaired before on this aircraft against one of the suspects."""
    suspects = {c.partition("@")[0] for key in order for c in assessment.groups[key].causes}
    told = earlier_lines(talk.case(), talk.network, suspects)
    return [f"Repaired before on this aircraft: {text}. The fault may be back, or was never that." for text in told]


def _done(talk: Talk, assessment: Assessment, group: RepairGroup) -> None:
    """Have one repair done and recorded, its cautions shown in full first where they are new."""
    if not minded(talk, repair_cautions(talk.network, assessment, group)):
        return
    warning = repair_warning(talk.network, Repair(group.remedy.id, group.place), assessment)
    reason = ""
    if warning:
        screens.line(talk.out, f"! {warning}", "bold")
        reason = ask(talk.out, "Reason for going on (Enter or b: go back)", None)
        if reason.lower() in ("", "b"):
            return
    told = _told_of_repair(talk)
    if told is not None:
        talk.record("repair", {"remedy": group.key, "reason": reason, "warning": warning, **told})


def _told_of_repair(talk: Talk) -> dict[str, object] | None:
    """Ask what the record should hold of a repair; nothing where the first question is skipped, None where it is not done after all."""
    told: dict[str, object] = {}
    asked = list(REPAIR_ASKED)
    position = 0
    while position < len(asked):
        key, words = asked[position]
        text = ask(talk.out, f"{words} (Enter: {'skip' if told else 'skip all of this'}, b back)", None)
        if text.lower() == "b":
            if position == 0:
                return None
            position -= 1
            told.pop(asked[position][0], None)
            continue
        if text:
            told[key] = [text] if key in ("off", "on") else text
        elif not told:
            break
        position += 1
    return told
