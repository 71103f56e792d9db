"""The leaks of findings as sources, and the factor of those that meet no result."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from diagnose.belief.hearing import NOTHING
from diagnose.belief.links import Heard, Links
from diagnose.belief.model import occurrence
from diagnose.belief.setting import Setting
from diagnose.belief.shown import Shown
from diagnose.belief.sources import Family, Life
from diagnose.belief.told import NONE

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


def leaks(setting: Setting) -> tuple[list[Family], Array]:
    """Return the leaks that can meet a result or last, and the factor of all others by question."""
    import numpy as np

    scale: Array = np.ones(setting.questions)
    found: list[tuple[tuple[float, ...], tuple[Heard, ...], bool]] = []
    for finding in dict.fromkeys((*setting.told.findings, *setting.caps)):
        levels = setting.model.leaks.get(finding)
        heard = setting.hearing.heard(finding, range(setting.now + 1), NOTHING) if levels is not None else ()
        lasting = finding in setting.told.complaint and (len(heard) > 1 or any(h.times is not None for h in heard))
        for together in [heard] if lasting else [(h,) for h in heard]:
            if lasting or any(together[0].masks):
                found.append((levels or (), together, not lasting))
            else:
                scale = scale * _kept(setting, levels or (), together[0])
    return [_family(setting, found)] if found else [], scale


def _kept(setting: Setting, levels: tuple[float, ...], heard: Heard) -> Array:
    import numpy as np

    most = np.minimum(setting.caps[heard.capped] if heard.capped else NONE, heard.bound)
    kept: Array = np.cumsum(levels)[np.minimum(most, len(levels) - 1)]
    return kept if heard.times is None else kept**heard.times


def _family(setting: Setting, leaks: Sequence[tuple[tuple[float, ...], tuple[Heard, ...], bool]]) -> Family:
    """Return leaks (levels, looks heard in, drawn anew in each) as sources always there, each with one effect that shows its levels."""
    import numpy as np

    count = len(leaks)
    links, often, shows = [], np.zeros(count), np.ones(count)
    for number, (levels, heard, anew) in enumerate(leaks):
        whole = sum(levels[1:])
        often[number], shows[number] = (1.0, 1.0) if anew else occurrence(whole, setting.evidence.show_again, setting.now + 1)
        shares = levels if anew or not whole else [0.0, *(p / whole for p in levels[1:])]
        links.append(Links(np.array([number]), np.array([shares]), heard, anew))
    shown = Shown(links, often, shows, setting.caps)
    effects = np.arange(count)
    ones, kept, lasts = np.ones((count, 1)), np.ones((count, setting.questions)), np.ones(count, dtype=bool)
    asked = setting.asked(links, effects)
    none = np.full(count, -1)
    return Family(none, [Life(none, ones[:, 0], ones, effects, effects[:, None], ones.astype(int), shown, shown, lasts, kept, asked)])
