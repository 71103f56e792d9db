"""What is still open of a case: the only place that says so, for every screen and every paper.

While anything is open nobody calls the work done: a complaint that lives, a part off or a state that is not as an aircraft is left, the
OFF check, what a step left to be made good, a person's own open item, a part of the confirming run, an answer nobody had.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.case.case import Case
from diagnose.case.standing import open_items
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.aircraft import Aircraft, Fact
from diagnose.trouble.aircraft_words import left_as
from diagnose.trouble.complaint import confirming_rest, gone_before_repair, living, still_to_look_at
from diagnose.trouble.network import Network
from diagnose.trouble.results import node
from diagnose.trouble.sentences import NOT_SEEN, question_of, sentence_of
from diagnose.trouble.trouble import Trouble


@dataclass(frozen=True)
class Open:
    """One thing that is open, in words without a stop.

    `kind`: complaint (it lives), again (of the complaint, not looked at since the last repair), state (a thing of the aircraft), refit
    (what a step left to be made good), off_due (the OFF check), run (the rest of the confirming run), answer (not known, or not to be
    had), note (a person's item). `entry`: the entry it goes back to (0: none). `thing`, `must_be`: of a state, what is recorded of it
    once it is made good.
    """

    kind: str
    text: str
    entry: int = 0
    thing: str = ""
    must_be: str = ""


def still_open(case: Case, network: Network) -> tuple[Open, ...]:
    """Return everything that is open, what can hurt somebody first; empty where nothing is."""
    return open_of(case, network.base)


def open_of(case: Case, base: RuleBase) -> tuple[Open, ...]:
    """Return the same without a network, for a list of many cases.

    That the rest of a run was left out is told by what the run lacks, as long as it does.
    """
    told = {item.entry for item in case.trouble.aircraft.left} | {e.seq for e in case.events if e.data.get("confirming")}
    notes = (Open("note", text, entry) for entry, text in open_items(case.events).items() if entry not in told)
    return (*of_aircraft(case.trouble.aircraft), *notes, *_of_looks(base, case.layout, case.trouble))


def of_aircraft(aircraft: Aircraft) -> tuple[Open, ...]:
    """Return what is not as an aircraft is left, P-leads first, what steps left to be made good, and the OFF check where it is due."""
    off = [_state(thing, fact) for thing, fact in aircraft.facts.items() if fact.now not in left_as(thing)]
    off.sort(key=lambda item: not item.thing.startswith("P-lead"))
    left = [Open("refit", item.text, item.entry) for item in aircraft.left]
    due = aircraft.off_due
    check = [Open("off_due", "No OFF check passed since the grounding can have been disturbed", due.stamp.entry)] if due else []
    return (*off, *left, *check)


def _state(thing: str, fact: Fact) -> Open:
    return Open("state", f"{thing}: {fact.words or fact.now}", fact.stamp.entry, thing, next(iter(left_as(thing)), ""))


def of_looks(network: Network, trouble: Trouble) -> Iterator[Open]:
    """Yield what is open of the complaint, of the run that confirms that it is gone, and of answers nobody had."""
    return _of_looks(network.base, network.layout, trouble)


def _of_looks(base: RuleBase, layout: Layout, trouble: Trouble) -> Iterator[Open]:
    looks = trouble.looks
    again = still_to_look_at(looks)
    yield from (Open("again", f"Not looked at again since the last repair: {question_of(base, layout, name)}") for name in again)
    for told in (c.result for c in living(looks)):
        if not {node(told.symptom, r, p) for r in told.regimes for p in told.places} & set(again):
            yield Open("complaint", f"Not gone: {sentence_of(base, layout, str(told))}")
    if any(look.repairs for look in looks):
        seen = (question_of(base, layout, name) for name in gone_before_repair(looks))
        yield from (Open("run", f"Confirming run, not entered: {part}") for part in (*seen, *confirming_rest(base, looks)))
    for result in looks[-1].results:
        if result.grade in NOT_SEEN and not result.history and result.subject not in again:
            yield Open("answer", f"{NOT_SEEN[result.grade].capitalize()}: {question_of(base, layout, result.subject)}")
