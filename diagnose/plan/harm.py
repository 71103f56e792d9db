"""What a step can hurt: of steps of like worth the gentlest goes first."""

from __future__ import annotations

from collections.abc import Collection

from diagnose.plan.access import HANDS_ON
from diagnose.plan.rules import needs_power
from diagnose.rulebase.records import Check, RuleBase
from diagnose.trouble.aircraft import turning

FULL = "high_power"


def harm(base: RuleBase, check: Check, gained: Collection[str] = (), opens: bool = False) -> tuple[int, ...]:
    """Return the rungs a check stands on: runs or cranks the engine, at full power, and how many things that are shut it opens.

    What stands open already (`gained`) is opened no more. A cover or a magneto off is one thing more, but with the leads off a magneto's
    plate is off. `opens`: it takes in another part than those in the hand, or it is a question: that opens nothing, but a memory is no
    test. A leaned run at check speed asks no more power than the magneto check. The order of the rungs is common practice, no source.
    """
    turns = turning(base, check)
    full = needs_power(base, check) and any(ref.regime == FULL for ref in check.gives)
    shut = len(HANDS_ON & set(check.access) - set(gained))
    case = bool({"cover", "magneto"} & set(check.leaves)) and "leads_off" not in check.access
    return (int(bool(turns & {"run", "crank"})), int(full), shut + int(case) + int(opens))


def hands(base: RuleBase, check: Check) -> int:
    """Return how many trained people a check takes; turning the propeller by hand is never done alone."""
    return max(check.people, 2 if "hand" in turning(base, check) or "second_person" in check.access else 1)
