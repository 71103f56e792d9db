"""The principles that a check or a cause rests on, by the names under which `explain` tells them: the one place that asks for them."""

from __future__ import annotations

from diagnose.rulebase.entry import Entry
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import RuleBase


def topics_of(base: RuleBase, entry: Entry) -> tuple[str, ...]:
    """Return the topics an entry rests on; none where the rule base names none."""
    return tuple(principle.id for principle in principles_of(base, entry))
