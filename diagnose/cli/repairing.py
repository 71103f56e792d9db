"""The interview at a repair: shown on one screen, recorded with what the record should hold of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from diagnose.assessment.assess import Assessment, repair_warning
from diagnose.assessment.steps import remedy_order
from diagnose.cli.behind import pages
from diagnose.cli.history import ask_questions
from diagnose.cli.making_good import may_turn
from diagnose.cli.paging import choose, minded, page
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk, at, enter, step_back
from diagnose.cli.working import working
from diagnose.report import screens
from diagnose.report.glances import group_words, of_repair, repair_cautions
from diagnose.review.shelf import earlier_lines
from diagnose.trouble.aircraft import turning
from diagnose.trouble.looks import Repair
from diagnose.trouble.repair_groups import RepairGroup

NOT_ADVISED = "REPAIRS - none is advised yet: a check still tells more (b back to it)"
# The first asks whether there is anything to tell; skipped, the others are not asked.
REPAIR_ASKED = (
    ("found", "As found"),
    ("left", "As left"),
    ("off", "Part off: number, serial, condition, where it is now"),
    ("on", "Part on: number, serial, its paper"),
    ("procedure", "Done by: document, section, revision"),
)


def step_repair(talk: Talk, assessment: Assessment, other: Callable[[], bool], inner: bool = False) -> bool:
    """Show the repairs worth doing and act on keys until something was recorded or taken back: `other` has another check chosen.

    With `inner`, b goes back to the step it was asked for at, and the answer is False.
    """
    order = remedy_order(talk.network, assessment)
    group = assessment.groups[order[0]] if order else None
    cautions = repair_cautions(talk.network, assessment, group) if group is not None else ()
    allowed = {str(n) for n in range(1, len(order) + 1)} | set("otpb")
    while True:
        noted = " ".join((*_before(talk, assessment, order), talk.noted()))
        glance = of_repair(talk.network, assessment, at(talk), noted)
        glance = replace(glance, state=NOT_ADVISED, mark="A REPAIR") if inner and assessment.plan.paying else glance
        text = choose(talk, glance, allowed, pages(talk, assessment, cautions, group.remedy if group is not None else None))
        if text == "b":
            return False if inner else step_back(talk)
        if text == "o":
            acted = other()
        elif text == "t":
            acted = enter(talk, ask(talk.out, "What was seen, in your words (Enter: back)", None))
        elif text == "p":
            acted = ask_questions(talk, None)
        else:
            acted = _done(talk, assessment, assessment.groups[order[int(text) - 1]])
        if acted:
            return True


def _before(talk: Talk, assessment: Assessment, order: list[str]) -> list[str]:
    """Return what was repaired before on this aircraft against one of the suspects."""
    suspects = {c.partition("@")[0] for key in order for c in assessment.groups[key].causes}
    told = earlier_lines(talk.case(), talk.network, suspects)
    return [f"Repaired before on this aircraft: {text}. The fault may be back, or was never that." for text in told]


def _done(talk: Talk, assessment: Assessment, group: RepairGroup) -> bool:
    """Have one repair done and recorded, its cautions shown in full first where they are new; return whether it was."""
    entries = len(talk.case().events)
    if not may_turn(talk, turning(talk.network.base, group.remedy), group.remedy.access):
        return len(talk.case().events) > entries
    if not minded(talk, repair_cautions(talk.network, assessment, group)):
        return False
    with working(talk.out):
        warning = repair_warning(talk.network, Repair(group.remedy.id, group.place), assessment)
    reason = ""
    title = f"REPAIR   {group_words(talk.network, group)}"
    page(talk, title)
    if warning:
        screens.line(talk.out, f"! {warning}", "bold")
        reason = ask(talk.out, "Reason for going on (Enter or b: go back)", None)
        if reason.lower() in ("", "b"):
            return False
    told = _told_of_repair(talk, title)
    if told is None:
        return False
    with talk.given.step():
        talk.record("repair", {"remedy": group.key, "reason": reason, "warning": warning, **told})
        _back_in(talk, group)
    return True


def _back_in(talk: Talk, group: RepairGroup) -> None:
    """Ask whether what the repair worked on is back in: said not to be, it is recorded as out, and no run is made before it is."""
    if "plug" not in group.remedy.refits:
        return
    thing = f"plug {group.place}" if group.place != "engine" else "plugs"
    if ask(talk.out, f"{thing} back in, gasket and torque by the manual, lead on? y yes, n not yet", {"y", "n"}) == "n":
        talk.record("state", {"state": {thing: "some out" if thing == "plugs" else "out"}})


def _told_of_repair(talk: Talk, title: str) -> dict[str, object] | None:
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
            page(talk, title)
            told.pop(asked[position][0], None)
            continue
        if text:
            told[key] = [text] if key in ("off", "on") else text
        elif not told:
            break
        position += 1
    return told
