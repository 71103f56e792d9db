"""From a calculation to a case: its results checked, and the entries that keep numbers, limits and results together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from diagnose.calc.answer import Answer, as_json
from diagnose.calc.answer import Limit as CalcLimit
from diagnose.calc.units import KINDS, Quantity, written_in
from diagnose.case.log import FROM_FIRST
from diagnose.places import Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import Limit, RuleBase
from diagnose.trouble.results import Result, default_complaint, read_results

Entries = list[tuple[str, Mapping[str, Any]]]
# One unit, two spellings: limits are written the way a rule base spells units.
ALIKE = {"deg crank": "crank deg", "percent": "%", "deltaF": "degF of difference", "deltaC": "degC of difference"}


def shop_limit(base: RuleBase) -> Callable[[CalcLimit], CalcLimit | None]:
    """Return what looks up a shop's own limit by id; shipped typical values are no shop's own."""

    def find(typical: CalcLimit) -> CalcLimit | None:
        limit = base.limits.get(typical.ident)
        if limit is None or limit.document.startswith("typical"):
            return None
        value = _in_unit(limit, typical.unit)
        return CalcLimit(typical.name, value, typical.unit, limit.document, limit.revision, True, "", typical.ident)

    return find


def _in_unit(limit: Limit, wanted: str) -> float:
    unit = ALIKE.get(limit.unit, limit.unit)
    if unit == wanted:
        return limit.value.value
    for kind, units in KINDS.items():
        symbols = {u.symbol for u in units}
        if unit in symbols and wanted in symbols:
            return written_in(Quantity(limit.value.value, unit, kind), wanted)
    raise BadInput(f"limit {limit.id}: its unit is {limit.unit!r}; give it in {wanted}")


def results_of(answer: Answer, base: RuleBase, layout: Layout) -> tuple[Result, ...]:
    """Return the results a calculation came to. Raises BadInput where the rule base does not know one."""
    return read_results(answer.results, base, layout)


def entries(answer: Answer, base: RuleBase, layout: Layout, complaint: bool, check: str, measured: Mapping[str, str]) -> Entries:
    """Return the entries of a calculation for a case: the reading whole, as given and as worked out, then every result.

    With `complaint` its squawks are what was complained of; where there is none, its abnormal test results. Raises
    BadInput for a result the rule base does not know, or where nothing is abnormal to complain of.
    """
    found = results_of(answer, base, layout)
    named = default_complaint(found, base) if complaint else ()
    if complaint and not named:
        raise BadInput("nothing here is abnormal beyond doubt, so it cannot be the complaint; leave --complaint out")
    body = as_json(answer)
    kept = {key: body[key] for key in ("inputs", "values", "limits", "tables", "says", "results")}
    reading = {"calculation": body["schema"], "title": body["title"], **kept, "check": check, **measured}
    rows: Entries = [("reading", reading)]
    for result in found:
        rows.append(("result", {"result": str(result), "complaint": result in named, "check": check, "from": FROM_FIRST}))
    return rows


def read_measured(given: Mapping[str, str]) -> dict[str, str]:
    """Return how a value was come by, the empty fields left out. Raises BadInput for a calibration date that is none."""
    due = given.get("calibration", "")
    if due and due != "none needed":
        from datetime import date

        try:
            date.fromisoformat(due)
        except ValueError:
            raise BadInput(f"calibration due '{due}' is no date; write 2026-11-30, or: none needed") from None
    return {key: text for key, text in given.items() if text}


def expired(due: str, day: str) -> bool:
    """Return whether a calibration had run out on a day (both `2026-11-30`); what is no date has not."""
    from datetime import date

    try:
        return date.fromisoformat(due) < date.fromisoformat(day)
    except ValueError:
        return False
