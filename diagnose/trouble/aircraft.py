"""The state of the aircraft as a fact: what is off, out, grounded or tagged, who said so and when.

What nobody recorded is unknown; it is never taken as normal. It is entered by a person, and set by the steps themselves.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from diagnose.places import SIDES, Layout, inside
from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble.aircraft_words import MANY, P_LEADS, PARTS, THINGS, UNCLEAR, UNKNOWN, left_as, runs_as
from diagnose.trouble.results import Result

EVERY_CYLINDER = "out of every cylinder"
BY_POWER = frozenset({"run", "crank"})
SHUT = frozenset({"plugs_out", "leads_off"})  # what an engine turned by power has closed
FULL_POWER = "high_power"  # the regime of a run at high power on the ground
# What an access state says of the aircraft, and which states of a thing give or end that access.
OPENED = {"cowl_off": ("cowl", "off"), "plugs_out": ("plugs", EVERY_CYLINDER), "leads_off": ("leads", "off")}


@dataclass(frozen=True)
class Stamp:
    """Who recorded something, when, and in which entry of a case (0: none)."""

    person: str = ""
    time: str = ""
    entry: int = 0


@dataclass(frozen=True)
class Fact:
    """One thing of the aircraft as last recorded: a state of `THINGS`, in whose words, and the step (`ID@PLACE`) that left it so.

    `doubted`: something entered since goes against it and nobody said how it is; it stands, and makes nothing harmless.
    """

    now: str
    words: str = ""
    stamp: Stamp = Stamp()
    step: str = ""
    doubted: bool = False


@dataclass(frozen=True)
class Left:
    """What a step left to be made good: the step (`CHECK@PLACE`), its text, the entry that opened it."""

    entry: int
    step: str
    text: str


@dataclass(frozen=True)
class Aircraft:
    """What is recorded of an aircraft; `off_due` is the step since which no OFF check has been passed, `off_tried` an attempt at it."""

    facts: Mapping[str, Fact] = field(default_factory=dict)
    left: tuple[Left, ...] = ()
    off_due: Fact | None = None
    off_tried: bool = False

    def now(self, thing: str) -> str:
        """Return the recorded state of a thing; empty where nobody recorded it."""
        return self.facts[thing].now if thing in self.facts else ""

    @property
    def leads_not_on(self) -> Mapping[str, Fact]:
        """Return side -> what is recorded of its P-lead, where that is anything but on: such a magneto counts as live."""
        return {side: self.facts[name] for side, name in P_LEADS.items() if self.now(name) not in ("", "on")}

    @property
    def leads_unasked(self) -> tuple[str, ...]:
        """Return the P-leads of which nothing is recorded."""
        return tuple(name for name in P_LEADS.values() if name not in self.facts)

    def grounded(self, side: str) -> bool:
        """Return whether a magneto is recorded as grounded at itself."""
        return self.now(f"magneto {side}") == "grounded"

    @property
    def plugs_out(self) -> bool:
        """Return whether a plug is recorded as out of every cylinder."""
        return self.now("plugs") == EVERY_CYLINDER and not self.facts["plugs"].doubted

    @property
    def unrecorded(self) -> tuple[str, ...]:
        """Return the things of which nothing is recorded, in their fixed order."""
        return tuple(thing for thing in THINGS if thing not in self.facts and thing != "inspection")


def recorded(aircraft: Aircraft, states: Mapping[str, tuple[str, str]], stamp: Stamp, step: str = "") -> Aircraft:
    """Return the aircraft once things are in states, thing -> (state, words); a P-lead put on again wants its OFF check.

    All plugs in, or all leads on, says it of each of them.
    """
    facts = dict(aircraft.facts)
    for thing, (now, words) in states.items():
        facts[thing] = Fact(now, words, stamp, step)
        each = [t for t in facts for part, many in MANY.items() if many == thing and t.startswith(f"{part} ")]
        if now == runs_as(thing):
            facts |= {t: facts[thing] for t in each if t not in states}
    back_on = [facts[n] for n in P_LEADS.values() if n in states and facts[n].now == "on" and aircraft.now(n) in ("off", UNCLEAR, UNKNOWN)]
    changed = replace(aircraft, facts=facts)
    return replace(changed, off_due=aircraft.off_due or back_on[0], off_tried=False) if back_on else changed


def opened(aircraft: Aircraft, access: Iterable[str], stamp: Stamp, step: str = "") -> Aircraft:
    """Return the aircraft with access reached: what is open now, unless it stood so already."""
    wanted = [OPENED[name] for name in access if name in OPENED]
    new = {t: (now, now) for t, now in wanted if aircraft.now(t) != now or aircraft.facts[t].doubted}
    return recorded(aircraft, new, stamp, step) if new else aircraft


def access_of(aircraft: Aircraft, things: Collection[str]) -> tuple[frozenset[str], frozenset[str]]:
    """Return the access states that the recorded state of some things gives, and those it ends."""
    told = {name: aircraft.now(thing) == now for name, (thing, now) in OPENED.items() if thing in things}
    return frozenset(n for n, open_ in told.items() if open_), frozenset(n for n, open_ in told.items() if not open_)


def stepped(aircraft: Aircraft, base: RuleBase, layout: Layout, entry: Check | Remedy, place: str, stamp: Stamp) -> Aircraft:
    """Return the aircraft after a check or remedy was done: what it opened, what it leaves off, whether the OFF check is due.

    After an engine was turned by power a grounding clip cannot be taken as still there, nor a plug as still out; nobody said it is in.
    """
    step = f"{entry.id}@{place}"
    turned = turning(base, entry) & BY_POWER
    if turned:
        aircraft = run(aircraft, stamp, step, free=turned == {"crank"} and "plugs_out" in entry.access)
    shut = shut_after(base, entry)
    aircraft = opened(aircraft, [a for a in entry.access if a not in shut], stamp, step)
    if turned == {"crank"} and "plugs_out" in entry.access:  # turned by the starter with its plugs out: they are out still
        aircraft = recorded(aircraft, {"plugs": ("some out", f"out for: {entry.label}")}, stamp, step)
    aircraft = recorded(aircraft, _left_off(aircraft, layout, entry, place), stamp, step)
    if isinstance(entry, Remedy):
        aircraft = recorded(aircraft, _refitted(aircraft, layout, entry, place), stamp, step)
    if any(base.cautions[c].prove_off for c in entry.cautions if c in base.cautions):
        return replace(aircraft, off_due=Fact("due", entry.label, stamp, step), off_tried=False)
    return aircraft


def shut_after(base: RuleBase, entry: Check | Remedy) -> frozenset[str]:
    """Return the access that a step ends with shut: an engine turned by power has its plugs in and its leads on.

    What is opened after the run that a step needs, such as the leads for a coil measured hot, is open still.
    """
    if _ways(base, entry.cautions) & BY_POWER:
        return SHUT
    shut = frozenset[str]()
    for name in entry.access:
        powered = name in base.access and _ways(base, base.access[name].cautions) & BY_POWER
        shut = SHUT if powered else shut - {name}
    return shut


def _ways(base: RuleBase, cautions: Iterable[str]) -> frozenset[str]:
    return frozenset(base.cautions[c].turns for c in cautions if c in base.cautions)


def _left_off(aircraft: Aircraft, layout: Layout, entry: Check | Remedy, place: str) -> dict[str, tuple[str, str]]:
    """Return what a step leaves off, thing -> (state, words)."""
    off = leads_left(aircraft, entry.leaves, sides_of(layout, place), f"off for: {entry.label}")
    if "magneto" in entry.leaves:
        off["parts off"] = ("some", f"magneto, for: {entry.label} ({place})")
    return off | parts_left(aircraft, entry.leaves, place, f"off for: {entry.label}")


def leads_left(aircraft: Aircraft, left: Collection[str], sides: Iterable[str], words: str) -> dict[str, tuple[str, str]]:
    """Return the P-leads that are off; after each was off in turn, back on before the next, nobody has said that they are on."""
    if "p_lead" in left:
        return {P_LEADS[side]: ("off", words) for side in sides}
    if "p_lead_in_turn" in left:
        names = (P_LEADS[side] for side in sides)
        return {name: (UNKNOWN, f"not said to be back on; one at a time, {words}") for name in names if aircraft.now(name) != "off"}
    return {}


def parts_left(aircraft: Aircraft, left: Collection[str], place: str, words: str) -> dict[str, tuple[str, str]]:
    """Return the plugs, leads and covers that are off at a place: thing -> (state, words); of an engine, some of them."""
    off = {}
    for part in (p for p in PARTS if p in left):
        away = [*PARTS[part]][1]
        if place != "engine" or part not in MANY:
            off[f"{part} {place}"] = (away, words.replace("off", away, 1))
        elif aircraft.now(MANY[part]) != EVERY_CYLINDER:
            off[MANY[part]] = ("some out" if part == "plug" else away, words.replace("off", away, 1))
    return off


def _refitted(aircraft: Aircraft, layout: Layout, remedy: Remedy, place: str) -> dict[str, tuple[str, str]]:
    """Return what a remedy done has back on: what was off at its place and inside it; on the engine, the plugs some of which were out."""
    words = {t: (runs_as(t), f"{runs_as(t)} with: {remedy.label}") for t in aircraft.facts if runs_as(t)}
    off = {t: fact.now for t, fact in aircraft.facts.items() if t in words and fact.now != runs_as(t)}
    back = [t for t in off if t.partition(" ")[0] in remedy.refits and inside(layout, t.partition(" ")[2], place)]
    some = [t for t in off if t == "plugs" and off[t] == "some out" and "plug" in remedy.refits and place == "engine"]
    return {t: words[t] for t in (*back, *some)}


def run(aircraft: Aircraft, stamp: Stamp, step: str = "", free: bool = False) -> Aircraft:
    """Return the aircraft after its engine was turned by power: nothing that makes a turn by hand harmless is left standing.

    What is recorded as out or off stays so, in doubt, until somebody says that it is back, but for what the step itself took off.
    `free`: it was turned with plugs out on purpose.
    """
    facts = {t: f for t, f in aircraft.facts.items() if not t.startswith("magneto ")}
    for thing, fact in facts.items():
        away = runs_as(thing) and fact.now not in (runs_as(thing), UNKNOWN) and not fact.doubted
        if away and not free and not (step and fact.step == step):
            entry = f" (entry {stamp.entry})" if stamp.entry else ""
            told = f"{fact.words or fact.now}; the engine is entered as turned since{entry}, nobody said that it is back {runs_as(thing)}"
            facts[thing] = replace(fact, words=told, doubted=True)
    return replace(aircraft, facts=facts)


def stays_off(aircraft: Aircraft, base: RuleBase, layout: Layout, check: Check, place: str, stamp: Stamp) -> Aircraft:
    """Return the aircraft after a check whose result was withdrawn: what was taken off for it is off until somebody says it is back.

    It makes nothing harmless: whether the check was done at all is not known.
    """
    after = stepped(aircraft, base, layout, check, place, stamp)
    off = {t: f for t, f in after.facts.items() if f.stamp == stamp and f.step == f"{check.id}@{place}" and f.now not in left_as(t)}
    words = "its result is withdrawn, nobody said that it is back"
    facts = {**aircraft.facts, **{t: replace(f, words=f"{f.words or f.now}; {words}", doubted=True) for t, f in off.items()}}
    return replace(aircraft, facts=facts, off_due=aircraft.off_due or after.off_due)


def made_good(aircraft: Aircraft, entry: int, stamp: Stamp) -> Aircraft:
    """Return the aircraft once the open item of an entry is closed: what that step left off is back on."""
    item = next((i for i in aircraft.left if i.entry == entry), None)
    if item is None:
        return aircraft
    mine = [t for t, f in aircraft.facts.items() if f.step == item.step]
    back = {"parts off": "none", **dict.fromkeys(P_LEADS.values(), "on"), **{t: runs_as(t) for t in mine if runs_as(t)}}
    rest = replace(aircraft, left=tuple(i for i in aircraft.left if i.entry != entry))
    return recorded(rest, {t: (back[t], back[t]) for t in mine if t in back}, stamp)


def off_passed(aircraft: Aircraft) -> Aircraft:
    """Return the aircraft after a passed OFF check: it proves nothing of a P-lead that is not on."""
    return aircraft if aircraft.leads_not_on else replace(aircraft, off_due=None, off_tried=False)


def proves_off(base: RuleBase, result: Result) -> bool:
    """Return whether a result is an answer to the OFF check other than a failure: passed, or not to be had."""
    return not result.history and base.symptoms[result.symptom].role == "runs_in_off" and not result.abnormal


def left_to_see(base: RuleBase, symptom: str) -> frozenset[str]:
    """Return what is off whenever a symptom is seen: what every check that gives it leaves so. A P-lead off was off in turn too."""
    turn = {"p_lead": ("p_lead_in_turn",)}
    checks = [
        frozenset(word for left in c.leaves for word in (left, *turn.get(left, ())))
        for c in base.checks.values()
        if any(ref.symptom == symptom for ref in c.gives)
    ]
    return frozenset.intersection(*checks) if checks else frozenset()


def turning(base: RuleBase, entry: Check | Remedy) -> frozenset[str]:
    """Return how a check or remedy, or the access it needs, turns the engine: run, crank, hand; by what its cautions declare.

    A run at high power is also `power`.
    """
    cautions = {*entry.cautions, *(c for a in entry.access if a in base.access for c in base.access[a].cautions)}
    ways = frozenset(base.cautions[c].turns for c in cautions if c in base.cautions) - {""}
    at_power = isinstance(entry, Check) and any(ref.regime == FULL_POWER for ref in entry.gives)
    return ways | {"power"} if at_power and "run" in ways else ways


def sides_of(layout: Layout, place: str) -> tuple[str, ...]:
    """Return the magnetos a step at a place works on: its own, else both."""
    if place in SIDES:
        return (place,)
    return (layout.side_of[place],) if place in layout.side_of else SIDES
