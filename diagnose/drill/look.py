"""One occasion of looking at an engine: every run is made once, so that all answers of a check come from the same run.

`usual` is a sound engine of the same seed: what this engine's own record would show ("as usual", "than it used to be").
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TypeVar, cast

from diagnose.stand.conditions import FULL_POWER, IDLE, RUN_UP, WARM_UP, Settings, Weather
from diagnose.stand.engine import Engine
from diagnose.stand.observations import observe
from diagnose.stand.reading import Reading
from diagnose.stand.run import Running
from diagnose.stand.runs import MagCheck, PowerCheck, egt_picture, mag_check, power_check
from diagnose.stand.start_checks import StartSeen, start

LEANED = Settings(rpm=1750.0, lever="lean")
HIGHER = Settings(rpm=2150.0)  # as high as a ground check on one magneto goes: estimate
# On each magneto; on BOTH at high power the throttle is full open.
SETTINGS = {
    "runup": RUN_UP,
    "idle": IDLE,
    "cold": WARM_UP,
    "cruise_lean": LEANED,
    "high_power": HIGHER,
    "hot": Settings(rpm=1750.0, heat="hot"),
    "wet": Settings(rpm=1750.0, heat="cold"),
}
COLD_DAY, COLD_START = 5.0, -8.0  # deg C: what a check "in the cold" waits for, estimates
STARTS = {"starts at once": 0, "starts after long cranking": 1, "fires now and then, does not start": 2}  # anything else is worse
T = TypeVar("T")


class Look:
    """One occasion; `usual` is the same engine sound."""

    def __init__(self, engine: Engine, usual: Engine) -> None:
        self.engine, self.usual = engine, usual
        self._seen: dict[tuple[object, ...], object] = {}

    def once(self, key: tuple[object, ...], make: Callable[[], T]) -> T:
        """Return what was made under a key on this occasion, making it the first time."""
        if key not in self._seen:
            self._seen[key] = make()
        return cast(T, self._seen[key])

    def see(self, name: str, place: str = "engine") -> Reading:
        """Return one observation of the stand, the same all through this occasion."""
        return self.once((name, place), lambda: observe(self.engine, name, place))

    def says(self, name: str, place: str, *wanted: str) -> bool:
        """Return whether one of some words stands in an observation."""
        return any(part in word for word in self.see(name, place).words for part in wanted)

    def mag(self, regime: str) -> MagCheck:
        """Return the magneto check in a regime."""
        return self.once(("mag", regime), lambda: _in(self.engine, regime, lambda e: mag_check(e, SETTINGS[regime])))

    def power(self, regime: str, usual: bool = False) -> PowerCheck:
        """Return the run on BOTH in a regime: full throttle at high power."""
        engine, settings = self.usual if usual else self.engine, _on_both(regime)
        return self.once(("power", regime, usual), lambda: _in(engine, regime, lambda e: power_check(e, settings)))

    def picture(self, regime: str, usual: bool = False) -> dict[int, Reading]:
        """Return the exhaust temperatures on BOTH by channel, deg F against their mean."""
        engine, settings = self.usual if usual else self.engine, _on_both(regime)
        return self.once(("picture", regime, usual), lambda: _in(engine, regime, lambda e: egt_picture(e, settings)))

    def steady(self, regime: str, position: str = "both", usual: bool = False) -> Running:
        """Return a steady run itself, for what a gauge of fuel or a hand on the cylinders would tell."""
        engine = self.usual if usual else self.engine
        settings = _on_both(regime) if position == "both" else SETTINGS[regime]
        return self.once(("steady", regime, position, usual), lambda: _in(engine, regime, lambda e: run_at(e, settings, position)))

    def start(self, regime: str, usual: bool = False) -> StartSeen:
        """Return a try at starting: `start` on the day, else cold, hot or wet."""
        engine, heat = self.usual if usual else self.engine, "hot" if regime == "hot" else "cold"
        return self.once(("start", regime, usual), lambda: _in(engine, f"start {regime}", lambda e: start(e, heat=heat)))

    def starts(self, regime: str = "start", usual: bool = False) -> int:
        """Return how it starts: 0 at once, 1 after long cranking, 2 and more not."""
        return STARTS.get(self.start(regime, usual).start.words[0], 3)


def run_at(engine: Engine, settings: Settings, position: str) -> Running:
    """Return a steady run in a switch position, throttle set on BOTH."""
    acts = engine.begin()
    return engine.run(settings, position, engine.throttle(settings, acts), acts)


def _on_both(regime: str) -> Settings:
    return FULL_POWER if regime == "high_power" else SETTINGS[regime]


def _in(engine: Engine, regime: str, make: Callable[[Engine], T]) -> T:
    with _weather(engine, regime):
        return make(engine)


@contextmanager
def _weather(engine: Engine, regime: str) -> Iterator[None]:
    day = engine.weather
    engine.weather = _day(day, regime)
    try:
        yield
    finally:
        engine.weather = day


def _day(day: Weather, regime: str) -> Weather:
    if regime.endswith("wet"):
        return replace(day, wet=1.0)
    if regime == "start cold":
        return replace(day, celsius=min(day.celsius, COLD_START))
    return replace(day, celsius=min(day.celsius, COLD_DAY)) if regime == "cold" else day
