"""The nine levels of an exercise: which physical faults it is drawn from, how many, and what a course counts it for.

The codes are element codes of the FAA's published Airman Certification Standards for Aviation Mechanics (General, Airframe, and
Powerplant), taken from memory of its list: to be held against the edition in force before they are written into a training record.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.problems import BadInput, did_you_mean
from diagnose.stand.faults import KINDS

CODES_FROM = (
    "Element codes: FAA, Aviation Mechanic General, Airframe, and Powerplant Airman Certification Standards; from memory, hold them "
    "against the edition in force."
)


@dataclass(frozen=True)
class Level:
    """One level; `starts` are what names of its fault kinds begin with, `faults` how many are put in (0: one outside every rule base)."""

    number: int
    id: str
    label: str
    starts: tuple[str, ...]
    codes: tuple[str, ...]
    faults: int = 1

    @property
    def kinds(self) -> frozenset[str]:
        """Return the fault kinds of the stand that this level draws from."""
        return frozenset(name for name in KINDS if name.startswith(self.starts))


_PLUG, _LEAD = ("plug.",), ("lead.", "leads.")
_MAGNETO = ("points.", "capacitor.", "coil.", "distributor.", "magnet.", "internal.", "p-lead.")
_START = ("impulse.", "vibrator.", "retard.", "battery.", "switch.start-grounds", "plugs.all-wet")
_AROUND = ("injector.", "induction.", "valve.", "rings.", "mixture.", "idle.", "filter.", "exhaust.blocked", "probe.", "tachometer.")
_SOME_DAYS = ("lead.chafed", "lead.damp", "lead.flexes", "coil.fails-hot", "distributor.damp", "valve.sticks", "plug.gap-wide", "p-lead.")
_LEVELS = (
    Level(1, "plug", "One plug", _PLUG, ("AM.III.H.K2", "AM.III.H.S3", "AM.III.H.S11", "AM.III.D.K2")),
    Level(2, "lead", "Lead or plug", (*_LEAD, *_PLUG), ("AM.III.H.S3", "AM.III.H.S4", "AM.III.H.S7")),
    Level(3, "magneto", "One magneto", _MAGNETO, ("AM.III.H.K4", "AM.III.H.K8", "AM.III.H.S6", "AM.III.H.S10", "AM.I.A.S10")),
    Level(4, "timing", "Timing", ("timing.", "drive.jumped", "points.follower-wear"), ("AM.III.H.R1", "AM.III.H.S1", "AM.III.H.S2")),
    Level(5, "starting", "Starting", _START, ("AM.III.H.K3", "AM.III.H.S8", "AM.III.H.S9")),
    Level(6, "look-alike", "Looks like ignition", _AROUND, ("AM.III.I.S1", "AM.III.J.S9", "AM.III.C.S1", "AM.III.D.R2")),
    Level(7, "conditions", "Only under some conditions", _SOME_DAYS, ("AM.III.H.K1", "AM.III.H.S13", "AM.III.A.S2")),
    Level(8, "two", "Two faults at once", (*_PLUG, *_LEAD, *_MAGNETO), ("AM.III.H.S4", "AM.III.H.S13"), 2),
    Level(9, "unknown", "A fault no rule base knows", (), ("AM.III.H.S13", "AM.III.A.S2"), 0),
)
LEVELS = {level.id: level for level in _LEVELS}
RECORD_CODES = ("AM.I.I.K3", "AM.I.I.R1", "AM.I.I.S7")  # every exercise ends with an entry
SAFETY_CODES = ("AM.III.H.R3", "AM.III.A.R1", "AM.III.A.R2")  # and every one has its steps of safety


def level_named(text: str) -> Level:
    """Return a level by its number or its word. Raises BadInput."""
    for level in _LEVELS:
        if text in (str(level.number), level.id):
            return level
    raise BadInput(f"level '{text}' is not known; {did_you_mean(text, LEVELS)}, or a number from 1 to {len(_LEVELS)}")
