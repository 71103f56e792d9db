"""What a lost cylinder, or single ignition, costs in rpm: a physical estimate from the propeller load.

Fixed throttle, fixed pitch (or a constant-speed propeller resting on its low-pitch stop). Propeller torque
grows with rpm squared; indicated torque rises a little as rpm falls, because a slower engine fills better;
friction takes a constant share. With x the rpm as a share of the rpm on both and f the share of indicated
torque left,

    f * x**-0.45 - friction = (1 - friction) * x**2

Every constant is an estimate. Propeller law: FAA-H-8083-32B p10-27 and the usual data books.
"""

from collections.abc import Callable
from dataclasses import dataclass

from diagnose.calc.units import finite
from diagnose.problems import BadInput


@dataclass(frozen=True)
class LoadModel:
    """The constants, all estimates: shares of indicated torque, and the exponent of rpm."""

    friction: float = 0.22
    torque_exponent: float = -0.45
    single_ignition_loss: float = 0.05
    # Torque falls about 1 % for 5 degrees away from best timing and 4 % for 10 (from memory, no source).
    loss_per_degree_squared: float = 4e-4


@dataclass(frozen=True)
class DropEstimate:
    """Drops in rpm from `rpm` on both: healthy, one and two cylinders silent on that magneto."""

    cylinders: int
    rpm: float
    normal: float
    one_silent: float
    two_silent: float


MODEL = LoadModel()


def _bisect(function: Callable[[float], float], low: float, high: float) -> float:
    """Return the root of a falling function on [low, high]."""
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) > 0 else (low, middle)
    return (low + high) / 2


def speed_ratio(torque_left: float, model: LoadModel = MODEL) -> float:
    """Return the share of the first rpm at which `torque_left` (share of indicated torque) meets the propeller again."""

    def surplus(x: float) -> float:
        return float(torque_left * x**model.torque_exponent - model.friction - (1 - model.friction) * x * x)

    return _bisect(surplus, 1e-6, 1.0)


def drop_for(rpm: float, torque_left: float, model: LoadModel = MODEL) -> float:
    """Return the drop in rpm when `torque_left` of the indicated torque remains."""
    return rpm * (1 - speed_ratio(torque_left, model))


def estimate_drops(cylinders: int, rpm: float, model: LoadModel = MODEL) -> DropEstimate:
    """Return the three drops of an engine with `cylinders`, from `rpm` on both. Raises BadInput."""
    finite(rpm, "rpm on both", 300, 5000, "rpm")
    if cylinders < 2:
        raise BadInput(f"cylinders: {cylinders} is too few; give 2 or more")
    single = 1 - model.single_ignition_loss
    drops = [drop_for(rpm, single * (1 - silent / cylinders), model) for silent in (0, 1, min(2, cylinders - 1))]
    return DropEstimate(cylinders, rpm, *drops)


def late_drop(rpm: float, degrees_late: float, model: LoadModel = MODEL) -> float:
    """Return the drop in rpm on a magneto that fires `degrees_late` crank degrees after its setting.

    One flame front already burns as if retarded (FAA-H-8083-32B p10-26); the lateness adds to that.
    """
    already = (model.single_ignition_loss / model.loss_per_degree_squared) ** 0.5
    return drop_for(rpm, 1 - model.loss_per_degree_squared * (already + degrees_late) ** 2, model)


def degrees_late_for(rpm: float, drop: float, model: LoadModel = MODEL) -> float | None:
    """Return the crank degrees of lateness that would explain `drop`; None beyond 25, where timing no longer explains it."""
    if not late_drop(rpm, 0, model) <= drop <= late_drop(rpm, 25, model):
        return None
    return _bisect(lambda degrees: drop - late_drop(rpm, degrees, model), 0, 25)


def power_loss(rpm: float, drop: float) -> float:
    """Return the share of power lost, fixed pitch and static: power goes with the cube of rpm."""
    return 1 - (1 - drop / rpm) ** 3


def drop_from_torque_loss(rpm: float, loss: float) -> float:
    """Return the drop in rpm for a share `loss` of shaft torque, torque going with rpm squared."""
    return float(rpm * (1 - (1 - loss) ** 0.5))
