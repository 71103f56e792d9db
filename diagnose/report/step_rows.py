"""The steps of `next/1`, one row each: every row has its `kind`."""

from __future__ import annotations

from typing import Any

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import why_attempt, why_check
from diagnose.assessment.steps import Step, steps
from diagnose.plan.make_good import MakeGood
from diagnose.plan.plan import Attempt, Valued
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import before_turning, cautions_of, p_lead_warning, step_warnings
from diagnose.trouble.aircraft import turning
from diagnose.trouble.masking import Seen
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

DIGITS = 12
CONFIRMING = "confirming_run"
RUN_LABEL = "Confirming run under the conditions of the complaint"


def next_rows(network: Network, a: Assessment, with_results: bool, most: int | None = None) -> list[dict[str, Any]]:
    """Return the steps in the order they are offered, the first `most` of them, each with its `kind`."""
    return [{"kind": step.kind, **_step_row(network, a, step, with_results)} for step in steps(network, a)[:most]]


def shortened(row: dict[str, Any], most: int) -> dict[str, Any]:
    """Return a step with its likeliest results alone, in the order read, and how many others there are and how likely together."""
    results = row["results"]
    if len(results) <= most:
        return row
    kept = set(sorted(range(len(results)), key=lambda i: -results[i]["probability"])[:most])
    left = [one["probability"] for i, one in enumerate(results) if i not in kept]
    others = {"count": len(left), "probability": round_(sum(left))}
    return {**row, "results": [one for i, one in enumerate(results) if i in kept], "other_results": others}


def _step_row(network: Network, a: Assessment, step: Step, with_results: bool) -> dict[str, Any]:
    if step.make_good is not None:
        return _make_good_row(network, a, step.make_good, with_results)
    if step.check is not None:
        return _check_row(network, a, step.check, with_results)
    if step.group is not None:
        return _action_row(network, a, _attempt(a, step.group), with_results)
    return _run_row(network, a, step, with_results) if step.kind == "finish_run" else _help_row(network, with_results)


def round_(number: float) -> float:
    """Return a number as documents give it."""
    return round(float(number), DIGITS)


def _plain_row(name: str, place: str, label: str, minutes: float, why: str) -> dict[str, Any]:
    """Return what a step has that is not valued in minutes saved: it is not weighed against the others."""
    return {
        **({"check": name} if name else {}),
        "place": place,
        "label": label,
        "minutes": round_(minutes),
        "access": [],
        "people": 1,
        "value": 0.0,
        "information": 0.0,
        "why": why,
        "cautions": [],
    }


def _make_good_row(network: Network, a: Assessment, item: MakeGood, with_results: bool) -> dict[str, Any]:
    check = network.base.checks.get(item.check.partition("@")[0])
    row = _plain_row(check.id if check is not None else "", item.place, item.label, item.minutes, item.why)
    row |= {"action": item.id} if check is None else {}
    row |= {"states": dict(item.states)} if item.states else {}
    row |= {"closes": item.closes} if item.closes else {}
    if check is not None:
        before = before_turning(turning(network.base, check), a.trouble.aircraft, check.access)
        row |= {"access": list(check.access), "people": check.people}
        row["cautions"] = [*cautions_of(network.base, check.cautions, check.access), *before]
    return {**row, "results": []} if with_results else row


def _run_row(network: Network, a: Assessment, step: Step, with_results: bool) -> dict[str, Any]:
    base = network.base
    wanted = "the complaint under its own conditions" if step.look_at else "what the run still lacks"
    why = f"After a repair the engine is run again: {wanted}{'; also ' + '; '.join(step.rest) if step.rest else ''}"
    row = _plain_row(CONFIRMING, "engine", RUN_LABEL, base.settings.retest_minutes, why)
    before = before_turning(WHOLE_RUN, a.trouble.aircraft)
    row |= {"access": ["engine_running"], "look_at": list(step.look_at), "rest": list(step.rest)}
    row["cautions"] = [*cautions_of(base, (), ("engine_running",)), *before]
    return {**row, "results": []} if with_results else row


def _help_row(network: Network, with_results: bool) -> dict[str, Any]:
    why = "No check pays for itself and no repair that may be done stands out"
    row = {"action": "help", **_plain_row("", "engine", "Get help", network.base.settings.expert_minutes, why)}
    return {**row, "results": []} if with_results else row


def _attempt(a: Assessment, group: RepairGroup) -> Attempt:
    """Return the remedy of a group as a try: as valued by the plan, else as the next repair when no check pays."""
    found = next((x for x in a.plan.attempts if x.group.key == group.key), None)
    return found or Attempt(group, a.plan.remedy_minutes[group.key], a.finding.group_shares[group.key], a.plan.cost, 1.0)


def _action_row(network: Network, a: Assessment, attempt: Attempt, with_results: bool) -> dict[str, Any]:
    remedy = attempt.group.remedy
    row: dict[str, Any] = {
        "action": attempt.group.key,
        "place": attempt.group.place,
        "label": remedy.label,
        "minutes": round_(attempt.minutes),
        "access": list(remedy.access),
        "people": remedy.people,
        "value": round_(attempt.value),
        "information": 0.0,
        "why": why_attempt(attempt, a.plan.checks[0] if a.plan.checks else None),
        "cautions": [
            *cautions_of(network.base, remedy.cautions, remedy.access),
            *before_turning(turning(network.base, remedy), a.trouble.aircraft, remedy.access),
            *filter(None, [p_lead_warning(remedy)]),
        ],
    }
    if with_results:
        gone, stays = ([f"{s.result.subject}={g}" for s, g in _again(network, a, worse)] for worse in (False, True))
        row["results"] = [
            {"results": gone, "probability": round_(attempt.share), "top": []},
            {"results": stays, "probability": round_(1 - attempt.share), "top": []},
        ]
    return row


def _again(network: Network, a: Assessment, stays: bool) -> list[tuple[Seen, str]]:
    """Return each complaint result with the grade it has when the complaint is gone, or stays."""
    return [(s, s.result.grade if stays else network.base.symptoms[s.result.symptom].names[0]) for s in a.prepared.complaint]


def _check_row(network: Network, a: Assessment, valued: Valued, with_results: bool) -> dict[str, Any]:
    check = valued.located.check
    row: dict[str, Any] = {
        "check": check.id,
        "place": valued.located.place,
        "label": check.label,
        "minutes": round_(valued.minutes),
        "access": list(check.access),
        "people": check.people,
        "value": round_(valued.value),
        "information": round_(valued.information),
        "why": why_check(valued, None),
        "cautions": [
            *cautions_of(network.base, check.cautions, check.access),
            *step_warnings(network.base, valued, a.plan, a.trouble.access, a.trouble.aircraft),
        ],
    }
    if with_results:
        row["results"] = [
            {
                "results": list(o.results),
                "probability": round_(o.probability),
                "top": [{"id": c, "responsible": round_(p)} for c, p in o.top()],
            }
            for o in valued.outcomes()
        ]
    return row
