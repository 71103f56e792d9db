"""What a magneto can give: open-circuit voltage against speed, points, E-gap, capacitor and coil; and when.

Primary current at the break grows with speed against resistance, and levels off where the winding's own reactance
takes over; the voltage follows the current. One constant sets the shape: at the published coming-in speed of
100 to 200 rpm of the magnet (study notes module 16.6) the magneto just fires the test gap.
"""

from __future__ import annotations

import math

from diagnose.stand.parts import Capacitor, Coil, Drive, Magneto, Points

FULL_KV = 20.0  # "often as high as 20,000 V" (FAA-H-8083-32B p4-6), with the harness on it; a plug page says 20 to 25 in all
HALF_SPEED = 330.0  # rpm of the magnet where current is 0.7 of its end value: derived from the coming-in speed
TEST_GAP_KV = 8.5  # 5 mm three-point test gap in open air, about 8 to 9 kV: from memory
IMPULSE_SPEED = 600.0  # magnet speed that a sound coupling spring gives for an instant: estimate
VIBRATOR_KV = 15.0  # kV from a sound vibrator at full battery: estimate
VIBRATOR_SPARKS = 4  # sparks in one firing event: a shower; number an estimate
CLEARANCE_IN = 0.018  # FAA-H-8083-32B p4-29
INCH_PER_DEGREE = 0.0012  # change of clearance for one magnet degree of opening: estimate
E_GAP_WIDTH = 18.0  # magnet degrees off the E-gap at which almost nothing is left: estimate, see README
OPEN_CAPACITOR = 0.36  # share of the voltage left: "weak output" (FAA-H-8083-32B p4-40, p4-19), size an estimate
FACE_OHM = {"frosted": 0.02, "mound": 0.15, "pitted": 0.5, "coarse": 0.4, "blue": 0.3, "oily": 2.5}  # estimates
FINGER_KV_PER_MM = 1.0  # a break in series adds about this much to the need at one atmosphere: estimate


def points_late(points: Points) -> float:
    """Return magnet degrees by which worn points open late (follower worn) or early, as negative (faces eroded)."""
    clearance = points.clearance_in - points.follower_worn_in
    return (CLEARANCE_IN - clearance) / INCH_PER_DEGREE


def never_open(points: Points) -> bool:
    """Return whether the contacts stay shut."""
    return points.shut or points.clearance_in - points.follower_worn_in <= 0.001


def spark_late(magneto: Magneto, ratio: float) -> float:
    """Return crank degrees by which this magneto fires late: its housing, and its points over the speed ratio."""
    return magneto.drive.late_deg + points_late(magneto.points) / ratio


def e_gap_share(drive: Drive, points: Points) -> float:
    """Return the share of voltage left when the points open off the E-gap."""
    off = drive.e_gap_off_deg + points_late(points)
    return max(0.08, 1 - (off / E_GAP_WIDTH) ** 2)


def speed_share(magnet_rpm: float, primary_ohm: float, contact_ohm: float) -> float:
    """Return the share of full primary current at a magnet speed; contact resistance costs most at low speed."""
    half = HALF_SPEED * (1 + contact_ohm / primary_ohm)
    return magnet_rpm / math.hypot(magnet_rpm, half)


def bounce_share(points: Points, magnet_rpm: float) -> float:
    """Return what a weak spring leaves: contacts float above a speed that falls with the spring."""
    limit = 6000.0 - 4500.0 * points.weak_spring  # estimate
    return 1.0 if magnet_rpm <= limit else max(0.2, 1 - 1.5 * (magnet_rpm - limit) / limit)


def capacitor_share(capacitor: Capacitor, acting: bool) -> float:
    """Return what the capacitor leaves of the voltage: all, a part, or nothing when it grounds the primary."""
    if capacitor.state == "shorted":
        return 0.0 if acting else 1.0
    if capacitor.state == "open":
        return OPEN_CAPACITOR if acting else 1.0
    if capacitor.state == "weak":
        return 0.65 if acting else 1.0
    return 1 / (1 + (capacitor.microfarad / 0.36 - 1) ** 2)


def coil_share(coil: Coil, heat: float) -> float:
    """Return what the windings leave; `heat` 0 cold to 1 fully hot."""
    hot = 1 - coil.fails_hot * max(0.0, heat - 0.2) / 0.8
    return max(0.0, (1 - coil.shorted_turns) ** 2 * hot)


def open_circuit_kv(magneto: Magneto, magnet_rpm: float, heat: float, capacitor_acts: bool = True) -> float:
    """Return the voltage in kV the magneto can raise with nothing on it; 0 where it cannot."""
    points, coil = magneto.points, magneto.coil
    if magneto.drive.sheared or never_open(points):
        return 0.0
    contact = points.contact_ohm + FACE_OHM[points.face]
    share = speed_share(magnet_rpm, coil.primary_ohm, contact) * bounce_share(points, magnet_rpm)
    share *= e_gap_share(magneto.drive, points) * magneto.drive.magnet
    return FULL_KV * share * capacitor_share(magneto.capacitor, capacitor_acts) * coil_share(coil, heat)


def coming_in_speed(magneto: Magneto, heat: float = 0.0, gap_kv: float = TEST_GAP_KV) -> float | None:
    """Return the lowest magnet rpm at which it fires a test gap needing `gap_kv`; None when it never does."""
    for rpm in range(20, 4001, 5):
        if open_circuit_kv(magneto, float(rpm), heat) >= gap_kv:
            return float(rpm)
    return None
