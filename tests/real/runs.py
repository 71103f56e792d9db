"""Whole runs as one plain object: everything put to the program, scored and kept entry by entry."""

from __future__ import annotations

import sys
import time
from collections.abc import Collection
from typing import Any

from diagnose.rulebase.records import RuleBase
from tests.real import reading, scores
from tests.real.asking import Told, ask, believe
from tests.real.records import STANDINGS, Presentation

PARTS = ("accounts", "made_up", "differentials")
KEPT = 0.001  # shares below this are left out of what is kept of an entry


def run(base: RuleBase, parts: Collection[str] = PARTS, steps: bool = False, only: Collection[str] = ()) -> dict[str, Any]:
    """Return one run. `steps`: ask for the next check of differentials too; `only`: these ids alone."""
    started = time.process_time()
    found: dict[str, Any] = {"schema": "real/1", "rulebase": {"version": base.settings.version, "sha256": base.sha256}}
    if "accounts" in parts:
        found["accounts"] = accounts(base, only)
    if "made_up" in parts:
        found["made_up"] = made_up(base, only)
    if "differentials" in parts:
        found["differentials"] = differentials(base, steps, only)
    return {**found, "processor_seconds": round(time.process_time() - started, 1)}


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def accounts(base: RuleBase, only: Collection[str] = ()) -> dict[str, Any]:
    """Return scores of the accounts by standing, and each of them."""
    told = {k: a for k, a in reading.read_accounts(base).items() if not only or k in only}
    answers = reading.read_answers(base)
    _say(f"{len(told)} accounts")
    judged = [scores.Judged(ask(a.entry, answers[k].families), answers[k]) for k, a in told.items()]
    by_standing = {s: scores.totals([j for j in judged if j.answer.standing == s]) for s in STANDINGS}
    return {
        "totals": {**by_standing, "all": scores.totals(judged)},
        "said": scores.said(told.values()),
        "families": scores.family_totals([(j.told.families, j.answer.turned_out, j.answer.bet.families) for j in judged]),
        "calibration": scores.calibration(judged),
        "each": {j.told.id: _account(j) for j in judged},
    }


def _account(judged: scores.Judged) -> dict[str, Any]:
    shares = scores.scaled(judged.told.families)
    return {
        "standing": judged.answer.standing,
        "accepted": list(judged.answer.families),
        "turned_out": judged.answer.turned_out,
        "first": judged.first,
        "three": judged.three,
        "cause": judged.cause,
        "sure_wrong": judged.sure_wrong,
        "isolated_unseen": judged.unseen,
        "share": round(sum(shares.get(f, 0.0) for f in judged.answer.families), 6),
        "any": round(judged.told.accepted, 6),
        **kept(judged.told),
    }


def kept(told: Told) -> dict[str, Any]:
    """Return what is kept of one entry: families and causes with their shares, likeliest first, state and next step."""
    return {
        "families": {f: round(told.families[f], 6) for f in told.order if told.families[f] >= KEPT},
        "causes": {c: round(share, 6) for c, share in told.causes.items()},
        "state": told.state,
        "next": told.next,
        "exact": told.exact,
    }


def made_up(base: RuleBase, only: Collection[str] = ()) -> dict[str, Any]:
    """Return agreement on the made-up troubles, and each of them."""
    entries = {k: e for k, e in reading.read_made_up(base).items() if not only or k in only}
    expected = {k: e for k, e in reading.read_expected(base).items() if k in entries}
    _say(f"{len(entries)} made-up troubles")
    told = {k: ask(e) for k, e in entries.items()}
    families = {c.id: c.family for c in base.causes.values()}
    each = {
        k: {
            "suspicion": scores.suspects(told[k], e),
            "step": scores.agrees(told[k].next, (*e.next, *e.next_as_good)),
            "suspects": [*e.suspects, *e.as_good],
            "steps": [*e.next, *e.next_as_good],
            **kept(told[k]),
        }
        for k, e in expected.items()
    }
    return {"totals": scores.of_made_up(told, expected, families), "each": each}


def differentials(base: RuleBase, steps: bool, only: Collection[str] = ()) -> dict[str, Any]:
    """Return how the program stands to the bets, those set aside apart and in totals alone; nothing is asked where nobody has bet."""
    presented = {k: p for k, p in reading.read_presentations(base).items() if not only or k in only}
    _say(f"{len(presented)} differentials")
    told = {k: (ask if steps else believe)(p.entry) for k, p in presented.items() if p.bet is not None}
    open_ones, aside = ({k: p for k, p in presented.items() if p.aside is kept_aside} for kept_aside in (False, True))
    each = {k: _differential(told[k], p) for k, p in open_ones.items() if p.bet is not None}
    totals = {"to learn from": scores.of_differentials(told, open_ones), "set aside": scores.of_differentials(told, aside)}
    return {"totals": totals, "each": each}


def _differential(told: Told, presentation: Presentation) -> dict[str, Any]:
    bet = presentation.bet
    first = scores.leaders(bet) if bet else ()
    return {"suspicion": bool(set(told.order[:1]) & set(first)), "bet": " or ".join(first), **kept(told)}
