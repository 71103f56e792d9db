"""What the tool said at a moment, as a case entry: so that a reader later sees why a check or a repair was chosen."""

from __future__ import annotations

from typing import Any

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import why_check
from diagnose.rulebase.records import RuleBase

TOP = 5


def advice(assessment: Assessment, base: RuleBase) -> dict[str, Any]:
    """Return the fields of an `advice` entry: rule base, state, the first causes with their shares, the check or repair offered."""
    finding = assessment.finding
    said: dict[str, Any] = {
        "rulebase": {"version": base.settings.version, "sha256": base.sha256},
        "state": finding.state,
        "top": [[row.id, round(row.share, 12)] for row in finding.causes[:TOP]],
        "unmodelled": finding.unmodelled,
        "cost": round(assessment.plan.cost, 3),
    }
    paying = assessment.plan.paying
    if assessment.make_good:
        said["make_good"] = [item.label for item in assessment.make_good]
    if not paying:
        return {**said, "check": ""}
    first, second = paying[0], paying[1] if len(paying) > 1 else None
    return {
        **said,
        "check": first.located.id,
        "minutes": round(first.minutes, 3),
        "information": round(first.information, 6),
        "value": round(first.value, 6),
        "why": why_check(first, second),
        "runner_up": second.located.id if second else "",
    }
