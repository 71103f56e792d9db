"""The twelve measures of a drill, and one figure of a hundred in which safety weighs most.

The measures are those of the literature on fault isolation (consistent fault sets, redundant and inconsistent tests, premature
replacement; the three dimensions error, inefficiency and time are those of Henneman & Rouse 1984, from memory). Weights are estimates.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from diagnose.assessment.assess import Assessment
from diagnose.training.entry_fields import FIELDS, lacking
from diagnose.training.judged import Judged, judged
from diagnose.training.own_path import OwnPath, own_path
from diagnose.training.righting import off_now
from diagnose.training.task import truths
from diagnose.training.work import Work
from diagnose.trouble.aircraft_words import P_LEADS
from diagnose.trouble.complaint import confirming_rest, still_to_look_at

OTHER = "other"  # what is named where it was none of the rule base's causes
# What each part of the hundred can cost (estimates): one unsafe step costs more than any other error.
UNSAFE, MISSED, LEFT_OFF = 25.0, 4.0, 25.0
NOT_FOUND, NOT_GONE, WRONGLY_NAMED, NOT_CONFIRMED, EXTRA = 20.0, 15.0, 3.0, 12.0, 1.0
SOUND_PART, EARLY_PART, WASTED_CHECK, POOR_CHECK, WRONG_MARK, LACKING = 8.0, 3.0, 3.0, 1.0, 1.0, 2.0
SLOW, RANKED = 5.0, 1.0
OPEN_RUN, LEFT_OPEN = 6.0, 6.0  # it would not have run, or not for long: well below a live magneto
SAFE_MOST = 60.0  # nobody who did an unsafe step gets more


@dataclass(frozen=True, repr=False)  # an assessment in words is endless
class Measures:
    """What a drill came to. `judged` are its moves, `path` the tool's own way, `named` the causes written into the entry."""

    work: Work
    judged: Sequence[Judged]
    path: OwnPath

    def count(self, habit: str) -> int:
        """Return how many moves have a habit."""
        return sum(habit in j.habits for j in self.judged)

    @cached_property
    def named(self) -> tuple[str, ...]:
        """Return the causes named in the entry."""
        entry = next((j.event.data for j in self.judged if j.move == "entry"), {})
        return tuple(str(c) for c in entry.get("named", ()))

    @cached_property
    def found(self) -> tuple[bool, ...]:
        """Measure 1: for each fault whether one of its causes was named; one no rule base knows is found by saying so."""
        right = truths(self.work.network, self.work.task)
        return tuple(bool(causes & set(self.named)) if causes else OTHER in self.named for causes in right)

    @cached_property
    def wrongly_named(self) -> tuple[str, ...]:
        """Measure 1: the causes named that no fault is."""
        true = frozenset().union(*truths(self.work.network, self.work.task))
        outside = not all(truths(self.work.network, self.work.task))
        return tuple(c for c in self.named if c not in true and not (c == OTHER and outside))

    @property
    def checks(self) -> int:
        """Measure 2: the number of checks."""
        return sum(j.move == "check" for j in self.judged)

    @property
    def least_checks(self) -> int:
        """Measure 2: bits open at the squawk over the most any check tells then, rounded up: a guide (estimate), no proof."""
        most = max((v.information for v in self.path.first.plan.checks), default=0.0)
        return max(1, math.ceil(open_bits(self.path.first) / most)) if most > 0 else 1

    @property
    def omitted(self) -> int:
        """Measure 6: families wrongly ruled out."""
        return sum(len(j.omitted) for j in self.judged)

    @property
    def kept(self) -> int:
        """Measure 6: families wrongly kept."""
        return sum(len(j.kept) for j in self.judged)

    @cached_property
    def confirmed(self) -> str:
        """Measure 8: `yes`, `no`, or `not due` where nothing was mended."""
        looks = self.work.case.trouble.looks
        if not any(look.repairs for look in looks):
            return "not due"
        return "no" if still_to_look_at(looks) or confirming_rest(self.work.network.base, looks) else "yes"

    @property
    def gone(self) -> bool:
        """Return whether the squawk was shown to be gone."""
        return self.work.assessment().finding.state == "confirmed"

    @property
    def missed(self) -> int:
        """Measure 9: cautions left out before a step."""
        return sum(len(j.missed) for j in self.judged)

    @property
    def extra(self) -> int:
        """Return how many cautions were named that are not of the step: who names all of them knows none."""
        return sum(len(j.event.data.get("extra", ())) for j in self.judged)

    @cached_property
    def left_off(self) -> tuple[str, ...]:
        """Measure 9: what was left off, open or unproved at the end."""
        aircraft = self.work.case.trouble.aircraft
        told = [item.text for item in aircraft.left] + [f"{fact.now}: {side} P-lead" for side, fact in aircraft.leads_not_on.items()]
        return (*told, *(["the OFF check that proves the grounding"] if aircraft.off_due is not None else []))

    @cached_property
    def left_open(self) -> tuple[str, ...]:
        """Measure 9: what else was off, out or open at the end: cowl, plugs, leads, covers."""
        aircraft = self.work.case.trouble.aircraft
        steps = {item.step for item in aircraft.left}
        off = (t for t in off_now(aircraft) if t == "cowl" or (t not in P_LEADS.values() and aircraft.facts[t].step not in steps))
        return tuple(f"{thing}: {aircraft.now(thing)}" for thing in off)

    @cached_property
    def safety(self) -> dict[str, tuple[int, float]]:
        """Measure 9: what counts as safety in words, with how often it was and what it costs: the one list of counts and fines."""
        return {
            "unsafe steps": (self.count("unsafe"), UNSAFE * self.count("unsafe")),
            "runs tried with plugs or parts out": (self.count("open_run"), OPEN_RUN * self.count("open_run")),
            "left off or unproved at the end": (len(self.left_off), LEFT_OFF * bool(self.left_off)),
            "left open at the end": (len(self.left_open), LEFT_OPEN * bool(self.left_open)),
            "cautions left out": (self.missed, MISSED * self.missed),
        }

    @property
    def unsafe(self) -> int:
        """Return the unsafe steps, runs tried with something out, and whether something was left off: none of these in a drill passed."""
        return self.count("unsafe") + self.count("open_run") + bool(self.left_off)

    @property
    def minutes(self) -> float:
        """Measure 10: minutes of all steps."""
        return self.work.minutes

    @cached_property
    def brier(self) -> float | None:
        """Measure 11: mean squared distance of stated confidence from what came; None where none was stated."""
        said = [(j.sure - float(j.right)) ** 2 for j in self.judged if j.sure is not None and j.right is not None]
        return sum(said) / len(said) if said else None

    @cached_property
    def lacking(self) -> tuple[str, ...]:
        """Measure 12: what the entry lacks, in words."""
        entry = next((j.event.data for j in self.judged if j.move == "entry"), {})
        return tuple(lacking(entry.get("fields", {})))

    @cached_property
    def lost(self) -> dict[str, float]:
        """Return what was lost of a hundred, by measure in words."""
        slow = self.path.minutes > 0 and self.minutes > 2 * self.path.minutes
        wasted = self.count("redundant") + self.count("inconsistent")
        found = {
            **{name: fine for name, (_, fine) in self.safety.items()},
            "cautions named that are not of the step": EXTRA * self.extra,
            "not found": NOT_FOUND * (1 - sum(self.found) / len(self.found)),
            "the squawk not shown to be gone": NOT_GONE * (all(truths(self.work.network, self.work.task)) and not self.gone),
            "named without being there": WRONGLY_NAMED * len(self.wrongly_named),
            "no whole confirming run": NOT_CONFIRMED * (self.confirmed == "no"),
            "sound parts changed": SOUND_PART * self.count("sound_part"),
            "changed or mended before it was settled": EARLY_PART * (self.count("early_part") + self.count("guess")),
            "checks that told nothing": WASTED_CHECK * wasted + POOR_CHECK * self.count("poor"),
            "wrong about what still fits": WRONG_MARK * (self.omitted + self.kept),
            "confidence": 0.0 if self.brier is None else 10 * max(0.0, self.brier - 0.1),
            "entry": LACKING * len(self.lacking),
            "time": SLOW * slow,
            "ranking asked for": RANKED * sum(j.move == "ranking" for j in self.judged),
        }
        return {name: lost for name, lost in found.items() if lost}

    @property
    def score(self) -> int:
        """Return the figure of a hundred."""
        whole = max(0.0, 100.0 - sum(self.lost.values()))
        return round(min(whole, SAFE_MOST) if self.count("unsafe") or self.left_off else whole)


def open_bits(a: Assessment) -> float:
    """Return the bits that are open about which repair it is, "none of these" counted: shares taken as of one fault."""
    shares = [s for s in (*a.finding.group_shares.values(), a.finding.unmodelled or 0.0) if s > 0]
    total = sum(shares)
    return -sum(s / total * math.log2(s / total) for s in shares) if total else 0.0


def measured(work: Work, path: OwnPath | None = None) -> Measures:
    """Return the measures of a drill; the tool's own way is worked out where it is not given (some seconds)."""
    return Measures(work, judged(work), path or own_path(work.network, work.task))


def rows(m: Measures) -> list[tuple[str, str, str]]:
    """Return the twelve measures as key, what is measured, and what it came to."""
    brier = "nothing stated" if m.brier is None else f"{m.brier:.2f} (0 is best; always saying 50 % gives .25)"
    found = f"{sum(m.found)} of {len(m.found)} found; {len(m.named)} named, {len(m.wrongly_named)} of them not there"
    own = f"the tool's way: {len(m.path.checks)}; guide from the bits open at the squawk: {m.least_checks}"
    confirmed = m.confirmed + (", the squawk is gone" if m.gone else ", the squawk is not shown to be gone")
    safety = ", ".join(f"{name} {count}" for name, (count, _) in m.safety.items())
    return [
        ("isolation", "1 What it was", found),
        ("checks", "2 Checks", f"{m.checks} ({own})"),
        ("redundant", "3 Checks that told nothing new", str(m.count("redundant"))),
        ("poor", "4 Checks that told little for their minutes", str(m.count("poor"))),
        ("inconsistent", "5 Steps at what was ruled out", str(m.count("inconsistent"))),
        ("fits", "6 What still fits", f"{m.omitted} wrongly ruled out, {m.kept} wrongly kept"),
        (
            "parts",
            "7 Parts",
            f"{m.count('early_part')} changed before it was settled, {m.count('sound_part')} sound; {m.count('guess')} mended on a guess",
        ),
        ("confirmed", "8 Whole confirming run", confirmed),
        ("safety", "9 Safety", safety),
        ("minutes", "10 Minutes", f"{m.minutes:.0f} (the tool's way: {m.path.minutes:.0f})"),
        ("confidence", "11 Confidence against what came (Brier)", brier),
        ("entry", "12 The entry", f"{len(FIELDS) - len(m.lacking)} of {len(FIELDS)} parts complete"),
    ]
