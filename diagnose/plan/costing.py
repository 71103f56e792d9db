"""What checks and remedies cost, by the access there is."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from diagnose.plan import access
from diagnose.plan.access import HANDS_ON
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.harm import hands, harm
from diagnose.plan.repair_cost import Option, Prices, repair_cost
from diagnose.rulebase.records import Check, RuleBase
from diagnose.trouble.repair_groups import RepairGroup

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Costing:
    """What checks and remedies cost, by the access there is."""

    def __init__(
        self,
        base: RuleBase,
        groups: Sequence[RepairGroup],
        checks: Sequence[LocatedCheck],
        gained: Collection[str],
        hand: Collection[str] = (),
    ) -> None:
        self.base, self.groups, self.checks, self.gained, self.hand = base, groups, checks, frozenset(gained), frozenset(hand)
        self.prices = cache(self._prices)
        self.reach = cache(self._reach)

    def _reach(self, needed: tuple[str, ...], gained: frozenset[str]) -> float:
        return access.minutes_to_reach(self.base, needed, gained)

    def _prices(self, gained: frozenset[str]) -> Prices:
        import numpy as np

        settings = self.base.settings
        minutes = [g.remedy.minutes.value + self.reach(g.remedy.access, gained) + settings.retest_minutes for g in self.groups]
        return Prices(np.array(minutes), settings.expert_minutes)

    def minutes(self, index: int, gained: frozenset[str]) -> float:
        """Return the minutes of a check with the access it lacks."""
        check = self.checks[index].check
        return check.minutes.value + self.reach(check.access, gained)

    def after_remedy(self, index: int) -> Prices:
        """Return the prices once the access of a remedy is open."""
        return self.prices(access.after(self.base, self.groups[index].remedy.access, self.gained))

    def without_checks(self, now: Array) -> float:
        """Return the expected minutes to a fixed engine with no further check, access that several remedies share paid once.

        It is the cheapest of repairing as things stand and of opening some access of the remedies first: otherwise a check
        that tells nothing would seem to save what its cowling costs every remedy. No check has a say in it.
        """
        needed = {g.remedy.access[:depth] for g in self.groups for depth in range(len(g.remedy.access) + 1)}
        found = []
        for first in sorted(needed | {()}):
            prices = self.prices(access.after(self.base, first, self.gained))
            found.append(self.reach(first, self.gained) + float(repair_cost(now[:, None], prices)[0]))
        return min(found)

    def option(self, index: int, table: Array) -> Option:
        """Return a check as the decision sees it."""
        check = self.checks[index].check
        after, asked = access.after(self.base, check.access, self.gained), self.asks(check)
        return Option(
            self.minutes(index, self.gained),
            table,
            self.prices(after),
            lambda j: self.minutes(j, after),
            harm(self.base, check, self.gained, asked or self._another(self.checks[index])),
            hands(self.base, check),
            asked,
        )

    def _another(self, located: LocatedCheck) -> bool:
        """Return whether a check takes in another part than those in the hand."""
        return bool(self.hand and HANDS_ON & set(located.check.access)) and located.place not in self.hand

    def asks(self, check: Check) -> bool:
        """Return whether a check only asks people how the trouble goes."""
        return all(self.base.symptoms[ref.symptom].kind == "course" for ref in check.gives)
