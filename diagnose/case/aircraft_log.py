"""What the entries of a case do to the aircraft, and what access they leave open: said by a person, or done by a step."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from diagnose.places import Layout
from diagnose.plan import access
from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble import aircraft as states
from diagnose.trouble.aircraft import Aircraft, Left, Stamp
from diagnose.trouble.aircraft_words import recalled
from diagnose.trouble.alarms import took_a_blow
from diagnose.trouble.results import Result


class AircraftLog:
    """The aircraft as the entries of a case leave it, one by one, and the access that stands open."""

    def __init__(self, base: RuleBase, layout: Layout) -> None:
        self.base, self.layout = base, layout
        self.aircraft = Aircraft()
        self.access: frozenset[str] = frozenset()

    def reached(self, now: Collection[str], stamp: Stamp, step: str) -> None:
        """Take the access that stands open, as reached for a check."""
        self.access = frozenset(now)
        if access.RUNNING in self.access:
            self.aircraft = states.run(self.aircraft, stamp, step)
        self.aircraft = states.opened(self.aircraft, sorted(self.access), stamp, step)

    def note(self, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Keep what a check left to be made good until a note closes it."""
        if data.get("refit") and data.get("open"):
            item = Left(stamp.entry, str(data["refit"]), str(data.get("note", "")))
            self.aircraft = replace(self.aircraft, left=(*self.aircraft.left, item))
        if isinstance(data.get("closes"), int):
            self.aircraft = states.made_good(self.aircraft, data["closes"], stamp)
            self._follow(tuple(thing for thing, fact in self.aircraft.facts.items() if fact.stamp == stamp))

    def state(self, told: Any, stamp: Stamp) -> None:
        """Take what a person recorded of the aircraft; older entries say it in their own words."""
        pairs = told.items() if isinstance(told, Mapping) else [("state", told)]
        found: dict[str, tuple[str, str]] = {}
        for name, words in pairs:
            found |= recalled(str(name), str(words))
        self.aircraft = states.recorded(self.aircraft, found, stamp)
        self._follow(tuple(found))

    def looked(self, result: Result, check: str, past: bool, stamp: Stamp) -> None:
        """Take what a look did to the aircraft: what its check opened or left off, and what an OFF check proved.

        `past`: the result tells of a flight or run before the case. One with no check named was seen by whatever shows it.
        """
        name, _, place = check.partition("@")
        entry = self.base.checks.get(name)
        if result.grade != "cannot" and entry is not None:
            self.step(entry, place or next(iter(self.layout.places(entry.at)), "engine"), stamp)
        elif result.grade != "cannot" and not result.history and not past:
            self._unnamed(result, stamp)
        if states.proves_off(self.base, result):
            self.aircraft = states.off_passed(self.aircraft) if result.normal else replace(self.aircraft, off_tried=True)
        if took_a_blow(self.base, result):
            facts = {thing: fact for thing, fact in self.aircraft.facts.items() if thing != "inspection"}
            self.aircraft = replace(self.aircraft, facts=facts)

    def withdrawn(self, result: str, check: str, stamp: Stamp) -> None:
        """Take what a look whose result was withdrawn took off: that was done by hand, and stays so until somebody says it is back."""
        name, _, place = check.partition("@")
        entry = self.base.checks.get(name)
        if entry is not None and not result.endswith("=cannot"):
            at = place or next(iter(self.layout.places(entry.at)), "engine")
            self.aircraft = states.stays_off(self.aircraft, self.base, self.layout, entry, at, stamp)

    def step(self, entry: Check | Remedy, place: str, stamp: Stamp) -> None:
        """Take what a check or remedy did to the aircraft, and the access it reached."""
        self.aircraft = states.stepped(self.aircraft, self.base, self.layout, entry, place, stamp)
        self.access = access.after(self.base, entry.access, self.access)
        self.access -= states.shut_after(self.base, entry)

    def _unnamed(self, result: Result, stamp: Stamp) -> None:
        """Take what a result with no check named says of the aircraft: the engine ran, or something was off for it to be seen."""
        if result.regimes != ("static",):
            self.aircraft = states.run(self.aircraft, stamp)
            self.access -= states.SHUT
        off = states.left_to_see(self.base, result.symptom)
        sides = tuple(dict.fromkeys(s for p in result.places for s in states.sides_of(self.layout, p)))
        words = f"off to see: {self.base.symptoms[result.symptom].label}"
        self.aircraft = states.recorded(self.aircraft, states.leads_left(self.aircraft, off, sides, words), stamp)

    def _follow(self, things: Sequence[str]) -> None:
        """Let the access follow what was recorded of some things."""
        gives, ends = states.access_of(self.aircraft, things)
        self.access = access.after(self.base, sorted(gives), self.access - ends)
