"""From a model, evidence and questions to families of sources, and to the factor of all that meets no result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from diagnose.belief.bounds import Bound, Kept
from diagnose.belief.flat import Flat, flat_of
from diagnose.belief.hearing import NOTHING, Counts, Hearing, Story, stories
from diagnose.belief.model import Evidence, Model, occurrence, prior_with_odds
from diagnose.belief.shown import Heard, Links, Shown
from diagnose.belief.somehow import Somehow
from diagnose.belief.sources import Family, Life
from diagnose.belief.told import NONE, Told

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Row:
    """One question: tighter bounds on findings of the newest look, and causes that meet no blamed clause."""

    bounds: Mapping[str, int] = field(default_factory=dict)
    muted: frozenset[str] = frozenset()


class Builder:
    """Builds the families of one model and evidence for a list of rows; question 0 asks nothing, row i is question i + 1.

    With `counts` every question is asked once for each way to count the repeated looks: those of one way follow each other.
    """

    def __init__(
        self, model: Model, evidence: Evidence, rows: Sequence[Row], told: Told | None = None, counts: Counts | None = None
    ) -> None:
        self.model, self.evidence, self.rows = model, evidence, rows
        self.flat: Flat = flat_of(model)
        self.told = told or Told(model, evidence)
        self.now = self.told.now
        self.ways = 1 if counts is None else counts.parts[0][1].shape[1] // (len(rows) + 1)
        self.questions = (len(rows) + 1) * self.ways
        self.caps = self._caps()
        self.hearing = Hearing(self.flat, self.told, self.caps, counts)
        self.stories = stories(self.flat, evidence)
        self._sort_out()

    def _caps(self) -> dict[str, Array]:
        import numpy as np

        caps: dict[str, Array] = {}
        for index, row in enumerate(self.rows, 1):
            for finding, bound in row.bounds.items():
                if finding not in caps:
                    caps[finding] = np.full(self.questions, NONE)
                caps[finding][index :: len(self.rows) + 1] = bound
        return caps

    def _sort_out(self) -> None:
        """Tell the effects that can meet a result or are told of in an earlier look from those that bounds alone tell of."""
        import numpy as np

        ordinary = np.ones(len(self.flat.priors), dtype=bool)
        ordinary[[c for causes in self.stories.values() for c in causes]] = False
        self.links = self.hearing.links(range(self.now + 1), NOTHING)
        simple = {f for f, x in self.links.items() if len(x.heard) == 1 and x.heard[0].look == self.now and not any(x.heard[0].masks)}
        self.lasting, self.met = (np.zeros(len(self.flat.strengths), dtype=bool) for _ in range(2))
        for finding, links in self.links.items():
            if finding not in simple:
                (self.lasting if any(h.look != self.now for h in links.heard) else self.met)[links.effects] = True
        self.somehow = self._somehow(np.flatnonzero(ordinary), range(self.now + 1), NOTHING)
        coupled = self.somehow.bits != 0 if self.somehow else np.zeros(len(self.flat.priors), dtype=bool)
        coupled[self.flat.owners[self.lasting | self.met]] = True
        self.plain, self.free = np.flatnonzero(coupled & ordinary), np.flatnonzero(~coupled & ordinary)
        bounds = [Bound(self.flat.fed[f], self.links[f].heard[0].bound, self.caps.get(f)) for f in sorted(simple)]
        self.kept = Kept(self.flat, bounds, self.questions)
        self.bounded, self.factors = self.kept.factors(self.lasting | self.met)

    def _somehow(self, causes: Array, looks: range, story: Story) -> Somehow | None:
        """Return what causes show somehow in their life; None where nothing is told of it."""
        ways = self.hearing.ways(causes, looks, story)
        return Somehow(ways, self._shows(self.flat.somehow, len(looks)), self.caps) if ways else None

    def _shows(self, strengths: Array, looks: int) -> Array:
        """Return how often what occurred shows in each of so many looks."""
        import numpy as np

        shows: Array = np.ones(len(strengths)) if looks == 1 else np.maximum(self.evidence.show_again, strengths)
        return shows

    def families(self, befallen: Iterable[Story], plain: bool = True) -> list[Family]:
        """Return every cause that can meet a result, or is told of in more than the newest look: nothing befell it, or some of this."""
        import numpy as np

        found = [self._plain()] if plain and len(self.plain) else []
        return found + [self._lives(story, np.array(self.stories[story])) for story in befallen]

    def _plain(self) -> Family:
        """Return the causes nothing befell: most of their effects are told of in the newest look alone."""
        import numpy as np

        apart = self.lasting | self.met
        effects = np.flatnonzero(apart & self._owned(self.plain))
        factor = np.ones((len(self.plain), self.flat.reach.shape[1], self.questions))
        having = np.isin(self.plain, self.bounded)
        factor[having] = self.factors[np.isin(self.bounded, self.plain)]
        now = [x for x in self.links.values() if all(h.look == self.now for h in x.heard) and any(x.heard[0].masks)]
        kept, lasts = self.kept.of(effects), self.lasting[effects]
        kept[lasts] = 1.0
        every = list(self.links.values())
        asked = np.where(lasts[:, None], self._asked(every, effects), self._asked(now, effects))
        newest = Shown(now, self.flat.strengths, np.ones(len(self.flat.strengths)), self.caps)
        shown = newest, self._shown(every, self.now + 1)
        return Family(self.plain, [self._life(self.plain, effects, shown, lasts, kept, asked, self.somehow, factor)])

    def _owned(self, causes: Array) -> Array:
        """Return for every effect whether it is one of some causes'."""
        import numpy as np

        own = np.zeros(len(self.flat.priors), dtype=bool)
        own[causes] = True
        found: Array = own[self.flat.owners]
        return found

    def _lives(self, story: Story, causes: Array) -> Family:
        """Return causes that were removed, quieted or moved, life by life."""
        starts, ends = [0, *story.removed], [*story.removed, self.now + 1]
        return Family(causes, [self._told_life(story, causes, range(a, b)) for a, b in zip(starts, ends, strict=True)])

    def _told_life(self, story: Story, causes: Array, looks: range) -> Life:
        """Return one life of causes; whatever is told of an effect goes into its table."""
        import numpy as np

        links = list(self.hearing.links(looks, story).values())
        touched = np.zeros(len(self.flat.strengths), dtype=bool)
        for one in links:
            touched[one.effects] = True
        effects = np.flatnonzero(touched & self._owned(causes))
        shown = self._shown(links, len(looks))
        kept, lasts = np.ones((len(effects), self.questions)), np.ones(len(effects), dtype=bool)
        somehow = self._somehow(causes, looks, story)
        prior = self.priors[causes] if looks.start == 0 else np.full(len(causes), float(self.evidence.bad_repair))
        return self._life(causes, effects, (shown, shown), lasts, kept, self._asked(links, effects), somehow, None, prior)

    def _life(
        self,
        causes: Array,
        effects: Array,
        shown: tuple[Shown, Shown],
        lasts: Array,
        kept: Array,
        asked: Array,
        somehow: Somehow | None,
        factor: Array | None,
        prior: Array | None = None,
    ) -> Life:
        first, count = self._places(effects, causes)
        return Life(
            causes,
            self.priors[causes] if prior is None else prior,
            self.flat.reach[causes],
            effects,
            first,
            count,
            *shown,
            lasts,
            kept,
            asked,
            somehow,
            None if somehow is None else somehow.asked(causes, self.questions),
            factor,
        )

    def _shown(self, links: Sequence[Links], looks: int) -> Shown:
        """Return how effects show that last through so many looks."""
        shows = self._shows(self.flat.strengths, looks)
        return Shown(links, self.flat.strengths / shows, shows, self.caps)

    def _asked(self, links: Sequence[Links], effects: Array) -> Array:
        """Return effect x question: whether the question caps a finding that such links of the effect feed."""
        import numpy as np

        found = np.zeros((len(effects), self.questions), dtype=bool)
        for one in links:
            for heard in one.heard:
                for changed in heard.changes(self.caps):
                    found[np.ix_(one.find(effects)[0], np.flatnonzero(changed))] = True
        return found

    def _places(self, effects: Array, causes: Array) -> tuple[Array, Array]:
        """Return the first effect of each cause and step, and how many there are."""
        import numpy as np

        steps = self.flat.reach.shape[1]
        key = np.searchsorted(causes, self.flat.owners[effects]) * steps + self.flat.steps[effects]
        count = np.bincount(key, minlength=len(causes) * steps)
        first = count.cumsum() - count
        return first.reshape(-1, steps), count.reshape(-1, steps)

    @cached_property
    def priors(self) -> Array:
        """Return the prior of every cause after the history answers."""
        prior = self.flat.priors.copy()
        for cause, factor in self.evidence.odds.items():
            if cause in self.flat.numbers:
                prior[self.flat.numbers[cause]] = prior_with_odds(prior[self.flat.numbers[cause]], factor)
        return prior

    def leaks(self) -> tuple[list[Family], Array]:
        """Return the leaks that can meet a result or last, and the factor of all others by question."""
        import numpy as np

        scale: Array = np.ones(self.questions)
        found: list[tuple[tuple[float, ...], tuple[Heard, ...], bool]] = []
        for finding in dict.fromkeys((*self.told.findings, *self.caps)):
            levels = self.model.leaks.get(finding)
            heard = self.hearing.heard(finding, range(self.now + 1), NOTHING) if levels is not None else ()
            lasting = finding in self.told.complaint and (len(heard) > 1 or any(h.times is not None for h in heard))
            for together in [heard] if lasting else [(h,) for h in heard]:
                if lasting or any(together[0].masks):
                    found.append((levels or (), together, not lasting))
                else:
                    scale = scale * self._leak_kept(levels or (), together[0])
        return [self._leak_family(found)] if found else [], scale

    def _leak_kept(self, levels: tuple[float, ...], heard: Heard) -> Array:
        import numpy as np

        most = np.minimum(self.caps[heard.capped] if heard.capped else NONE, heard.bound)
        kept: Array = np.cumsum(levels)[np.minimum(most, len(levels) - 1)]
        return kept if heard.times is None else kept**heard.times

    def _leak_family(self, leaks: Sequence[tuple[tuple[float, ...], tuple[Heard, ...], bool]]) -> Family:
        """Return leaks (levels, looks heard in, drawn anew in each) as sources always there, each with one effect that shows its levels."""
        import numpy as np

        count = len(leaks)
        links, often, shows = [], np.zeros(count), np.ones(count)
        for number, (levels, heard, anew) in enumerate(leaks):
            whole = sum(levels[1:])
            often[number], shows[number] = (1.0, 1.0) if anew else occurrence(whole, self.evidence.show_again, self.now + 1)
            shares = levels if anew or not whole else [0.0, *(p / whole for p in levels[1:])]
            links.append(Links(np.array([number]), np.array([shares]), heard, anew))
        shown = Shown(links, often, shows, self.caps)
        effects = np.arange(count)
        ones, kept, lasts = np.ones((count, 1)), np.ones((count, self.questions)), np.ones(count, dtype=bool)
        asked = self._asked(links, effects)
        none = np.full(count, -1)
        return Family(none, [Life(none, ones[:, 0], ones, effects, effects[:, None], ones.astype(int), shown, shown, lasts, kept, asked)])

    @cached_property
    def _beside(self) -> tuple[Array, Array]:
        """Return the factor of every cause that is no source, by question, and how likely each is there (cause x question)."""
        import numpy as np

        chosen = np.isin(self.bounded, self.free)
        factors, causes = self.factors[chosen], self.bounded[chosen]
        reached = np.zeros((len(causes), self.questions))
        for step in reversed(range(factors.shape[1])):
            reached = (self.flat.reach[causes, step][:, None] + reached) * factors[:, step]
        there = np.repeat(self.priors[self.free][:, None], self.questions, axis=1)
        there[np.searchsorted(self.free, causes)] *= reached
        if self.somehow is not None:
            self._show_somehow(self.somehow, there)
        whole = there + (1.0 - self.priors[self.free])[:, None]
        return whole.prod(axis=0), there / whole

    def _show_somehow(self, somehow: Somehow, there: Array) -> None:
        """Take from causes that are no source what bounds forbid them to show somehow."""
        import numpy as np

        touched = np.flatnonzero(somehow.touched[self.free])
        causes = self.free[touched]
        factor = np.repeat(somehow.tables(causes, np.zeros(len(causes), dtype=int), {})[0][:, None], self.questions, axis=1)
        cause, question = somehow.asked(causes, self.questions).nonzero()
        if len(cause):
            factor[cause, question] = somehow.tables(causes[cause], question, {})[0]
        there[touched] *= factor

    @property
    def beside(self) -> Array:
        """Return the factor of every cause that is no source, by question."""
        return self._beside[0]

    @property
    def beside_present(self) -> Array:
        """Return how likely each cause that is no source is there (`free` x question)."""
        return self._beside[1]

    def muted(self, causes: Array) -> Array:
        """Return cause x question: whether the question mutes the cause."""
        import numpy as np

        found = np.zeros((len(causes), self.questions), dtype=bool)
        place = {int(c): i for i, c in enumerate(causes) if c >= 0}
        for index, row in enumerate(self.rows, 1):
            mine = [place[n] for n in (self.flat.numbers[c] for c in row.muted) if n in place]
            found[mine, index :: len(self.rows) + 1] = True
        return found

    @property
    def cells(self) -> int:
        """Return how many table cells its sources take for one question."""
        return sum(2 ** int(mask).bit_count() for family in self.families(self.stories) for mask in family.bits())
