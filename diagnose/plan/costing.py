"""What checks and remedies cost, by the access there is."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from diagnose.plan import access
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.repair_cost import Option, Prices, repair_cost
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.repair_groups import RepairGroup

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Costing:
    """What checks and remedies cost, by the access there is."""

    def __init__(self, base: RuleBase, groups: Sequence[RepairGroup], checks: Sequence[LocatedCheck], gained: Collection[str]) -> None:
        self.base, self.groups, self.checks, self.gained = base, groups, checks, frozenset(gained)
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

        It is the cheapest of repairing as things stand and of opening some access first: otherwise a check that tells
        nothing would seem to save what its cowling costs every remedy.
        """
        steps = {c.check.access for c in self.checks} | {g.remedy.access for g in self.groups}
        ways = [(0.0, self.prices(self.gained))]
        ways += [(self.reach(needed, self.gained), self.prices(access.after(self.base, needed, self.gained))) for needed in sorted(steps)]
        return min(minutes + float(repair_cost(now[:, None], prices)[0]) for minutes, prices in ways)

    def option(self, index: int, table: Array) -> Option:
        """Return a check as the decision sees it."""
        after = access.after(self.base, self.checks[index].check.access, self.gained)
        return Option(self.minutes(index, self.gained), table, self.prices(after), lambda j: self.minutes(j, after))
