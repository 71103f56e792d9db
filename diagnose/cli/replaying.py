"""`replay` and `compare`: a case gone through again, and held against another reading."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from diagnose import loaded
from diagnose.case.case import Case
from diagnose.cli.opened import opened
from diagnose.cli.pager import show_lines
from diagnose.cli.progress import followed
from diagnose.problems import BadInput
from diagnose.report.screens import percent
from diagnose.report.step_rows import DIGITS
from diagnose.report.text import clean, say, wrapped, write_json
from diagnose.review.compare import CaseReading, Comparison, compared, finding_changes, reading
from diagnose.review.replay import Moment, Ranking, moments
from diagnose.review.reproduce import Difference, differences, written_under
from diagnose.trouble.network import Network

SHOWN = 3
TOLD = 12  # differing shares printed


def replay(args: argparse.Namespace) -> int:
    """Go through a case; 1 where the rule base it was written under now gives other numbers than those recorded."""
    case, network = opened(args)
    gone_through = [step.worked_out() for step in followed("going through the entries", moments(case, network), len(case.events))]
    advised = [s for s in gone_through if s.event.kind == "advice"]
    again = ((s, _same_base(case, s, network), differences(s, network)) for s in advised)
    held = list(followed("working out each advice again", again, len(advised)))
    broken = any(same and found for _, same, found in held)
    if args.json:
        write_json(_replay_document(case, network, gone_through, held))
        return 1 if broken else 0
    show_lines(wrapped([clean(line) for line in _replay_lines(case, network, gone_through, held)]).splitlines())
    return 1 if broken else 0


_Held = tuple[Moment, bool, list[Difference]]


def _same_base(case: Case, step: Moment, network: Network) -> bool:
    return written_under(case, step).get("sha256") == network.base.sha256


def _replay_lines(case: Case, network: Network, every: Sequence[Moment], held: Sequence[_Held]) -> Iterator[str]:
    now = network.base.settings.version, network.base.sha256[:12]
    yield f"{case.path}: {len(case.events)} entries, read under rule base {now[0]} ({now[1]})"
    told = {step.event.seq: (same, found) for step, same, found in held}
    for step in every:
        if step.moved:
            yield f"{step.event.seq:>4}  {step.event.kind}: {_subject(step)}"
            yield from _moved_lines(_top_words(step.before), _top_words(step.after))
        elif step.event.seq in told:
            yield from _advice_lines(case, step, *told[step.event.seq])
    yield _verdict(case, network, held)


def _moved_lines(before: str, after: str) -> Iterator[str]:
    """Return the first causes before and after an entry; one line where only others moved, or digits not shown."""
    if before == after:
        yield f"      as before: {after}"
    else:
        yield f"      before: {before}"
        yield f"      after:  {after}"


def _subject(step: Moment) -> str:
    data = step.event.data
    if step.event.kind == "correct":
        return f"entry {data.get('corrects')}, {data.get('result') or 'withdrawn'}"
    return " ".join(str(data.get("result") or data.get("remedy") or data.get("exchange") or "").split())


def _top_words(ranking: Ranking) -> str:
    if ranking.impossible:
        return "the results cannot all be true"
    rows = [f"{cause} {percent(share)}" for cause, share in _top(ranking)]
    return ", ".join(rows) + (" (complaint gone)" if ranking.gone else "") if rows else "nothing entered yet"


def _top(ranking: Ranking) -> list[tuple[str, float]]:
    rows = [(r.id, ranking.share(r.id)) for r in ranking.causes]
    return sorted(rows, key=lambda row: (-round(row[1], 12), row[0]))[:SHOWN]


def _advice_lines(case: Case, step: Moment, same: bool, found: Sequence[Difference]) -> Iterator[str]:
    if not found:
        yield f"{step.event.seq:>4}  advice: reproduced"
        return
    base = written_under(case, step)
    yield f"{step.event.seq:>4}  advice: {len(found)} of its numbers or words differ" + ("" if same else " (another rule base)")
    for one in found:
        yield f"      {one.what}: recorded {one.recorded}, now {one.now}"
    yield f"      written under rule base {base.get('version')} ({str(base.get('sha256'))[:12]})"


def _verdict(case: Case, network: Network, held: Sequence[_Held]) -> str:
    if not held:
        return "no advice is recorded in this case: there is nothing to hold the numbers against"
    wrong = sum(1 for _, same, found in held if same and found)
    other = sum(1 for _, same, found in held if not same and found)
    if wrong:
        return f"NOT REPRODUCED: {wrong} of {len(held)} advice entries differ under the very rule base they were written under"
    if other:
        return f"note: {other} of {len(held)} advice entries differ; they were written under another rule base, so they may"
    return f"reproduced: all {len(held)} advice entries"


def _replay_document(case: Case, network: Network, every: Sequence[Moment], held: Sequence[_Held]) -> dict[str, Any]:
    opening = case.opening.get("rulebase")
    return {
        "schema": "replay/1",
        "case": str(case.path),
        "rulebase": {"version": network.base.settings.version, "sha256": network.base.sha256},
        "opened_under": dict(opening) if isinstance(opening, Mapping) else None,
        "steps": [
            {
                "entry": s.event.seq,
                "kind": s.event.kind,
                "subject": _subject(s),
                "before": _ranking_document(s.before),
                "after": _ranking_document(s.after),
            }
            for s in every
            if s.moved
        ],
        "advice": [
            {
                "entry": s.event.seq,
                "same_rulebase": same,
                "reproduced": not found,
                "differences": [{"what": d.what, "recorded": d.recorded, "now": d.now} for d in found],
            }
            for s, same, found in held
        ],
        "reproduced": None if not held else not any(found for _, _, found in held),
    }


def _ranking_document(ranking: Ranking) -> dict[str, Any]:
    return {
        "causes": [{"id": cause, "share": round(share, DIGITS)} for cause, share in _top(ranking)],
        "unmodelled": None if ranking.unmodelled is None else round(ranking.unmodelled, DIGITS),
        "gone": ranking.gone,
        "impossible": ranking.impossible,
    }


def compare(args: argparse.Namespace) -> int:
    """Print what differs between two readings; 0 whether or not something does."""
    if not args.other and not args.against:
        raise BadInput("give a second case, or --against DIR for a second rule base")
    first_base = tuple(args.rulebase)
    a = reading(*loaded.case_at(args.case, first_base))
    b = reading(*loaded.case_at(args.other or args.case, (*first_base, *args.against)))
    found = compared(a, b)
    if args.json:
        write_json(_compare_document(a, b, found))
        return 0
    show_lines(wrapped([clean(line) for line in _compare_lines(a, b, found)]).splitlines())
    for one in (a, b):
        for warning in one.case.warnings if not args.against else ():
            say(f"note: {one.case.path}: {warning}")
    return 0


def _compare_lines(a: CaseReading, b: CaseReading, found: Comparison) -> Iterator[str]:
    for name, one in (("first", a), ("second", b)):
        base = one.network.base
        yield f"{name + ':':<8}{one.case.path}, {one.case.layout.id}, rule base {base.settings.version} ({base.sha256[:12]})"
    for title, rows in (("only in the first", found.only_first), ("only in the second", found.only_second)):
        yield from _block(title, [f"{subject}={grade}" for subject, grade in rows.items()])
    yield from _block("other grades", [f"{s}: {x} against {y}" for s, (x, y) in found.grades.items()])
    yield from _block("repairs or exchanges only in the first", found.repairs_first)
    yield from _block("repairs or exchanges only in the second", found.repairs_second)
    if found.same_entries:
        yield "the same results, repairs and exchanges"
    yield f"state:   {a.state} against {b.state}" if a.state != b.state else f"state:   {a.state} in both"
    shares = [f"{c}: {percent(x)} against {percent(y)}" for c, (x, y) in list(found.shares.items())[:TOLD]]
    yield from _block("how likely each cause is to blame, where it differs by 0.5 % or more", shares)
    if len(found.shares) > TOLD:
        yield f"    and {len(found.shares) - TOLD} more"
    changes = finding_changes(a, b)
    yield f"THE FINDING CHANGES: {'; '.join(changes)}" if changes else "the finding stays the same"


def _block(title: str, rows: Sequence[str]) -> Iterator[str]:
    if rows:
        yield f"{title}:"
        yield from (f"    {row}" for row in rows)


def _compare_document(a: CaseReading, b: CaseReading, found: Comparison) -> dict[str, Any]:
    return {
        "schema": "compare/1",
        "first": _reading_document(a),
        "second": _reading_document(b),
        "only_first": [f"{s}={g}" for s, g in found.only_first.items()],
        "only_second": [f"{s}={g}" for s, g in found.only_second.items()],
        "grades": [{"subject": s, "first": x, "second": y} for s, (x, y) in found.grades.items()],
        "repairs_only_first": list(found.repairs_first),
        "repairs_only_second": list(found.repairs_second),
        "shares": [{"id": c, "first": round(x, DIGITS), "second": round(y, DIGITS)} for c, (x, y) in found.shares.items()],
        "finding_changes": finding_changes(a, b),
    }


def _reading_document(one: CaseReading) -> dict[str, Any]:
    base = one.network.base
    return {
        "case": str(one.case.path),
        "layout": one.case.layout.id,
        "rulebase": {"version": base.settings.version, "sha256": base.sha256},
        "state": one.state,
        "top": [{"id": c, "share": round(s, DIGITS)} for c, s in list(one.shares.items())[:5]],
        "unmodelled": None if one.unmodelled is None else round(one.unmodelled, DIGITS),
    }
