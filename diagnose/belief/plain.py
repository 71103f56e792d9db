"""Causes that nothing befell: those that can meet a result as sources, the factor of all others."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from diagnose.belief.bounds import Bound, Kept
from diagnose.belief.hearing import NOTHING
from diagnose.belief.setting import Setting
from diagnose.belief.shown import Shown
from diagnose.belief.somehow import Somehow
from diagnose.belief.sources import Family, Life

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


class Plain:
    """`coupled`: the causes that can meet a result, or are told of in more than the newest look; `free`: the others."""

    def __init__(self, setting: Setting) -> None:
        import numpy as np

        self.setting = setting
        flat, now = setting.flat, setting.now
        ordinary = np.ones(len(flat.priors), dtype=bool)
        ordinary[[c for causes in setting.stories.values() for c in causes]] = False
        self.links = setting.hearing.links(range(now + 1), NOTHING)
        simple = {f for f, x in self.links.items() if len(x.heard) == 1 and x.heard[0].look == now and not any(x.heard[0].masks)}
        self.lasting, self.met = (np.zeros(len(flat.strengths), dtype=bool) for _ in range(2))
        for finding, links in self.links.items():
            if finding not in simple:
                (self.lasting if any(h.look != now for h in links.heard) else self.met)[links.effects] = True
        self.somehow = setting.somehow(np.flatnonzero(ordinary), range(now + 1), NOTHING)
        coupled = self.somehow.bits != 0 if self.somehow else np.zeros(len(flat.priors), dtype=bool)
        coupled[flat.owners[self.lasting | self.met]] = True
        self.coupled, self.free = np.flatnonzero(coupled & ordinary), np.flatnonzero(~coupled & ordinary)
        bounds = [Bound(flat.fed[f], self.links[f].heard[0].bound, setting.caps.get(f)) for f in sorted(simple)]
        self.kept = Kept(flat, bounds, setting.questions)
        self.bounded, self.factors = self.kept.factors(self.lasting | self.met)

    def families(self) -> list[Family]:
        """Return the causes that can meet a result as sources."""
        return [self._family()] if len(self.coupled) else []

    def _family(self) -> Family:
        """Return them: most of their effects are told of in the newest look alone."""
        import numpy as np

        setting, causes = self.setting, self.coupled
        effects = np.flatnonzero((self.lasting | self.met) & setting.owned(causes))
        factor = np.ones((len(causes), setting.flat.reach.shape[1], setting.questions))
        factor[np.isin(causes, self.bounded)] = self.factors[np.isin(self.bounded, causes)]
        every = list(self.links.values())
        now = [x for x in every if all(h.look == setting.now for h in x.heard) and any(x.heard[0].masks)]
        kept, lasts = self.kept.of(effects), self.lasting[effects]
        kept[lasts] = 1.0
        strengths = setting.flat.strengths
        life = Life(
            causes,
            setting.priors[causes],
            setting.flat.reach[causes],
            effects,
            *setting.places(effects, causes),
            Shown(now, strengths, np.ones(len(strengths)), setting.caps),
            setting.shown(every, setting.now + 1),
            lasts,
            kept,
            np.where(lasts[:, None], setting.asked(every, effects), setting.asked(now, effects)),
            self.somehow,
            None if self.somehow is None else self.somehow.asked(causes, setting.questions),
            factor,
        )
        return Family(causes, [life])

    @cached_property
    def _beside(self) -> tuple[Array, Array]:
        import numpy as np

        setting, free = self.setting, self.free
        chosen = np.isin(self.bounded, free)
        factors, causes = self.factors[chosen], self.bounded[chosen]
        reached = np.zeros((len(causes), setting.questions))
        for step in reversed(range(factors.shape[1])):
            reached = (setting.flat.reach[causes, step][:, None] + reached) * factors[:, step]
        there = np.repeat(setting.priors[free][:, None], setting.questions, axis=1)
        there[np.searchsorted(free, causes)] *= reached
        if self.somehow is not None:
            self._show_somehow(self.somehow, there)
        whole = there + (1.0 - setting.priors[free])[:, None]
        return whole.prod(axis=0), there / whole

    def _show_somehow(self, somehow: Somehow, there: Array) -> None:
        """Take from the free causes what bounds forbid them to show somehow."""
        import numpy as np

        questions = self.setting.questions
        touched = np.flatnonzero(somehow.touched[self.free])
        causes = self.free[touched]
        factor = np.repeat(somehow.tables(causes, np.zeros(len(causes), dtype=int), {})[0][:, None], questions, axis=1)
        cause, question = somehow.asked(causes, questions).nonzero()
        if len(cause):
            factor[cause, question] = somehow.tables(causes[cause], question, {})[0]
        there[touched] *= factor

    @property
    def beside(self) -> Array:
        """Return the factor of every free cause, by question."""
        return self._beside[0]

    @property
    def present(self) -> Array:
        """Return how likely each free cause is there (`free` x question)."""
        return self._beside[1]
