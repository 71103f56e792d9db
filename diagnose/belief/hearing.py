"""What looks tell of the links of a cause, by what befell it: removed, quieted, moved with its part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.caps import Caps
from diagnose.belief.flat import Flat
from diagnose.belief.links import Heard, Links
from diagnose.belief.model import Evidence
from diagnose.belief.somehow import Ways
from diagnose.belief.told import LEVELS, NONE, Told

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Story(NamedTuple):
    """Where causes were removed and quieted, and what their links feed where their part was moved, by look."""

    removed: tuple[int, ...] = ()
    quieted: frozenset[int] = frozenset()
    moved: tuple[tuple[int, tuple[tuple[str, str], ...]], ...] = ()


NOTHING = Story()


def stories(flat: Flat, evidence: Evidence) -> dict[Story, list[int]]:
    """Return the causes (by number) that were removed, quieted or moved, by what befell them."""
    looks = evidence.looks
    found: dict[Story, list[int]] = {}
    touched = {c for t, look in enumerate(looks) for c in (*(look.removed if t else ()), *look.quieted, *look.moved)}
    for name in sorted(touched & flat.numbers.keys()):
        story = Story(
            tuple(t for t, look in enumerate(looks) if t and name in look.removed),
            frozenset(t for t, look in enumerate(looks) if name in look.quieted),
            tuple((t, tuple(sorted(look.moved[name].items()))) for t, look in enumerate(looks) if name in look.moved),
        )
        found.setdefault(story, []).append(flat.numbers[name])
    return {story: sorted(causes) for story, causes in found.items()}


class Counts(NamedTuple):
    """How many of the repeated looks each question takes of each kind: by part, looks that are alike to a cause, (looks, kind x question).

    In a look of kind k just those of the common bits that are in `kinds[k]` may be set.
    """

    kinds: tuple[int, ...]
    parts: tuple[tuple[tuple[int, ...], Array], ...]


class Hearing:
    """The looks of one evidence, with what questions cap in the newest (`caps[finding][question]`)."""

    def __init__(self, flat: Flat, told: Told, caps: Caps, counts: Counts | None = None) -> None:
        self.flat, self.told, self.caps, self.counts = flat, told, caps, counts
        self.looks = told.looks

    def _fed(self, story: Story, t: int, finding: str) -> str:
        """Return the finding that a link feeds in a look; none where the cause is quieted."""
        moved = dict(dict(story.moved).get(t, ()))
        fed = moved.get(finding, finding)
        return "" if t in story.quieted and fed in self.told.complaint else fed

    def origins(self, story: Story) -> list[str]:
        """Return every finding that links may name to feed one told of, or asked about."""
        moved = (f for _, by in story.moved for f, _ in by)
        return list(dict.fromkeys((*self.told.findings, *self.caps, *moved)))

    def heard(self, finding: str, looks: range, story: Story, alone: bool = False) -> tuple[Heard, ...]:
        """Return the looks in which links to a finding are told of; `alone`: results of several options left out."""
        found = []
        for t in (t for t in looks if self.counts is None or t not in self.told.repeated):
            fed = self._fed(story, t, finding)
            masks = self.told.masks(t, fed, alone) if fed else [0] * LEVELS
            bound = self.looks[t].bounds.get(fed, NONE)
            capped = fed if t == self.told.now and fed in self.caps else ""
            if any(masks) or bound < NONE or capped:
                found.append(Heard(t, masks, bound, capped))
        return (*found, *(self._counted(self.counts, finding, looks, story) if self.counts is not None else ()))

    def _counted(self, counts: Counts, finding: str, looks: range, story: Story) -> Iterator[Heard]:
        """Yield what repeated looks tell of links to a finding, part by part and kind by kind."""
        for part, (taken, times) in enumerate(counts.parts):
            t = next((t for t in taken if t in looks), -1)
            fed = self._fed(story, t, finding) if t >= 0 else ""
            if not fed or not ((t, fed) in self.told.options or fed in self.looks[t].bounds):
                continue
            for number, kind in enumerate(counts.kinds):
                least = [low - 1 for low, bit, _ in self.told.options.get((t, fed), ()) if not bit & kind]
                masks = [m & kind for m in self.told.masks(t, fed)]
                bound = min((self.looks[t].bounds.get(fed, NONE), *least))
                yield Heard(len(self.looks) + part * len(counts.kinds) + number, masks, bound, "", times[number])

    def links(self, looks: range, story: Story) -> dict[str, Links]:
        """Return the links that are told of, by the finding they name."""
        found = {}
        for finding in self.origins(story):
            heard = self.heard(finding, looks, story) if finding in self.flat.fed else ()
            if heard:
                fed = self.flat.fed[finding]
                found[finding] = Links(fed.effects, fed.levels, heard)
        return found

    def ways(self, causes: Array, looks: range, story: Story) -> list[Ways]:
        """Return how causes show somehow what is told of."""
        import numpy as np

        found = []
        for finding in self.origins(story):
            heard = self.heard(finding, looks, story, alone=True) if finding in self.flat.ways else ()
            if heard:
                way = self.flat.ways[finding]
                found.append(Ways(Links(way.causes, way.levels, heard), np.repeat(way.opened[None], len(heard), axis=0)))
        for options, by_look in self.told.choices.items():
            told = [(t, by_look[t]) for t in looks if t in by_look]
            best = [self._best(dict(options), causes, t, story) for t, _ in told]
            found += _choices(causes, told, best)
        return found

    def _best(self, options: Mapping[str, int], causes: Array, t: int, story: Story) -> tuple[Array, Array]:
        """Return how often the option most often open is open to each cause in a look, and how likely it then meets the result.

        Nothing is open to a cause that is linked to an option.
        """
        import numpy as np

        opened, chance = np.zeros(len(causes)), np.zeros(len(causes))
        linked = np.zeros(len(causes), dtype=bool)
        moved = dict(dict(story.moved).get(t, ()))
        for origin in dict.fromkeys((*options, *moved)):
            fed = moved.get(origin, origin)
            if fed not in options:
                continue
            members = (member for pair in self.told.model.pairs.get(origin, ()) for member in pair)
            linked |= self.flat.feeding((origin, *members))[causes]
            if origin not in self.flat.ways or not self._fed(story, t, origin):
                continue
            way = self.flat.ways[origin]
            having, levels = Links(way.causes, way.levels, ()).find(causes)
            width = way.opened[np.searchsorted(way.causes, causes[having])]
            hit = levels[:, options[fed] :].sum(axis=1)
            better = (width > opened[having]) | ((width == opened[having]) & (hit > chance[having]))
            opened[having[better]], chance[having[better]] = width[better], hit[better]
        opened[linked] = 0.0
        return opened, chance


def _choices(causes: Array, told: Sequence[tuple[int, int]], best: Sequence[tuple[Array, Array]]) -> list[Ways]:
    """Return one draw for a result of several options, the same in every look (look, mask) that repeats it."""
    import numpy as np

    if not told:
        return []
    opened, chance = (np.array([one[i] for one in best]) for i in (0, 1))
    if (opened == opened[:1]).all() and (chance == chance[:1]).all():
        some = opened[0] > 0
        levels = np.stack((1.0 - chance[0, some], chance[0, some]), axis=1)
        heard = tuple(Heard(t, (0, mask), NONE, "") for t, mask in told)
        return [Ways(Links(causes[some], levels, heard), opened[:, some])] if some.any() else []
    return [_differing(causes[i : i + 1], told, opened[:, i], chance[:, i]) for i in range(len(causes)) if opened[:, i].any()]


def _differing(cause: Array, told: Sequence[tuple[int, int]], opened: Array, chance: Array) -> Ways:
    """Return the same for one cause whose chance is not the same in each look: met in those whose chance lies above one number."""
    import numpy as np

    chance = np.where(opened > 0, chance, 0.0)
    steps = sorted({c for c in chance.tolist() if c > 0})
    levels = np.array([[1.0 - steps[-1], steps[0], *np.diff(steps)]])
    kept = [i for i, c in enumerate(chance) if c > 0]
    heard = tuple(Heard(told[i][0], (0, *(told[i][1] if chance[i] >= s else 0 for s in steps)), NONE, "") for i in kept)
    return Ways(Links(cause, levels, heard), opened[kept][:, None])
