"""What a calculation may ask of a rule base: layouts, a shop's own limits, the parts of a confirming run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from diagnose import loaded
from diagnose.calc.answer import Limit
from diagnose.calc.confirming import Parts
from diagnose.case.readings import shop_limit
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import node


@dataclass(frozen=True)
class Known:
    """A rule base behind a call, read only once something is asked of it: most arithmetic needs none."""

    base: Callable[[], RuleBase]

    def layout(self, name: str) -> Layout:
        """Return a layout by id. Raises BadInput."""
        return loaded.layout_named(self.base(), name)

    def limit(self, typical: Limit) -> Limit | None:
        """Return the shop's own limit in place of a typical one, None where it has none. Raises BadInput for a wrong unit."""
        return shop_limit(self.base())(typical)

    def confirming(self) -> Parts:
        """Return the parts of a confirming run, each with its words."""
        return {node(part.symptom, part.regime, part.place): part.label for part in self.base().confirming.values()}

    def holders(self, role: str) -> tuple[str, ...]:
        """Return the symptoms that hold a role."""
        return self.base().with_role(role)
