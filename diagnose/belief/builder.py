"""From a model, evidence and questions to families of sources, and to the factor of all that meets no result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.bounds import Bound, Kept
from diagnose.belief.flat import Flat, Kind, flat_of
from diagnose.belief.model import Evidence, Model, occurrence, prior_with_odds
from diagnose.belief.shown import Heard, Links, Shown
from diagnose.belief.sources import Family, Life
from diagnose.belief.told import LEVELS, NONE, Told

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Row:
    """One question: tighter bounds on findings of the newest look, and causes that meet no blamed clause."""

    bounds: Mapping[str, int] = field(default_factory=dict)
    muted: frozenset[str] = frozenset()


class Story(NamedTuple):
    """What looks hold for a cause beside being seen: where it was removed, where it was quieted, what its links feed there."""

    removed: tuple[int, ...] = ()
    quieted: frozenset[int] = frozenset()
    moved: tuple[tuple[int, tuple[tuple[str, str], ...]], ...] = ()


class Builder:
    """Builds the families of one model and evidence for a list of rows; question 0 asks nothing, row i is question i + 1."""

    def __init__(self, model: Model, evidence: Evidence, rows: Sequence[Row]) -> None:
        self.model, self.evidence, self.rows = model, evidence, rows
        self.flat: Flat = flat_of(model)
        self.told = Told(model, evidence)
        self.now = self.told.now
        self.questions = len(rows) + 1
        self.caps = self._caps()
        self.stories = self._stories()
        self._sort_out()

    def _caps(self) -> dict[str, Array]:
        import numpy as np

        caps: dict[str, Array] = {}
        for index, row in enumerate(self.rows, 1):
            for finding, bound in row.bounds.items():
                if finding not in caps:
                    caps[finding] = np.full(self.questions, NONE)
                caps[finding][index] = bound
        return caps

    def _stories(self) -> dict[Story, list[int]]:
        """Return the causes that were removed, quieted or moved, by what befell them."""
        looks = self.evidence.looks
        found: dict[Story, list[int]] = {}
        touched = {c for t, look in enumerate(looks) for c in (*(look.removed if t else ()), *look.quieted, *look.moved)}
        for cause in sorted(self.flat.numbers[c] for c in touched if c in self.flat.numbers):
            name = self.model.causes[cause].id
            story = Story(
                tuple(t for t, look in enumerate(looks) if t and name in look.removed),
                frozenset(t for t, look in enumerate(looks) if name in look.quieted),
                tuple((t, tuple(sorted(look.moved[name].items()))) for t, look in enumerate(looks) if name in look.moved),
            )
            found.setdefault(story, []).append(cause)
        return found

    def _sort_out(self) -> None:
        """Tell the effects that can meet a result or are told of in an earlier look from those that bounds alone tell of."""
        import numpy as np

        plain = range(self.now + 1)
        every = [(kind, self._heard(kind, plain, Story())) for kind in self.flat.all_kinds((*self.told.findings, *self.caps))]
        every = [(kind, heard) for kind, heard in every if heard]
        simple = [(kind, heard) for kind, heard in every if len(heard) == 1 and heard[0].look == self.now and not any(heard[0].masks)]
        ordinary = np.ones(len(self.flat.priors), dtype=bool)
        ordinary[[c for causes in self.stories.values() for c in causes]] = False
        chosen = [self._links(kind, heard) for kind, heard in every]
        choices = self._choices(np.flatnonzero(ordinary), plain, Story())
        self.links = [*chosen, *choices]
        self.meeting = [links for (kind, heard), links in zip(every, chosen, strict=True) if (kind, heard) not in simple] + choices
        self.lasting = np.zeros(len(self.flat.strengths), dtype=bool)
        self.met = np.zeros(len(self.flat.strengths), dtype=bool)
        for links in self.meeting:
            last = any(h.look != self.now for h in links.heard)
            (self.lasting if last else self.met)[links.effects] = True
        self.apart = self.lasting | self.met
        coupled = np.zeros(len(self.flat.priors), dtype=bool)
        coupled[self.flat.owners[self.apart]] = True
        self.special = ~ordinary
        self.plain = np.flatnonzero(coupled & ordinary)
        self.free = np.flatnonzero(~coupled & ordinary)
        bounds = [Bound(self.flat.fed[kind], heard[0].bound, self.caps.get(heard[0].capped)) for kind, heard in simple]
        self.kept = Kept(self.flat, bounds, self.questions)
        self.bounded, self.factors = self.kept.factors(self.apart)

    def _heard(self, kind: Kind, looks: Iterable[int], story: Story) -> tuple[Heard, ...]:
        """Return the looks in which links of a kind are told of, in a life."""
        moved = {t: dict(by) for t, by in story.moved}
        found = []
        for t in looks:
            masks, bound, capped = [0] * LEVELS, NONE, ""
            fed = moved.get(t, {}).get(kind.finding, kind.finding)
            if not (t in story.quieted and fed in self.told.complaint):
                masks = self.told.masks(t, fed, kind.somehow)
                bound = self.evidence.looks[t].bounds.get(fed, NONE)
                capped = fed if t == self.now and fed in self.caps else ""
            for hidden, least in ((kind.finding, 1), *kind.also):
                there = moved.get(t, {}).get(hidden, hidden)
                bit = self.told.hidden.get((t, there), 0)
                if bit and not (t in story.quieted and there in self.told.complaint):
                    masks = [m | bit if level >= least else m for level, m in enumerate(masks)]
            if any(masks) or bound < NONE or capped:
                found.append(Heard(t, masks, bound, capped))
        return tuple(found)

    def _links(self, kind: Kind, heard: tuple[Heard, ...]) -> Links:
        fed = self.flat.fed[kind]
        return Links(fed.effects, fed.levels, heard)

    def _choices(self, causes: Array, looks: Sequence[int], story: Story) -> list[Links]:
        """Return how causes that show somehow meet results of several options: one draw for each result, whatever the look."""
        import numpy as np

        able = np.array([self.flat.somehow.get(int(c), -1) for c in causes], dtype=int)
        causes, able = causes[able >= 0], able[able >= 0]
        found: list[Links] = []
        for options, by_look in self.told.choices.items():
            told = [t for t in looks if t in by_look]
            chances = np.array([self._chance(dict(options), causes, able, t, story) for t in told]).reshape(len(told), len(causes))
            if (chances == chances[:1]).all():
                some = chances.any(axis=0)
                columns = [_alike(able[some], [(t, by_look[t]) for t in told], chances[0, some])] if some.any() else []
            else:
                each = [(column, able[(chances == column[:, None]).all(axis=0)]) for column in np.unique(chances, axis=1).T]
                columns = [_differing(effects, [(t, by_look[t]) for t in told], column) for column, effects in each if column.any()]
            found += columns
        return found

    def _chance(self, options: Mapping[str, int], causes: Array, able: Array, t: int, story: Story) -> Array:
        """Return how likely causes that show somehow meet a result of several options in one look: 0 where linked to one."""
        import numpy as np

        moved = dict(dict(story.moved).get(t, ()))
        chance, written = np.zeros(len(causes)), np.zeros(len(self.flat.priors), dtype=bool)
        for origin in dict.fromkeys((*options, *moved)):
            fed = moved.get(origin, origin)
            if fed not in options:
                continue
            members = (member for pair in self.model.pairs.get(origin, ()) for member in pair)
            for kind in self.flat.all_kinds((origin, *members)):
                if not kind.somehow:
                    written[self.flat.owners[self.flat.fed[kind].effects]] = True
                elif not (t in story.quieted and fed in self.told.complaint):
                    having, levels = self._links(kind, ()).find(able)
                    chance[having] = np.maximum(chance[having], levels[:, options[fed] :].sum(axis=1))
        chance[written[causes]] = 0.0
        return chance

    def families(self) -> list[Family]:
        """Return every cause that can meet a result, or is told of in more than the newest look."""
        import numpy as np

        found = [self._plain()] if len(self.plain) else []
        found += [self._lives(story, np.array(causes)) for story, causes in self.stories.items()]
        return found

    def _plain(self) -> Family:
        """Return the causes nothing befell: most of their effects are told of in the newest look alone."""
        import numpy as np

        own = np.zeros(len(self.flat.priors), dtype=bool)
        own[self.plain] = True
        effects = np.flatnonzero(self.apart & own[self.flat.owners])
        factor = np.ones((len(self.plain), self.flat.reach.shape[1], self.questions))
        place = np.searchsorted(self.bounded, self.plain)
        place[place == len(self.bounded)] = 0
        having = self.bounded[place] == self.plain if len(self.bounded) else np.zeros(len(self.plain), dtype=bool)
        factor[having] = self.factors[place[having]]
        now = [links for links in self.meeting if all(h.look == self.now for h in links.heard)]
        newest = Shown(now, self.flat.strengths, np.ones(len(self.flat.strengths)), self.caps)
        kept = self.kept.of(effects)
        lasts = self.lasting[effects]
        kept[lasts] = 1.0
        lasting = self._shown(self.links, self.now + 1)
        asked = np.where(lasts[:, None], self._asked(self.links, effects), self._asked(now, effects))
        first, count = self._places(effects, self.plain)
        prior = self._priors(self.plain)
        reach = self.flat.reach[self.plain]
        return Family(self.plain, [Life(effects, first, count, prior, reach, newest, lasting, lasts, kept, asked, factor)])

    def _lives(self, story: Story, causes: Array) -> Family:
        """Return causes that were removed, quieted or moved, life by life."""
        starts = [0, *story.removed]
        ends = [*story.removed, self.now + 1]
        return Family(causes, [self._life(story, causes, range(a, b)) for a, b in zip(starts, ends, strict=True)])

    def _life(self, story: Story, causes: Array, looks: range) -> Life:
        import numpy as np

        flat = self.flat
        origins = (f for _, by in story.moved for f, _ in by)
        kinds = flat.all_kinds((*self.told.findings, *self.caps, *origins))
        heard = [(kind, self._heard(kind, looks, story)) for kind in kinds]
        links = [self._links(kind, told) for kind, told in heard if told] + self._choices(causes, looks, story)
        own = np.zeros(len(flat.priors), dtype=bool)
        own[causes] = True
        touched = np.zeros(len(flat.strengths), dtype=bool)
        for one in links:
            touched[one.effects] = True
        effects = np.flatnonzero(touched & own[flat.owners])
        shown = self._shown(links, len(looks))
        kept = np.ones((len(effects), self.questions))
        prior = self._priors(causes) if looks.start == 0 else np.full(len(causes), float(self.evidence.bad_repair))
        first, count = self._places(effects, causes)
        lasts = np.ones(len(effects), dtype=bool)
        return Life(effects, first, count, prior, flat.reach[causes], shown, shown, lasts, kept, self._asked(links, effects))

    def _shown(self, links: Sequence[Links], looks: int) -> Shown:
        """Return how effects show that last through so many looks."""
        import numpy as np

        strengths = self.flat.strengths
        shows = np.ones(len(strengths)) if looks == 1 else np.maximum(self.evidence.show_again, strengths)
        return Shown(links, strengths / shows, shows, self.caps)

    def _asked(self, links: Sequence[Links], effects: Array) -> Array:
        """Return effect x question: whether the question caps a finding that such links of the effect feed."""
        import numpy as np

        found = np.zeros((len(effects), self.questions), dtype=bool)
        for one in links:
            for heard in one.heard:
                if heard.capped:
                    found[np.ix_(one.find(effects)[0], np.flatnonzero(self.caps[heard.capped] < NONE))] = True
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
    def odds(self) -> Array:
        """Return the prior of every cause after the history answers."""
        prior = self.flat.priors.copy()
        for cause, factor in self.evidence.odds.items():
            if cause in self.flat.numbers:
                prior[self.flat.numbers[cause]] = prior_with_odds(prior[self.flat.numbers[cause]], factor)
        return prior

    def _priors(self, causes: Array) -> Array:
        found: Array = self.odds[causes]
        return found

    def leaks(self) -> tuple[list[Family], Array]:
        """Return the leaks that can meet a result or last, and the factor of all others by question."""
        import numpy as np

        scale: Array = np.ones(self.questions)
        found: list[tuple[tuple[float, ...], tuple[Heard, ...]]] = []
        for finding in dict.fromkeys((*self.told.findings, *self.caps)):
            levels = self.model.leaks.get(finding)
            heard = self._heard(Kind(finding), range(self.now + 1), Story()) if levels is not None else ()
            lasting = finding in self.told.complaint and len(heard) > 1
            for together in [heard] if lasting else [(h,) for h in heard]:
                if lasting or any(together[0].masks):
                    found.append((levels or (), together))
                else:
                    scale = scale * self._leak_kept(levels or (), together[0])
        return [self._leak_family(found)] if found else [], scale

    def _leak_kept(self, levels: tuple[float, ...], heard: Heard) -> Array:
        import numpy as np

        most = np.minimum(self.caps[heard.capped] if heard.capped else NONE, heard.bound)
        kept: Array = np.cumsum(levels)[np.minimum(most, len(levels) - 1)]
        return kept

    def _leak_family(self, leaks: Sequence[tuple[tuple[float, ...], tuple[Heard, ...]]]) -> Family:
        """Return leaks as sources that are always there, each with one effect that shows its levels."""
        import numpy as np

        count = len(leaks)
        links, often, shows = [], np.zeros(count), np.ones(count)
        for number, (levels, heard) in enumerate(leaks):
            whole = sum(levels[1:])
            often[number], shows[number] = occurrence(whole, self.evidence.show_again, 1 if len(heard) == 1 else self.now + 1)
            shares = [0.0, *(p / whole for p in levels[1:])] if whole > 0 else [1.0]
            links.append(Links(np.array([number]), np.array([shares]), heard))
        shown = Shown(links, often, shows, self.caps)
        effects = np.arange(count)
        ones, kept, lasts = np.ones((count, 1)), np.ones((count, self.questions)), np.ones(count, dtype=bool)
        asked = self._asked(links, effects)
        life = Life(effects, effects[:, None], ones.astype(int), ones[:, 0], ones, shown, shown, lasts, kept, asked)
        return Family(np.full(count, -1), [life])

    @cached_property
    def _beside(self) -> tuple[Array, Array]:
        """Return the factor of every cause that is no source, by question, and how likely each is there (cause x question)."""
        import numpy as np

        chosen = np.isin(self.bounded, self.free)
        factors, causes = self.factors[chosen], self.bounded[chosen]
        reached = np.zeros((len(causes), self.questions))
        for step in reversed(range(factors.shape[1])):
            reached = (self.flat.reach[causes, step][:, None] + reached) * factors[:, step]
        there = self.odds[causes][:, None] * reached
        whole = there + (1.0 - self.odds[causes])[:, None]
        present = np.repeat(self.odds[self.free][:, None], self.questions, axis=1)
        present[np.searchsorted(self.free, causes)] = there / whole
        return whole.prod(axis=0), present

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
            found[mine, index] = True
        return found

    @property
    def cells(self) -> int:
        """Return how many table cells its sources take for one question."""
        return sum(2 ** int(mask).bit_count() for family in self.families() for mask in family.bits())


def _alike(effects: Array, told: Sequence[tuple[int, int]], chance: Array) -> Links:
    """Return one draw by which effects meet a result in every look of (look, mask)."""
    import numpy as np

    return Links(effects, np.stack((1.0 - chance, chance), axis=1), tuple(Heard(t, (0, mask), NONE, "") for t, mask in told))


def _differing(effects: Array, told: Sequence[tuple[int, int]], chances: Array) -> Links:
    """Return one draw by which effects meet a result in each look whose chance lies above it."""
    import numpy as np

    steps = sorted({c for c in chances.tolist() if c > 0})
    levels = np.array([1.0 - steps[-1], steps[0], *np.diff(steps)])
    heard = tuple(Heard(t, (0, *(m if c >= s else 0 for s in steps)), NONE, "") for (t, m), c in zip(told, chances, strict=True) if c > 0)
    return Links(effects, np.repeat(levels[None], len(effects), axis=0), heard)
