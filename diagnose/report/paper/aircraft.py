"""The state of the aircraft as last recorded. What nobody recorded is not recorded; it is never taken as normal."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.plan.rules import Bars, bars
from diagnose.plan.warnings import ALWAYS, BLOW, NO_RUN, RUNS_IN_OFF
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import located
from diagnose.report.said import alarms_of
from diagnose.trouble.aircraft import Aircraft, Stamp
from diagnose.trouble.aircraft_words import THINGS, UNCLEAR


@dataclass(frozen=True)
class Now:
    """One thing of the aircraft as last recorded; `step` names the step that left it so, where nobody set it down."""

    what: str
    how: str
    stamp: Stamp
    step: str = ""


def aircraft_now(story: Story, before: int | None = None) -> tuple[Now, ...]:
    """Return what was last recorded of each thing (before the entry of an index), in a fixed order; the rest is left out."""
    found = [Now(what, _how(fact.now, fact.words), fact.stamp, fact.step) for what, fact in _aircraft(story, before).facts.items()]
    order = {what: i for i, what in enumerate(THINGS)}
    return tuple(sorted(found, key=lambda n: (order.get(n.what, len(order)), n.what)))


def _aircraft(story: Story, before: int | None) -> Aircraft:
    if before is None:
        return story.case.trouble.aircraft
    return story.steps[before - 1].trouble.aircraft if before else Aircraft()


def _how(now: str, words: str) -> str:
    if now == UNCLEAR:
        return f"{words or 'nothing'} (cannot be read: counts as not known)"
    return words or now


def left_by(story: Story, now: Now) -> str:
    """Return the step that left a thing so, in words; empty where a person recorded it."""
    return located(story.network, now.step) if now.step else ""


def unrecorded(story: Story) -> tuple[str, ...]:
    """Return the things of the fixed list that nobody recorded."""
    return story.case.trouble.aircraft.unrecorded


def forbids(story: Story) -> Bars:
    """Return what forbids a step as the case stands; suspicions left out where its results cannot all be true."""
    return story.assessment.bars if story.assessment is not None else bars(story.network, story.case.trouble, {})


# What a paper says in front of a warning, so that its first words tell.
FRONT = {RUNS_IN_OFF: "LIVE MAGNETO. ", NO_RUN: "DO NOT RUN IT. ", BLOW: "DO NOT RUN IT. "}


def dangers(story: Story) -> tuple[str, ...]:
    """Return what forbids a step as the case stands, in words."""
    told = alarms_of(story.network, story.case.trouble, forbids(story))[: -len(ALWAYS)]
    return tuple(f"{FRONT.get(text, '')}{text}" for text in told)


def live_warnings(story: Story) -> tuple[str, ...]:
    """Return what must stand in the first line: a P-lead off is a live magneto; one not recorded may be."""
    missing = story.case.trouble.aircraft.leads_unasked
    unknown = f"{' and '.join(missing)} not recorded: treat every magneto and the propeller as live." if missing else ALWAYS[0]
    return dangers(story) or (unknown,)
