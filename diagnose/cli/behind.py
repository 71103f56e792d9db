"""What stands behind the keys of a step: why, cautions, how, every suspect."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import Account, accounts, odds, why_check
from diagnose.cli.paging import Pages
from diagnose.cli.talk import Talk
from diagnose.plan.plan import Valued
from diagnose.report import screens
from diagnose.report.brief import suspects
from diagnose.report.said import aircraft_words, alarms, cause_name
from diagnose.report.tells_apart import physics, tells_apart
from diagnose.rulebase.records import Check, Remedy

MOST = 3  # entries of a suspect told one by one
ALL = 30  # suspects on the longer list


def pages(talk: Talk, a: Assessment, cautions: Sequence[str], entry: Check | Remedy | None = None, valued: Valued | None = None) -> Pages:
    """Return the texts behind the keys of a step."""
    return {
        "w": lambda: why(talk, a, valued),
        "c": lambda: ["CAUTIONS", "", *(f"! {text}" for text in dict.fromkeys((*alarms(talk.network, a), *cautions)))],
        "h": lambda: how(entry) if entry is not None else ["This step has no procedure of its own."],
        "l": lambda: everyone(talk, a),
    }


def how(entry: Check | Remedy) -> list[str]:
    """Return the procedure in full: how, tools, what is to be made good afterwards."""
    told = [entry.label, "", entry.how]
    told += [f"Tools: {', '.join(entry.tools)}."] if entry.tools else []
    if isinstance(entry, Check):
        told += [f"Afterwards, for the record: {entry.refit}"] if entry.refit else []
        told += [f"Not here: {entry.not_here}"] if entry.not_here else []
    return [*told, f"Minutes from: {entry.minutes.source}. Source: {', '.join(entry.source) or 'none given'}."]


def everyone(talk: Talk, a: Assessment) -> list[str]:
    """Return the longer list of suspects, and what does not count."""
    rows = suspects(talk.network, a, ALL)
    told = [f"COMPLAINT: {'; '.join(screens.result_words(talk.network, c) for c in a.complaint)}", ""] if a.complaint else []
    told += ["SUSPECTS, how likely each is behind the complaint; more than one can be, so they may add to over 100 %", ""]
    told += [f"{row.right:>11}  {row.left}" for row in rows]
    if a.finding.unmodelled is not None:
        told.append(f"{screens.percent(a.finding.unmodelled):>11}  something else, not in this rule base")
    state = aircraft_words(a.trouble.aircraft)
    told += [
        "",
        *([f"Aircraft: {state}."] if state else []),
        *screens.exchanged_words(talk.network, a.trouble.looks),
        *screens.set_aside(talk.network, a),
    ]
    return [*told, *([f"Not exact: {a.prepared.narrowed}"] if a.prepared.narrowed else [])]


def why(talk: Talk, a: Assessment, valued: Valued | None) -> list[str]:
    """Return why this step, which suspects it tells apart and by what physics, and what made its first suspects likely."""
    others = [v for v in a.plan.paying if v is not valued]
    if valued is not None:
        told = ["WHAT THIS STEP TELLS APART, AND WHY IT CAN", "", *tells_apart(talk.network, a, valued)]
        told += ["", f"Worth it: {why_check(valued, others[0] if others else None)}."]
    else:
        told = ["WHY THIS STEP", "", _no_check(a)]
        told += [line for r in a.finding.causes[:1] for line in physics(talk.network.base, talk.network.causes[r.id].cause)]
    found = accounts(talk.network, a.trouble.looks, [r.id for r in a.finding.causes[:2]])
    for cause, account in found.items():
        told += ["", f"{cause_name(talk.network, cause)}: {screens.percent(account.share)}", *_account(talk, account)]
    return told


def _no_check(a: Assessment) -> str:
    if a.plan.repair_first:
        return "Trying this repair takes fewer minutes, all in all, than any check would save."
    return "No check left pays for its own minutes; what stands out is repaired, or made good, and looked at again."


def _short(number: float) -> str:
    """Return a factor short and without powers of ten."""
    return f"{number:.0f}" if number >= 100 else f"{number:.2g}"


def _account(talk: Talk, account: Account) -> list[str]:
    shown = [r for r in account.heaviest if r.matters][:MOST]
    told = [f"  {screens.entry_words(talk.network, r)}: {r.words} (odds x{_short(r.factor)})" for r in shown]
    return [f"  before anything was told: {screens.percent(account.start)}, odds {odds(account.start):.2g}", *told]
