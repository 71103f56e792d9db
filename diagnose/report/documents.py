"""The JSON documents other programs read: `rank/1`, `next/1`, `show/1`, `check/1`, `why/1`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import Account
from diagnose.assessment.finding import Ranked, words
from diagnose.assessment.steps import held_back, steps
from diagnose.case.still_open import of_aircraft
from diagnose.places import Layout
from diagnose.problems import Problem
from diagnose.report.said import alarms
from diagnose.report.step_rows import next_rows, round_, shortened
from diagnose.rulebase.entry import Number
from diagnose.rulebase.records import Cause, Check, Remedy, RuleBase, Symptom, Template
from diagnose.trouble.network import Network


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
        **_aircraft(a),
        "causes": [_cause_row(network, r, a.prepared.stands.get(r.id, "")) for r in finding.causes],
        "families": {f: round_(p) for f, p in finding.families.items()},
        "unmodelled": None if finding.unmodelled is None else round_(finding.unmodelled),
        "ambiguity": [list(group) for group in finding.ambiguity],
        **({"conflict": list(finding.conflict)} if finding.conflict else {}),
        **({"may_return": list(finding.may_return)} if finding.may_return else {}),
        "next": next_rows(network, a, with_results=False)[:3],
    }


def _aircraft(a: Assessment) -> dict[str, Any]:
    """Return the state of the aircraft, thing -> how it is, and what of it is open; nothing where nothing is recorded."""
    aircraft = a.trouble.aircraft
    now = {thing: fact.now for thing, fact in aircraft.facts.items()}
    return {"aircraft": {"now": now, "open": [item.text for item in of_aircraft(aircraft)]}} if now else {}


FIRST_STEPS = 10  # steps, and results of each, that `next/1` gives where not all are asked for: under 200 kB on any layout


def next_document(network: Network, a: Assessment, every: bool = True) -> dict[str, Any]:
    """Return the `next/1` document: checks, and remedies cheaper than any of them, best first, with what each would do.

    All of them, or the first ten with the ten likeliest results of each; then `more` says how many steps are left out.
    """
    rows = next_rows(network, a, with_results=True, most=None if every else FIRST_STEPS)
    more = 0 if every else len(steps(network, a)) - len(rows)
    return {
        "schema": "next/1",
        "warnings": list(alarms(network, a)),
        **_aircraft(a),
        "expected_minutes": round_(a.plan.cost),
        "pays": [v.located.id for v in a.plan.paying],
        "held_back": held_back(a),
        "next": rows if every else [shortened(row, FIRST_STEPS) for row in rows],
        **({"more": more} if more else {}),
    }


def _cause_row(network: Network, ranked: Ranked, stands: str) -> dict[str, Any]:
    located = network.causes[ranked.id]
    row: dict[str, Any] = {
        "id": ranked.id,
        "cause": located.cause.id,
        "place": located.place,
        "family": located.cause.family,
        "jasc": located.cause.jasc,
        "label": located.cause.label,
        "probability": round_(ranked.probability),
        "responsible": round_(ranked.responsible),
        "words": words(ranked.responsible),
        "remedy": list(located.cause.remedies),
    }
    if stands:
        row["stands"] = stands  # its part was exchanged; it is worked on there
    if ranked.removed:
        row["removed"] = True
    return row


def why_document(found: Mapping[str, Account]) -> dict[str, Any]:
    """Return the `why/1` document: from the odds before anything was told, factor by factor in recorded order, to the odds now."""
    return {"schema": "why/1", "causes": [{"id": cause, **_account(account)} for cause, account in found.items()]}


def _account(account: Account) -> dict[str, Any]:
    rows = [{"result": r.entry, "kind": r.kind, "factor": round_(r.factor), "words": r.words} for r in account.reasons]
    return {"start": round_(account.start), "share": round_(account.share), "reasons": rows}


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
        "suffix": dict(symptom.suffix),
    }


def number_text(number: Number, unit: str = "") -> str:
    """Return a number with its unit, its word and where it comes from."""
    rows = " ".join(f"{count} cyl {value:g}" for count, value in (number.table or {}).items())
    value = f"by cylinders ({rows})" if rows else f"{number.value:g}{' ' + unit if unit else ''}"
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
        "refits": list(remedy.refits),
        "seen_by": list(remedy.seen_by),
        "measured_by": list(remedy.measured_by),
        "removes": list(base.removes(remedy.id)),
        "may_quiet": list(remedy.may_quiet),
        "cautions": list(remedy.cautions),
        "how": remedy.how,
        "source": list(remedy.source),
    }


def show_history(base: RuleBase) -> dict[str, Any]:
    """Return the document of the questions on history."""
    rows = [{"id": h.id, "label": h.label, "ask": h.ask, "at": h.at, "answers": dict(h.answers)} for h in base.history.values()]
    return {"schema": "show-history/1", "history": rows}


def show_effects(base: RuleBase) -> dict[str, Any]:
    """Return the document of the templates: what each shows, in one line, and how many causes use it."""
    rows = [{"id": x.id, "label": _shown_by(base, x), "used_by": f"{len(users(base, x))} causes"} for x in base.templates.values()]
    return {"schema": "show-effects/1", "effects": rows}


def users(base: RuleBase, template: Template) -> list[str]:
    """Return the causes that show themselves by a template."""
    return [c.id for c in base.causes.values() if any(e.template == template.id for e in (*c.effects, *c.goes))]


def _shown_by(base: RuleBase, template: Template) -> str:
    """Return what a template shows: its first symptoms in words, or the note of one that leaves that to the causes."""
    if not template.shows:
        return template.note or "what each cause says"
    named = list(dict.fromkeys(base.symptoms[s.ref.symptom].label for s in template.shows))
    return "; ".join(named[:3]) + (f"; and {len(named) - 3} more" if len(named) > 3 else "")


def show_cautions(base: RuleBase) -> dict[str, Any]:
    """Return the cautions document."""
    rows = [{"id": c.id, "text": c.label, "turns": c.turns, "prove_off": c.prove_off} for c in base.cautions.values()]
    return {"schema": "show-cautions/1", "cautions": rows}


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
