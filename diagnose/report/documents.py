"""The JSON documents other programs read: `rank/1`, `next/1`, `show/1`, `check/1`, `why/1`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import Account, why_attempt, why_check
from diagnose.assessment.finding import Ranked, words
from diagnose.assessment.steps import Step, held_back, steps
from diagnose.places import Layout
from diagnose.plan.make_good import MakeGood
from diagnose.plan.plan import Attempt, Valued
from diagnose.plan.warnings import before_turning, cautions_of, p_lead_warning, step_warnings
from diagnose.problems import Problem
from diagnose.report.said import alarms
from diagnose.rulebase.records import Cause, Check, Number, Remedy, RuleBase, Symptom
from diagnose.trouble.aircraft import turning
from diagnose.trouble.masking import Seen
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

DIGITS = 12
CONFIRMING = "confirming_run"
RUN_LABEL = "Confirming run under the conditions of the complaint"


def rank_document(network: Network, a: Assessment) -> dict[str, Any]:
    """Return the `rank/1` document."""
    finding = a.finding
    return {
        "schema": "rank/1",
        "rulebase": {"version": network.base.settings.version, "sha256": network.base.sha256},
        "layout": network.layout.id,
        "complaint": list(a.complaint),
        "ignored": [{"result": str(i.result), "reason": i.reason} for i in a.prepared.ignored],
        "exact": not a.prepared.narrowed,
        **({"method": a.prepared.narrowed} if a.prepared.narrowed else {}),
        "state": finding.state,
        "warnings": list(alarms(network, a)),
        "causes": [_cause_row(network, r, a.prepared.stands.get(r.id, "")) for r in finding.causes],
        "families": {f: _round(p) for f, p in finding.families.items()},
        "unmodelled": None if finding.unmodelled is None else _round(finding.unmodelled),
        "ambiguity": [list(group) for group in finding.ambiguity],
        **({"conflict": list(finding.conflict)} if finding.conflict else {}),
        **({"may_return": list(finding.may_return)} if finding.may_return else {}),
        "next": next_rows(network, a, with_results=False)[:3],
    }


def next_document(network: Network, a: Assessment) -> dict[str, Any]:
    """Return the `next/1` document: every check, and remedies cheaper than any of them, best first, with what each would do."""
    return {
        "schema": "next/1",
        "warnings": list(alarms(network, a)),
        "expected_minutes": _round(a.plan.cost),
        "pays": [v.located.id for v in a.plan.paying],
        "held_back": held_back(a),
        "next": next_rows(network, a, with_results=True),
    }


def next_rows(network: Network, a: Assessment, with_results: bool) -> list[dict[str, Any]]:
    """Return the steps in the order they are offered, each with its `kind`."""
    return [{"kind": step.kind, **_step_row(network, a, step, with_results)} for step in steps(network, a)]


def _step_row(network: Network, a: Assessment, step: Step, with_results: bool) -> dict[str, Any]:
    if step.make_good is not None:
        return _make_good_row(network, a, step.make_good, with_results)
    if step.check is not None:
        return _check_row(network, a, step.check, with_results)
    if step.group is not None:
        return _action_row(network, a, _attempt(a, step.group), with_results)
    return _run_row(network, a, step, with_results) if step.kind == "finish_run" else _help_row(network, with_results)


def _round(number: float) -> float:
    return round(float(number), DIGITS)


def _cause_row(network: Network, ranked: Ranked, stands: str) -> dict[str, Any]:
    located = network.causes[ranked.id]
    row: dict[str, Any] = {
        "id": ranked.id,
        "cause": located.cause.id,
        "place": located.place,
        "family": located.cause.family,
        "jasc": located.cause.jasc,
        "label": located.cause.label,
        "probability": _round(ranked.probability),
        "responsible": _round(ranked.responsible),
        "words": words(ranked.responsible),
        "remedy": list(located.cause.remedies),
    }
    if stands:
        row["stands"] = stands  # its part was exchanged; it is worked on there
    if ranked.removed:
        row["removed"] = True
    return row


def _plain_row(name: str, place: str, label: str, minutes: float, why: str) -> dict[str, Any]:
    """Return what a step has that is not valued in minutes saved: it is not weighed against the others."""
    return {
        **({"check": name} if name else {}),
        "place": place,
        "label": label,
        "minutes": _round(minutes),
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
        before = before_turning(turning(network.base, check), a.trouble.aircraft)
        row |= {"access": list(check.access), "people": check.people}
        row["cautions"] = [*cautions_of(network.base, check.cautions, check.access), *before]
    return {**row, "results": []} if with_results else row


def _run_row(network: Network, a: Assessment, step: Step, with_results: bool) -> dict[str, Any]:
    base = network.base
    wanted = "the complaint under its own conditions" if step.look_at else "what the run still lacks"
    why = f"After a repair the engine is run again: {wanted}{f'; also {chr(59).join(step.rest)}' if step.rest else ''}"
    row = _plain_row(CONFIRMING, "engine", RUN_LABEL, base.settings.retest_minutes, why)
    before = before_turning({"run"}, a.trouble.aircraft)
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
        "minutes": _round(attempt.minutes),
        "access": list(remedy.access),
        "people": remedy.people,
        "value": _round(attempt.value),
        "information": 0.0,
        "why": why_attempt(attempt, a.plan.checks[0] if a.plan.checks else None),
        "cautions": [
            *cautions_of(network.base, remedy.cautions, remedy.access),
            *before_turning(turning(network.base, remedy), a.trouble.aircraft),
            *filter(None, [p_lead_warning(remedy)]),
        ],
    }
    if with_results:
        gone, stays = ([f"{s.result.subject}={g}" for s, g in _again(network, a, worse)] for worse in (False, True))
        row["results"] = [
            {"results": gone, "probability": _round(attempt.share), "top": []},
            {"results": stays, "probability": _round(1 - attempt.share), "top": []},
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
        "minutes": _round(valued.minutes),
        "access": list(check.access),
        "people": check.people,
        "value": _round(valued.value),
        "information": _round(valued.information),
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
                "probability": _round(o.probability),
                "top": [{"id": c, "responsible": _round(p)} for c, p in o.top()],
            }
            for o in valued.outcomes()
        ]
    return row


def why_document(found: Mapping[str, Account]) -> dict[str, Any]:
    """Return the `why/1` document: from the odds before anything was told, factor by factor in recorded order, to the odds now."""
    return {"schema": "why/1", "causes": [{"id": cause, **_account(account)} for cause, account in found.items()]}


def _account(account: Account) -> dict[str, Any]:
    rows = [{"result": r.entry, "kind": r.kind, "factor": _round(r.factor), "words": r.words} for r in account.reasons]
    return {"start": _round(account.start), "share": _round(account.share), "reasons": rows}


def check_document(problems: Iterable[Problem]) -> dict[str, Any]:
    """Return the `check/1` document."""
    return {"schema": "check/1", "problems": [p.as_json() for p in problems]}


def show_symptoms(base: RuleBase, layout: Layout | None) -> dict[str, Any]:
    """Return the symptoms document; places are those of the layout, or the kinds without one."""
    return {"schema": "show-symptoms/1", "symptoms": [_symptom_row(s, layout) for s in base.symptoms.values()]}


def _symptom_row(symptom: Symptom, layout: Layout | None) -> dict[str, Any]:
    places = [p for kind in symptom.at for p in layout.places(kind)] if layout is not None else list(symptom.at)
    return {
        "id": symptom.id,
        "kind": symptom.kind,
        "label": symptom.label,
        "regimes": list(symptom.regimes),
        "default_regime": symptom.default,
        "places": places,
        "grades": [{"id": g, "text": t, "abnormal": i > 0} for i, (g, t) in enumerate(symptom.grades.items())],
        "synonyms": list(symptom.synonyms),
        "some_kind": list(symptom.some),
    }


def number_text(number: Number) -> str:
    """Return a number with its word and where it comes from."""
    value = "by cylinders" if number.table is not None else f"{number.value:g}"
    word = f" ({number.word})" if number.word else ""
    return f"{value}{word}, {number.source}"


def show_causes(base: RuleBase) -> dict[str, Any]:
    """Return the causes document."""
    return {"schema": "show-causes/1", "causes": [_cause_entry(c) for c in base.causes.values()]}


def _cause_entry(cause: Cause) -> dict[str, Any]:
    return {
        "id": cause.id,
        "label": cause.label,
        "family": cause.family,
        "jasc": cause.jasc,
        "at": cause.at,
        "needs": list(cause.needs),
        "remedies": list(cause.remedies),
        "note": cause.note,
        "source": list(cause.source),
    }


def show_checks(base: RuleBase) -> dict[str, Any]:
    """Return the checks document."""
    return {"schema": "show-checks/1", "checks": [_check_entry(c) for c in base.checks.values()]}


def _check_entry(check: Check) -> dict[str, Any]:
    return {
        "id": check.id,
        "label": check.label,
        "at": check.at,
        "gives": [str(r) for r in check.gives],
        "minutes": check.minutes.value,
        "minutes_source": check.minutes.source,
        "access": list(check.access),
        "people": check.people,
        "tools": list(check.tools),
        "refit": check.refit,
        "leaves": list(check.leaves),
        "needs": list(check.needs),
        "cautions": list(check.cautions),
        "how": check.how,
        "source": list(check.source),
    }


def show_remedies(base: RuleBase) -> dict[str, Any]:
    """Return the remedies document."""
    return {"schema": "show-remedies/1", "remedies": [_remedy_entry(base, r) for r in base.remedies.values()]}


def _remedy_entry(base: RuleBase, remedy: Remedy) -> dict[str, Any]:
    return {
        "id": remedy.id,
        "label": remedy.label,
        "at": remedy.at,
        "minutes": remedy.minutes.value,
        "minutes_source": remedy.minutes.source,
        "access": list(remedy.access),
        "parts": remedy.parts,
        "leaves": list(remedy.leaves),
        "seen_by": list(remedy.seen_by),
        "removes": list(base.removes(remedy.id)),
        "may_quiet": list(remedy.may_quiet),
        "cautions": list(remedy.cautions),
        "how": remedy.how,
        "source": list(remedy.source),
    }


def show_layouts(base: RuleBase) -> dict[str, Any]:
    """Return the layouts document."""
    return {
        "schema": "show-layouts/1",
        "layouts": [
            {
                "id": x.id,
                "label": x.label,
                "kind": x.kind,
                "cylinders": x.cylinders,
                "firing_order": list(x.firing_order),
                "positions": list(x.positions),
                "fires": {s: list(c) for s, c in x.fires.items()},
                "start_aid": dict(x.start_aid),
                "drive": x.drive,
                "pressurised": x.pressurised,
                "source": list(x.source),
            }
            for x in base.layouts.values()
        ],
    }


def show_limits(base: RuleBase) -> dict[str, Any]:
    """Return the limits document."""
    return {
        "schema": "show-limits/1",
        "limits": [
            {
                "id": x.id,
                "label": x.label,
                "value": x.value.value,
                "unit": x.unit,
                "document": x.document,
                "revision": x.revision,
                "source": list(x.source),
            }
            for x in base.limits.values()
        ],
    }


def show_sources(base: RuleBase) -> dict[str, Any]:
    """Return the sources document."""
    return {"schema": "show-sources/1", "sources": [{"id": x.id, "title": x.label, "kind": x.kind} for x in base.sources.values()]}
