"""What a step can hurt: of steps of like worth the gentlest goes first."""

from __future__ import annotations

from diagnose.plan.rules import needs_power
from diagnose.rulebase.records import Check, RuleBase
from diagnose.trouble.aircraft import turning


def harm(base: RuleBase, check: Check) -> tuple[int, ...]:
    """Return the rungs a check stands on: runs or cranks the engine, needs power, opens a magneto.

    The order of the rungs is common practice, no source.
    """
    turns = turning(base, check)
    powered = needs_power(base, check)
    opens = "magneto" in check.leaves or "leads_off" in check.access  # with the leads off its plate is off the magneto
    return (int(bool(turns & {"run", "crank"})), int(powered), int(opens))


def hands(base: RuleBase, check: Check) -> int:
    """Return how many trained people a check takes; turning the propeller by hand is never done alone."""
    return max(check.people, 2 if "hand" in turning(base, check) or "second_person" in check.access else 1)
