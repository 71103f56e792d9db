"""What has to be made good before the engine is turned: P-leads back on, parts back, a blow looked at, the OFF check passed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.plan.access import minutes_to_reach
from diagnose.plan.rules import POWERED, Bars, off_check_may_be_run
from diagnose.plan.to_run import otherwise
from diagnose.rulebase.records import Check, RuleBase
from diagnose.trouble.aircraft import OPENED, Aircraft, Fact, Left
from diagnose.trouble.aircraft_words import P_LEADS, left_as
from diagnose.trouble.alarms import live_mended
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble

BLOW = (
    "Look first: starter and its drive, drive gears, impulse coupling and magneto drive, propeller and its flange, as the manuals say "
    "after a kick-back or a strike"
)
# What is closed up last of all -> what is done about it. Common practice, no source.
CLOSED = {
    "cowl": "cowling on",
    "magneto left": "grounding clip off the left magneto",
    "magneto right": "grounding clip off the right magneto",
    "switch": "ignition switch OFF",
    "propeller": "tag off the propeller, by whoever hung it",
    "tools": "every tool found and counted",
}


@dataclass(frozen=True)
class MakeGood:
    """One thing to be made good.

    `states`: thing -> what is recorded of it once done; `closes`: number of the open item that ends with it (0: none); `check`: the
    check by which it is done; `bars`: until then nothing runs or cranks the engine; `power`: it comes before a step that does, and
    not before one that turns it by hand.
    """

    id: str
    label: str
    place: str
    why: str
    minutes: float
    states: Mapping[str, str] = field(default_factory=dict)
    closes: int = 0
    check: str = ""
    bars: bool = True
    power: bool = False


def make_good(network: Network, trouble: Trouble, bars: Bars) -> tuple[MakeGood, ...]:
    """Return what has to be made good, in order: what bars a run first, the OFF check that proves it last."""
    base, aircraft = network.base, trouble.aircraft
    found = [*_leads(base, aircraft), *_parts(base, aircraft, bars)]
    if bars.blow:
        why = "It kicked back or the propeller struck something: what broke then is not to be turned by power"
        found.append(MakeGood("inspection@engine", BLOW, "engine", why, base.settings.inspect_minutes, {"inspection": "done"}))
    met = {m.closes for m in found}
    found += [_item(base, item) for item in aircraft.left if item.entry not in met]
    found += _back(base, aircraft)
    if (aircraft.off_due is not None or bars.live) and not aircraft.off_tried:
        found += _off_check(network, trouble, bars)
    return tuple(found)


def _leads(base: RuleBase, aircraft: Aircraft) -> list[MakeGood]:
    """Return a step for every entry or open item that left P-leads off, or not known to be on."""
    together: dict[tuple[int, str], list[str]] = {}
    for side, fact in aircraft.leads_not_on.items():
        together.setdefault((_closing(aircraft, fact), "off" if fact.now == "off" else "unclear"), []).append(side)
    found = []
    for (closes, now), sides in together.items():
        name = f"{' and '.join(sides)} P-lead{'s' if len(sides) > 1 else ''}"
        label = f"Refit the {name}" if now == "off" else f"Look at the {name}, on its terminal or not, and see it on"
        why = "; ".join(_told(P_LEADS[s], aircraft.facts[P_LEADS[s]]) for s in sides)
        item = next((i.text for i in aircraft.left if i.entry == closes), "")
        place = sides[0] if len(sides) == 1 else "engine"
        states = {P_LEADS[s]: "on" for s in sides}
        found.append(
            MakeGood(
                f"p_lead@{place}",
                f"{label}, then OFF check at idle",
                place,
                f"{why}: that magneto is live whatever the switch says{f'. {item}' if item else ''}",
                base.settings.refit_minutes * len(sides),
                states,
                closes,
            )
        )
    return found


def _parts(base: RuleBase, aircraft: Aircraft, bars: Bars) -> list[MakeGood]:
    if not bars.parts:
        return []
    fact = aircraft.facts["parts off"]
    closes = _closing(aircraft, fact)
    if closes and any(_closing(aircraft, f) == closes for f in aircraft.leads_not_on.values()):
        return []  # goes back on with the P-lead of the same step
    label = f"Put back what is off: {fact.words}"
    return [MakeGood("parts@engine", label, "engine", _told("parts off", fact), base.settings.refit_minutes, {"parts off": "none"}, closes)]


def _item(base: RuleBase, item: Left) -> MakeGood:
    place = item.step.partition("@")[2] or "engine"
    return MakeGood(
        f"item@{item.entry}", item.text, place, f"left open by entry {item.entry}", base.settings.refit_minutes, {}, item.entry, bars=False
    )


def _back(base: RuleBase, aircraft: Aircraft) -> list[MakeGood]:
    """Return one step for the plugs, leads and covers that are off and go back with no open item of their own."""
    mine = {item.step for item in aircraft.left}
    off = [item for item in otherwise(aircraft, POWERED) if item.part and item.fact.step not in mine]
    if not off:
        return []
    label = f"Before power turns it: {'; '.join(item.do for item in off)}"
    why = "; ".join(_told(item.thing, item.fact) for item in off)
    states = {item.thing: item.must_be for item in off}
    return [MakeGood("back@engine", label, "engine", why, base.settings.refit_minutes * len(off), states, bars=False, power=True)]


def close_up(base: RuleBase, aircraft: Aircraft) -> MakeGood | None:
    """Return the last step of all, where something is not as an aircraft is left: cowling on, tag and clips off, tools counted."""
    off = {t: f for t, f in aircraft.facts.items() if t in CLOSED and f.now not in left_as(t)}
    if not off:
        return None
    shut = {thing: base.access[name].minutes.value for name, (thing, _) in OPENED.items() if thing in off}
    minutes = sum(shut.get(thing, base.settings.refit_minutes) for thing in off)
    why = "; ".join(_told(thing, fact) for thing, fact in off.items())
    label = f"Close up: {'; '.join(CLOSED[thing] for thing in off)}"
    return MakeGood("close@engine", label, "engine", why, minutes, {t: left_as(t)[0] for t in off}, bars=False)


def _off_check(network: Network, trouble: Trouble, bars: Bars) -> list[MakeGood]:
    base, due = network.base, trouble.aircraft.off_due
    check = off_check(base)
    if check is None or not off_check_may_be_run(network, trouble, bars, live_mended(network, trouble.looks)):
        return []
    why = f"{_told('grounding disturbed', due)}: " if due is not None else ""
    minutes = check.minutes.value + minutes_to_reach(base, check.access, trouble.access)
    why += "nobody goes near the propeller and nothing else is run before it has passed; if it fires on, stop by mixture"
    return [MakeGood(f"{check.id}@{check.at}", check.label, check.at, why, minutes, check=f"{check.id}@{check.at}")]


def off_check(base: RuleBase) -> Check | None:
    """Return the check that proves the grounding: the one that asks first whether it runs in OFF, as that is usually asked."""
    for check in base.checks.values():
        first = check.gives[0] if check.gives else None
        symptom = base.symptoms[first.symptom] if first is not None else None
        if first is not None and symptom is not None and symptom.role == "runs_in_off" and first.regime in ("", symptom.default):
            return check
    return None


def _closing(aircraft: Aircraft, fact: Fact) -> int:
    """Return the number of the open item of the step that left a thing so; 0 where there is none."""
    return next((item.entry for item in aircraft.left if fact.step and item.step == fact.step), 0)


def _told(what: str, fact: Fact) -> str:
    """Return a fact in words: what, how, by which entry and whom."""
    by = ", ".join(t for t in (f"entry {fact.stamp.entry}" if fact.stamp.entry else "", fact.stamp.person) if t)
    return f"{what}: {fact.words or fact.now}{f' ({by})' if by else ''}"
