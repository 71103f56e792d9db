"""The state of the aircraft as last recorded. What nobody recorded is not recorded; it is never taken as normal."""

from __future__ import annotations

import re
from dataclasses import dataclass

from diagnose.case.kinds import STATES
from diagnose.case.log import Event
from diagnose.plan.warnings import NO_RUN, RUNS_IN_OFF, standing_warnings
from diagnose.report.paper.story import Story
from diagnose.report.paper.wording import field_text, shortened
from diagnose.trouble.alarms import magneto_live, not_to_be_run

# What an access state says of the aircraft at the moment it was reached.
REACHED = {"cowl_off": ("cowl", "off"), "plugs_out": ("plugs", "out, at least one per cylinder"), "leads_off": ("leads", "off")}
_OFF = re.compile(r"\b(off|disconnected|open|out|removed|loose|broken|ungrounded|not|no|un\w+|dis\w+)\b", re.IGNORECASE)
_UNSURE = re.compile(r"\b(unknown|unsure|unclear|unchecked|not (known|sure|checked|looked))\b", re.IGNORECASE)
_P_LEAD = re.compile(r"p[- ]?lead", re.IGNORECASE)
_ON = re.compile(r"^\s*(on|connected|fitted|attached|grounded|in place|refitted|reconnected)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Now:
    """One thing of the aircraft as last recorded; `reached` says it was only reached for a check, nobody set it down."""

    what: str
    how: str
    event: Event
    reached: bool = False


def states_of(event: Event) -> dict[str, str]:
    """Return what one `state` entry says, thing by thing."""
    inner = event.data.get("state")
    if isinstance(inner, dict):
        return {str(k): field_text(v) for k, v in inner.items() if field_text(v)}
    text = field_text(inner)
    return {"state": text} if text else {}


def aircraft_now(story: Story, before: int | None = None) -> tuple[Now, ...]:
    """Return what was last recorded of each thing (before the entry of an index), in a fixed order; the rest is left out."""
    found: dict[str, Now] = {}
    for event in story.events[:before]:
        if story.withdrawn(event):
            continue
        if event.kind == "state":
            found.update({what: Now(what, how, event) for what, how in states_of(event).items()})
        elif event.kind == "access":
            for name in event.data.get("now", []):
                if name in REACHED:
                    what, how = REACHED[name]
                    last = found.get(what)
                    if last is None or last.reached or last.how != how:
                        found[what] = Now(what, how, event, reached=True)
    order = {what: i for i, what in enumerate(STATES)}
    return tuple(sorted(found.values(), key=lambda n: (order.get(n.what, len(order)), n.what)))


def unrecorded(now: tuple[Now, ...]) -> tuple[str, ...]:
    """Return the things of the fixed list that nobody recorded."""
    told = {n.what for n in now}
    return tuple(what for what in STATES if what not in told)


def leads_off(now: tuple[Now, ...]) -> tuple[Now, ...]:
    """Return the P-leads last recorded as off."""
    return tuple(n for n in now if _P_LEAD.search(n.what) and _OFF.search(n.how) and not _UNSURE.search(n.how))


def _named(now: Now) -> str:
    where = f"entry {now.event.seq}"
    return f"{shortened(now.what, 40, where)}: {shortened(now.how, 80, where)} ({where})"


def live_warnings(story: Story, now: tuple[Now, ...]) -> tuple[str, ...]:
    """Return what must stand in the first line: a P-lead off is a live magneto; one not recorded may be."""
    leads = [n for n in now if _P_LEAD.search(n.what)]
    off = leads_off(now)
    unclear = [n for n in leads if n not in off and (_UNSURE.search(n.how) or not _ON.search(n.how))]
    told = []
    if off:
        names = "; ".join(_named(n) for n in off)
        told.append(f"LIVE MAGNETO. Recorded {names}. The switch cannot stop it: tag the propeller, keep out of its arc.")
    looks = story.case.trouble.looks
    said = standing_warnings(magneto_live(story.network, looks), not_to_be_run(story.network, looks))
    if RUNS_IN_OFF in said:
        told.append(f"LIVE MAGNETO. {RUNS_IN_OFF}")
    if unclear:
        names = "; ".join(_named(n) for n in unclear)
        told.append(f"Treat as live: {names} does not say it is connected.")
    if NO_RUN in said:
        told.append(f"DO NOT RUN IT. {NO_RUN}")
    missing = [what for what in unrecorded(now) if what.startswith("P-lead")]
    if missing and not told:
        told.append(f"{' and '.join(missing)} not recorded: treat every magneto and the propeller as live.")
    return tuple(told) or ("Treat the propeller as live at all times, whatever the switch says.",)
