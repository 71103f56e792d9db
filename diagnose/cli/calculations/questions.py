"""What to ask a person for each calculation, in the order it is measured, and which roles the numbers speak to."""

from dataclasses import dataclass

from diagnose.calc import spans
from diagnose.calc.contact_points import CLEARANCE_SPAN
from diagnose.calc.plugs import GAP_SPAN
from diagnose.calc.spans import Span

CHECK_SPEED: Span = (1000, 3000, "rpm")  # of a magneto check
DROP_LIMIT: Span = (50, 300, "rpm")  # what manuals allow
STATIC_SPEED: Span = (1800, 3400, "rpm")  # at full throttle, standing still


@dataclass(frozen=True)
class Question:
    """One question; `option` is the option its answer goes to, `place` marks the one that names where.

    `kind` says what the answer is judged as when it is typed (a key of `judging.KINDS`); `choices` are the only answers there are,
    `or_word` one beside the number, `against` the option of the rpm on BOTH that a side is compared with. `needed`: there is no answer
    without it; `of`: asked only where that option was given, and not as `unless`; `instead`: needed where that option was not given.
    `span`: what the number can be at all; `usual`: outside it the number is asked about (both estimates).
    """

    option: str
    words: str
    place: bool = False
    kind: str = ""
    choices: tuple[str, ...] = ()
    or_word: str = ""
    against: str = ""
    needed: bool = False
    of: str = ""
    unless: str = ""
    instead: str = ""
    span: Span | None = None
    usual: Span | None = None


def _side(side: str) -> tuple[Question, ...]:
    return (
        Question(
            f"--{side}",
            f"Rpm on {side.upper()} alone, or: dies",
            kind="rpm",
            span=spans.RPM,
            or_word="dies",
            against="--both",
            instead="--left" if side == "right" else "",
        ),
        Question(
            f"--{side}-run", f"On {side.upper()} it runs: smooth or rough", choices=("smooth", "rough"), of=f"--{side}", unless="dies"
        ),
        Question(
            f"--{side}-change",
            f"The drop on {side.upper()} came: fast, slow or both",
            choices=("fast", "slow", "both"),
            of=f"--{side}",
            unless="dies",
        ),
    )


_PER_CYLINDER = "one number per cylinder from No. 1 on, with commas; - where not read"

_AIR = ("exhaust", "intake", "breather", "plug", "head")

QUESTIONS: dict[str, tuple[Question, ...]] = {
    "mag-check": (
        Question("--both", "Rpm on BOTH before", kind="rpm", span=spans.RPM, usual=CHECK_SPEED, needed=True),
        *_side("left"),
        *_side("right"),
        Question("--both-after", "Rpm on BOTH after", kind="rpm", span=spans.RPM, against="--both"),
        Question("--mixture", "Mixture: rich, leaned, ..."),
        Question("--drop-limit", "Your manual's largest drop in rpm", kind="rpm", span=spans.DROP, usual=DROP_LIMIT),
        Question("--document", "Document of that limit", of="--drop-limit"),
        Question("--revision", "Its revision", of="--document"),
    ),
    "static": (
        Question("--rpm", "Static full-throttle rpm", kind="rpm", span=spans.STATIC_RPM, usual=STATIC_SPEED),
        Question("--low", "Its lower limit in rpm", kind="rpm", span=spans.STATIC_RPM, usual=STATIC_SPEED),
        Question("--high", "Its upper limit in rpm", kind="rpm", span=spans.STATIC_RPM, usual=STATIC_SPEED),
        Question("--document", "Document of the limits"),
        Question("--revision", "Its revision", of="--document"),
        Question("--temperature", "Outside temperature with unit, such as 20 C", kind="temperature", span=spans.AIR),
        Question("--elevation", "Field elevation with unit, such as 500 ft", kind="height", span=spans.ELEVATION),
        Question("--off-check", "OFF check at idle: stops or fires", choices=("stops", "fires"), instead="--rpm"),
    ),
    "egt": (
        Question("--unit", "Unit of the readings: F or C", choices=("F", "C"), needed=True),
        Question("--egt-both", f"EGT on BOTH, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--egt-left", f"EGT on LEFT, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--egt-right", f"EGT on RIGHT, {_PER_CYLINDER}", kind="per cylinder"),
    ),
    "cold-cylinder": (
        Question("--unit", "Unit: F, C, or relative", choices=("F", "C", "relative"), needed=True),
        Question("--left", f"After running on LEFT, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--right", f"After running on RIGHT, {_PER_CYLINDER}", kind="per cylinder", instead="--left"),
        Question(
            "--ambient",
            "Outside temperature with unit, such as 15 C",
            kind="temperature",
            span=spans.AIR,
            needed=True,
            of="--unit",
            unless="relative",
        ),
    ),
    "compression": (
        Question("--cylinder", "Cylinder", place=True, kind="cylinder", needed=True),
        Question("--reading", "Cylinder gauge over input, such as 74/80", kind="compression", needed=True),
        Question("--maker-limit", "Lowest reading the maker allows, such as 60 psi", kind="pressure", span=spans.COMPRESSION_LIMIT),
        Question(
            "--air", "Air heard at: exhaust, intake, breather, plug or head", choices=("exhaust", "intake", "breather", "plug", "head")
        ),
    ),
    "timing": (
        Question(
            "--specified",
            "Specified degrees before top centre, from the data plate",
            kind="degrees",
            span=spans.TIMING_SPECIFIED,
            needed=True,
        ),
        Question("--left", "Degrees found on LEFT", kind="degrees", span=spans.TIMING_FOUND),
        Question("--right", "Degrees found on RIGHT", kind="degrees", span=spans.TIMING_FOUND, instead="--left"),
    ),
    "points": (
        Question("--magneto", "Magneto: left or right", place=True, choices=("left", "right"), needed=True),
        Question("--clearance", "Contact clearance with unit, such as 0.016 in", kind="length", span=CLEARANCE_SPAN),
        Question("--e-gap", "Specified E-gap, magnet degrees past neutral", kind="degrees", span=spans.E_GAP, instead="--clearance"),
        Question("--e-gap-tolerance", "Its tolerance either way, in degrees", kind="degrees", span=spans.E_GAP_TOLERANCE, of="--e-gap"),
        Question("--e-gap-found", "Where the points open now, in degrees", kind="degrees", span=spans.E_GAP_FOUND, of="--e-gap"),
    ),
    "plug": (
        Question("--plug", "Plug, such as 3-bottom", place=True, kind="circuit", needed=True),
        Question("--gap", "Widest gap with unit, such as 0.019 in", kind="length", span=GAP_SPAN),
        Question(
            "--resistance",
            "Resistance with unit, such as 1.8 kohm, or: over",
            kind="resistance",
            span=spans.PLUG_RESISTANCE,
            or_word="over",
        ),
    ),
    "lead": (
        Question("--lead", "Lead, such as 3-bottom", place=True, kind="circuit", needed=True),
        Question(
            "--insulation", "Insulation with unit, such as 150 Mohm, or: over", kind="resistance", span=spans.INSULATION, or_word="over"
        ),
        Question(
            "--test-voltage",
            "Test voltage with unit, such as 10 kV",
            kind="voltage",
            span=spans.TEST_VOLTAGE,
            needed=True,
            of="--insulation",
        ),
        Question("--continuity", "Continuity with unit, such as 2 ohm, or: over", kind="resistance", span=spans.CONTINUITY, or_word="over"),
    ),
}

# The roles that call for each calculation: a check that gives a symptom of one can be answered in numbers.
CALLED_BY: dict[str, tuple[str, ...]] = {
    "mag-check": ("mag_drop",),
    "static": ("runs_in_off",),
    "egt": ("egt_falls",),
    "cold-cylinder": ("stays_cold",),
    "compression": ("air_lost",),
    "timing": ("fires_late", "fires_early"),
    "points": ("contacts_wide", "contacts_narrow", "e_gap_off", "retard_off"),
    "plug": ("electrodes_wide", "electrodes_narrow", "resistor_over"),
    "lead": ("insulation_low", "continuity_lost"),
}


def calculation_for(roles: tuple[str, ...]) -> str:
    """Return the calculation for what a check gives, the role of its most telling symptom first; empty where none fits."""
    return next((name for role in roles for name, calling in CALLED_BY.items() if role in calling), "")
