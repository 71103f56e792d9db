"""One model, evidence and list of questions, in the arrays that every source is built from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from diagnose.belief.caps import Caps
from diagnose.belief.flat import Flat, flat_of
from diagnose.belief.hearing import Counts, Hearing, Story, stories
from diagnose.belief.links import Links
from diagnose.belief.model import Evidence, Model, prior_with_odds
from diagnose.belief.shown import Shown
from diagnose.belief.somehow import Somehow
from diagnose.belief.told import Told

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Row:
    """One question: tighter bounds on findings of the newest look, and causes that meet no blamed clause."""

    bounds: Mapping[str, int] = field(default_factory=dict)
    muted: frozenset[str] = frozenset()


class Setting:
    """Question 0 asks nothing, row i is question i + 1.

    With `counts` every question is asked once for each way to count the repeated looks: those of one way follow each other.
    """

    def __init__(
        self,
        model: Model,
        evidence: Evidence,
        rows: Sequence[Row],
        told: Told | None = None,
        counts: Counts | None = None,
        befallen: dict[Story, list[int]] | None = None,
    ) -> None:
        self.model, self.evidence, self.rows = model, evidence, rows
        self.flat: Flat = flat_of(model)
        self.told = told or Told(model, evidence)
        self.now = self.told.now
        ways = 1 if counts is None else counts.parts[0][1].shape[1] // (len(rows) + 1)
        self.questions = (len(rows) + 1) * ways
        self.caps = Caps([row.bounds for row in rows], ways)
        self.hearing = Hearing(self.flat, self.told, self.caps, counts)
        self.stories = stories(self.flat, evidence) if befallen is None else befallen

    @cached_property
    def priors(self) -> Array:
        """Return the prior of every cause after the history answers."""
        prior = self.flat.priors.copy()
        for cause, factor in self.evidence.odds.items():
            if cause in self.flat.numbers:
                prior[self.flat.numbers[cause]] = prior_with_odds(prior[self.flat.numbers[cause]], factor)
        return prior

    def shows(self, strengths: Array, looks: int) -> Array:
        """Return how often what occurred shows in each of so many looks."""
        import numpy as np

        shows: Array = np.ones(len(strengths)) if looks == 1 else np.maximum(self.evidence.show_again, strengths)
        return shows

    def shown(self, links: Sequence[Links], looks: int) -> Shown:
        """Return how effects show that last through so many looks."""
        shows = self.shows(self.flat.strengths, looks)
        return Shown(links, self.flat.strengths / shows, shows, self.caps)

    def somehow(self, causes: Array, looks: range, story: Story) -> Somehow | None:
        """Return what causes show somehow in their life; None where nothing is told of it."""
        ways = self.hearing.ways(causes, looks, story)
        return Somehow(ways, self.shows(self.flat.somehow, len(looks)), self.caps) if ways else None

    def asked(self, links: Sequence[Links], effects: Array) -> Array:
        """Return effect x question: whether the question caps a finding that such links of the effect feed."""
        import numpy as np

        found = np.zeros((len(effects), self.questions), dtype=bool)
        for one in links:
            for heard in one.heard:
                for changed in heard.changes(self.caps):
                    found[np.ix_(one.find(effects)[0], np.flatnonzero(changed))] = True
        return found

    def owned(self, causes: Array) -> Array:
        """Return for every effect whether it is one of some causes'."""
        import numpy as np

        own = np.zeros(len(self.flat.priors), dtype=bool)
        own[causes] = True
        found: Array = own[self.flat.owners]
        return found

    def places(self, effects: Array, causes: Array) -> tuple[Array, Array]:
        """Return the first effect of each cause and step, and how many there are."""
        import numpy as np

        steps = self.flat.reach.shape[1]
        key = np.searchsorted(causes, self.flat.owners[effects]) * steps + self.flat.steps[effects]
        count = np.bincount(key, minlength=len(causes) * steps)
        first = count.cumsum() - count
        return first.reshape(-1, steps), count.reshape(-1, steps)

    def muted(self, causes: Array) -> Array:
        """Return cause x question: whether the question mutes the cause."""
        import numpy as np

        found = np.zeros((len(causes), self.questions), dtype=bool)
        place = {int(c): i for i, c in enumerate(causes) if c >= 0}
        for index, row in enumerate(self.rows, 1):
            mine = [place[n] for n in (self.flat.numbers[c] for c in row.muted) if n in place]
            found[mine, index :: len(self.rows) + 1] = True
        return found
