"""The interview where it asks what happened before: safety always, then the few questions whose answers tell most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose import loaded
from diagnose.assessment.finding import rank
from diagnose.belief.model import Contradiction
from diagnose.cli.paging import page
from diagnose.cli.prompt import ask_choice
from diagnose.cli.talk import Talk, withdraw_last
from diagnose.cli.working import working
from diagnose.places import SIDES
from diagnose.plan.history_worth import MOST, moved, safety_questions, worth_asking
from diagnose.report import screens
from diagnose.rulebase.records import History
from diagnose.trouble.complaint import completed
from diagnose.trouble.evidence import prepare
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup, repair_groups
from diagnose.trouble.results import side_of_place
from diagnose.trouble.trouble import Trouble

PAST = {"u": "unknown", "b": "back"}  # what happened cannot be looked at, so there is no "cannot check"
SKIP = {"s": "skip the rest"}
WHERE = {"left": "the left magneto, its plugs or leads", "right": "the right one, its plugs or leads", "both": "both, or the switch"}


@dataclass
class _Asking:
    """Questions under way: the shares as the answers moved them, each step back, and the one side complained of, else `engine`."""

    network: Network
    groups: dict[str, RepairGroup]
    shares: dict[str, float]
    answered: dict[str, str]
    side: str
    said: list[tuple[History, dict[str, float]]] = field(default_factory=list)

    def next(self, most: int | None) -> History | None:
        """Return the next question, safety first; without `most` every one, down to those that tell nothing."""
        due = [h for h in safety_questions(self.network) if h.id not in self.answered]
        if due:
            return due[0]
        safety = {h.id for h in safety_questions(self.network)}
        if most is not None and len(self.answered.keys() - safety) >= most:
            return None
        found = worth_asking(self.network, self.groups, self.shares, self.answered)
        return next((w.history for w in found if most is None or w.notable), None)


def ask_past(talk: Talk, told_now: bool, every: bool = False) -> None:
    """Ask what happened before where the complaint was told just now or the questions were broken off."""
    case = talk.case()
    begun = any(r.history for look in case.trouble.looks for r in look.results)
    broken_off = begun and not any(e.kind in ("advice", "repair", "access") for e in case.events)
    if told_now or broken_off:
        ask_questions(talk, None if every else MOST)


def ask_questions(talk: Talk, most: int | None) -> bool:
    """Ask question after question, most telling first; b goes back one, s skips what is no matter of safety. Return whether any stands."""
    asking = _begun(talk)
    past = "WHAT HAPPENED BEFORE"
    while asking is not None and (history := _next(talk, asking, most)) is not None:
        number = len(asking.said) + 1
        page(talk, f"{past}   question {number} of {'at most ' + str(most + 1) if most else 'all that are left'}")
        safety = history in safety_questions(asking.network)
        place = asking.side if history.at == "side" and not whole(talk.network, history) else "engine"
        answer = ask_one(talk, history, place, {} if safety else SKIP)
        if answer == "s":
            break
        if answer == "back":
            if not asking.said:
                break
            last, asking.shares = asking.said.pop()
            del asking.answered[last.id]
            withdraw_last(talk)
            continue
        asking.said.append((history, asking.shares))
        asking.answered[history.id] = answer
        with working(talk.out):
            asking.shares = moved(asking.network, history, answer, asking.shares)
    return asking is not None and bool(asking.said)


def whole(network: Network, history: History) -> bool:
    """Return whether a question is asked of the whole ignition: there are narrower ones on its parts, and its words name no side."""
    return any(h.part_of == history.id for h in network.base.history.values())


def ask_one(talk: Talk, history: History, place: str, extra: Mapping[str, str]) -> str:
    """Ask one question about the past and record the answer, unless it is a step back or a key of `extra`; return it.

    Where something was done to the ignition, it is asked on which side: it counts where it was done, not where the complaint is.
    """
    answer = ask_choice(talk.out, screens.asked_at(history.ask, place), dict(history.answers), extra, PAST)
    if answer in ("back", *extra):
        return answer
    if history.at == "side" and whole(talk.network, history) and answer not in (history.nothing, "unknown"):
        where = ask_choice(talk.out, "Where was that?", WHERE, None, PAST)
        if where == "back":
            return ask_one(talk, history, place, extra)
        place = where if where in SIDES else "engine"
    talk.record("result", {"result": f"{history.id}@{place}={answer}"})
    return answer


def _next(talk: Talk, asking: _Asking, most: int | None) -> History | None:
    with working(talk.out):
        return asking.next(most)


def _begun(talk: Talk) -> _Asking | None:
    """Return the questions as the case stands; None where its results exclude each other."""
    network, trouble = talk.network, completed(talk.network.base, talk.case().trouble)
    prepared = prepare(network, trouble.looks)
    try:
        with working(talk.out):
            _, ranked = rank(network, prepared)
    except (Contradiction, loaded.CannotAllBeTrue):
        return None
    shares = {row.id: row.share for row in ranked if not row.removed}
    return _Asking(network, dict(repair_groups(network, prepared.stands)), shares, _answered(trouble), _side(trouble, network))


def _side(trouble: Trouble, network: Network) -> str:
    """Return the magneto that the whole complaint is of; `engine` where it is of both, or of neither."""
    told = {side_of_place(p, network.layout) for look in trouble.looks for r in look.complaint for p in r.places}
    return told.pop() if len(told) == 1 and told <= set(SIDES) else "engine"


def _answered(trouble: Trouble) -> dict[str, str]:
    return {r.symptom: r.grade for look in trouble.looks for r in look.results if r.history}
