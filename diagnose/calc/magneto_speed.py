"""Degrees of the crank and degrees of the magnet: exact ratios.

A magnet with p poles gives p sparks a turn, and an engine needs half its cylinders' sparks a turn of the
crank,
so magnet speed over crank speed is cylinders / (2 x poles) (study notes, module 16.6).
"""

from fractions import Fraction

from diagnose.problems import BadInput


def magneto_ratio(cylinders: int, poles: int) -> Fraction:
    """Return the magnet turns for one turn of the crank. Raises BadInput."""
    if cylinders < 1:
        raise BadInput(f"cylinders: {cylinders} is not possible; give 1 or more")
    if poles < 2 or poles % 2:
        raise BadInput(f"magnet poles: {poles} is not possible; give an even number: 2, 4 or 8")
    return Fraction(cylinders, 2 * poles)


def magnet_to_crank(magnet_degrees: float, ratio: Fraction) -> float:
    """Return the crank degrees for so many degrees of the magnet."""
    return magnet_degrees / float(ratio)


def crank_to_magnet(crank_degrees: float, ratio: Fraction) -> float:
    """Return the magnet degrees for so many degrees of the crank."""
    return crank_degrees * float(ratio)


def start_spark(running_btc: float, lag_magnet: float, ratio: Fraction) -> float:
    """Return where the start spark falls, crank degrees before top centre (negative: after), with an impulse coupling."""
    return running_btc - magnet_to_crank(lag_magnet, ratio)


def retard_plate_reading(main_degrees: float, retard_degrees: float) -> float:
    """Return the timing-plate reading at which the retard points must open.

    They follow the main points by the specified angle: main at 10, retard 25, plate 35 (common practice, no
    source).
    """
    return main_degrees + retard_degrees
