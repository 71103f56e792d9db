"""Causes that something befell - removed, quieted, moved with their part - as sources, life by life."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from diagnose.belief.hearing import Story
from diagnose.belief.setting import Setting
from diagnose.belief.sources import Family, Life

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


def befallen(setting: Setting, chosen: Iterable[Story]) -> list[Family]:
    """Return the causes of some stories as sources."""
    import numpy as np

    return [_family(setting, story, np.array(setting.stories[story])) for story in chosen]


def _family(setting: Setting, story: Story, causes: Array) -> Family:
    starts, ends = [0, *story.removed], [*story.removed, setting.now + 1]
    return Family(causes, [_life(setting, story, causes, range(a, b)) for a, b in zip(starts, ends, strict=True)])


def _life(setting: Setting, story: Story, causes: Array, looks: range) -> Life:
    """Return one life of causes; whatever is told of an effect goes into its table."""
    import numpy as np

    flat = setting.flat
    links = list(setting.hearing.links(looks, story).values())
    touched = np.zeros(len(flat.strengths), dtype=bool)
    for one in links:
        touched[one.effects] = True
    effects = np.flatnonzero(touched & setting.owned(causes))
    shown = setting.shown(links, len(looks))
    somehow = setting.somehow(causes, looks, story)
    return Life(
        causes,
        setting.priors[causes] if looks.start == 0 else np.full(len(causes), float(setting.evidence.bad_repair)),
        flat.reach[causes],
        effects,
        *setting.places(effects, causes),
        shown,
        shown,
        np.ones(len(effects), dtype=bool),
        np.ones((len(effects), setting.questions)),
        setting.asked(links, effects),
        somehow,
        None if somehow is None else somehow.asked(causes, setting.questions),
    )
