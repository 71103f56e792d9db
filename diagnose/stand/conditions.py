"""What the engine is asked to do, and in what air: settings and weather."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.problems import BadInput, did_you_mean

SEA_LEVEL_BAR = 1.01325
STANDARD_KELVIN = 288.15
FEET_PER_KELVIN = 1 / (0.0065 * 0.3048)  # lapse of the standard atmosphere, 6.5 K in a kilometre
LAPSE_EXPONENT = 5.2559  # gravity over gas constant and lapse
LEVERS = ("rich", "best_power", "lean")
POSITIONS = ("off", "left", "right", "both", "start")
HEATS = ("cold", "warm", "hot")
# How far the magneto has warmed above the outside air, deg C: estimate.
MAGNETO_RISE = {"cold": 0.0, "warm": 35.0, "hot": 75.0}


def _known(what: str, word: str, words: tuple[str, ...]) -> None:
    if word not in words:
        raise BadInput(f"{what} {word!r} is not known; {did_you_mean(word, words)}")


@dataclass(frozen=True)
class Weather:
    """Outside air: temperature in deg C, pressure altitude in ft, `wet` 0 dry to 1 rain under the cowling."""

    celsius: float = 15.0
    pressure_altitude_ft: float = 0.0
    wet: float = 0.0

    @property
    def kelvin(self) -> float:
        """Absolute temperature."""
        return self.celsius + 273.15

    @property
    def bar(self) -> float:
        """Outside pressure in bar."""
        aloft = STANDARD_KELVIN - self.pressure_altitude_ft / FEET_PER_KELVIN
        return float(SEA_LEVEL_BAR * (aloft / STANDARD_KELVIN) ** LAPSE_EXPONENT)

    @property
    def density(self) -> float:
        """Density over the standard one at sea level."""
        return self.bar / SEA_LEVEL_BAR * STANDARD_KELVIN / self.kelvin


@dataclass(frozen=True)
class Settings:
    """One power setting.

    `rpm` is what the throttle is set for on BOTH (None: throttle full open); `lever` the mixture lever;
    `heat` how warm engine and magnetos are; `manifold_inhg` not None: governed propeller in flight that holds
    `rpm` at this manifold pressure whatever the torque.
    """

    rpm: float | None = 1750.0
    lever: str = "rich"
    heat: str = "warm"
    carb_heat: bool = False
    manifold_inhg: float | None = None

    def __post_init__(self) -> None:
        _known("mixture lever", self.lever, LEVERS)
        _known("heat", self.heat, HEATS)


# Speeds from FAA-H-8083-32B p4-31 (idle 700 or the lowest) and published run-up speeds of 1,700 to 1,800 rpm.
IDLE = Settings(rpm=700.0)
RUN_UP = Settings(rpm=1750.0)
WARM_UP = Settings(rpm=1100.0, heat="cold")
RUN_UP_LEANED = Settings(rpm=1750.0, lever="best_power")
FULL_POWER = Settings(rpm=None)
CRUISE = Settings(rpm=2400.0, lever="lean", heat="hot", manifold_inhg=22.0)


def check_position(position: str) -> str:
    """Return the switch position. Raises BadInput for one the switch does not have."""
    _known("switch position", position, POSITIONS)
    return position
