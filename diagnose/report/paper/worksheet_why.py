"""Why a check was done: the choice or advice that was recorded, or else the advice worked out again, and said to be so."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import assess
from diagnose.assessment.explain import why_check
from diagnose.belief.model import Contradiction
from diagnose.case.log import Event
from diagnose.plan.plan import Valued
from diagnose.report.paper.model import NOT_RECORDED
from diagnose.report.paper.story import EntryGroup, Story, lead_up
from diagnose.report.paper.wording import field_text, located, who
from diagnose.trouble.trouble import Trouble

WORKED_OUT = 12  # checks without advice whose reason is worked out again: each takes about a second


def why_chosen(story: Story, group: EntryGroup) -> str:
    """Return why a check was done: a person's own choice, the advice recorded, or else the advice worked out again."""
    before = list(lead_up(story, group))
    chosen = next((e for e in before if e.kind == "note" and e.data.get("chosen") == group.check), None)
    if chosen is not None:
        offered = located(story.network, str(chosen.data.get("offered") or NOT_RECORDED))
        return f"Chosen by {who(chosen)} instead of: {offered}. Reason: {field_text(chosen.data.get('reason')) or NOT_RECORDED}."
    advice = next((e for e in before if e.kind == "advice"), None)
    if advice is not None:
        return _advised(story, group, advice)
    return _worked_out(story, group)


def advice_text(story: Story, event: Event) -> str:
    """Return what the tool offered in one `advice` entry."""
    data = event.data
    check = str(data.get("check") or "")
    if "@" not in check and data.get("place"):
        check = f"{check}@{data['place']}"
    why = field_text(data.get("why"))
    runner_up = field_text(data.get("runner_up"))
    told = [located(story.network, check) if check.strip("@") else "no check", why or "why " + NOT_RECORDED]
    return "; ".join([*told, *([f"next best: {runner_up}"] if runner_up else [])])


def _advised(story: Story, group: EntryGroup, advice: Event) -> str:
    told = advice_text(story, advice)
    check, place = str(advice.data.get("check") or ""), str(advice.data.get("place") or "")
    same = group.check in (check, f"{check}@{place}")
    return (
        f"Offered by the tool (entry {advice.seq}): {told}."
        if same
        else f"The tool had offered something else (entry {advice.seq}): {told}. Reason for this one: {NOT_RECORDED}."
    )


def _worked_out(story: Story, group: EntryGroup) -> str:
    """Return what the rule base of now says about a check as things stood before it was prepared for."""
    if not group.check or group.first < 1:
        return "no advice recorded"
    if group not in _unadvised(story)[:WORKED_OUT]:
        return f"no advice recorded; not worked out again, as only the first {WORKED_OUT} such checks are"
    try:
        checks = assess(story.network, _trouble_before(story, group)).plan.checks
    except Contradiction:
        return "no advice recorded; not to be worked out again, as the results before it cannot all be true"
    found = next((i for i, v in enumerate(checks) if v.located.id == group.check), None)
    if found is None:
        return "no advice recorded; worked out again now, it is not among the checks offered at that point"
    return f"No advice recorded. Worked out again now, it comes {_ordinal(found)} of {len(checks)}: {_against_the_best(checks, found)}."


def _trouble_before(story: Story, group: EntryGroup) -> Trouble:
    """Return the trouble before a group, with the access gained before anything was reached for it."""
    now = story.steps[group.first - 1].trouble
    reached = group.first - len(list(lead_up(story, group, withdrawn=True)))
    return Trouble(now.looks, story.steps[max(reached - 1, 0)].trouble.access, now.declined, now.aircraft)


def _unadvised(story: Story) -> list[EntryGroup]:
    """Return the checks no advice and no choice is recorded for: their reason has to be worked out again."""
    return [g for g in story.groups if g.kind == "check" and not any(_tells_why(e) for e in lead_up(story, g))]


def _tells_why(event: Event) -> bool:
    return event.kind == "advice" or bool(event.data.get("chosen"))


def _against_the_best(checks: Sequence[Valued], found: int) -> str:
    best = checks[0]
    if found == 0:
        return why_check(best, checks[1] if len(checks) > 1 else None)
    ahead = f"{best.located.check.label.lower()} ({best.located.place}) with {best.information:.2f} bit in {best.minutes:.0f} min"
    return f"{why_check(checks[found], None)}; first comes {ahead}"


def _ordinal(index: int) -> str:
    return "first" if index == 0 else f"number {index + 1}"
