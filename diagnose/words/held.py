"""The limit that a number in somebody's words was held against, named: a verdict without its limit is no verdict."""

from __future__ import annotations

import re

from diagnose.calc.mag_check import TYPICAL_DIFFERENCE, TYPICAL_DROP
from diagnose.rulebase.records import Limit, RuleBase
from diagnose.words.amounts import HELD_AGAINST

LIMITS = {
    "mag_drop": TYPICAL_DROP.ident,
    "drop_difference": TYPICAL_DIFFERENCE.ident,
    **{role: limit for role, (limit, _, _) in HELD_AGAINST.items()},
}
PLACE = re.compile(r"\b(?:no\.?|number|cyl\w*) ?\d+|\b\d+ ?[- ]?(?:top|bottom|front|rear|upper|lower|left|right)\b|#\d+", re.IGNORECASE)


def held_against(base: RuleBase, result: str, words: str) -> str:
    """Return the limit that a result (`symptom.regime@place=grade`) read from words with a number was judged by; empty where none was.

    The number of a cylinder is no amount.
    """
    symptom = base.symptoms.get(result.partition("@")[0].partition(".")[0])
    limit = base.limits.get(LIMITS.get(symptom.role, "")) if symptom is not None else None
    return limit_words(limit) if limit is not None and re.search(r"\d", PLACE.sub("", words)) else ""


def limit_words(limit: Limit) -> str:
    """Return a limit with its document and revision, or that it is a typical one, and its source."""
    told = limit.document if limit.revision in ("", "-") else f"{limit.document}, revision {limit.revision}"
    label = limit.label[:1].lower() + limit.label[1:]
    return f"{label}, {limit.value.value:g} {limit.unit} ({told}; source: {limit.value.source})"
