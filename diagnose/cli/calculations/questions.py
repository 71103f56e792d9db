"""What to ask a person for each calculation, in the order it is measured, and which roles the numbers speak to."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Question:
    """One question; `option` is the option its answer goes to, `place` marks the one that names where.

    `kind` says what the answer is judged as when it is typed: rpm, drop, temperature, height, or per cylinder; `choices` are the only
    answers there are, `or_word` one beside the number, `against` the option of the rpm on BOTH that a side is compared with.
    """

    option: str
    words: str
    place: bool = False
    kind: str = ""
    choices: tuple[str, ...] = ()
    or_word: str = ""
    against: str = ""


def _side(side: str) -> tuple[Question, ...]:
    return (
        Question(f"--{side}", f"Rpm on {side.upper()} alone, or: dies", kind="rpm", or_word="dies", against="--both"),
        Question(f"--{side}-run", f"On {side.upper()} it runs: smooth or rough", choices=("smooth", "rough")),
        Question(f"--{side}-change", f"The drop on {side.upper()} came: fast, slow or both", choices=("fast", "slow", "both")),
    )


_PER_CYLINDER = "one number per cylinder from No. 1 on, with commas; - where not read"

_AIR = ("exhaust", "intake", "breather", "plug", "head")

QUESTIONS: dict[str, tuple[Question, ...]] = {
    "mag-check": (
        Question("--both", "Rpm on BOTH before", kind="rpm"),
        *_side("left"),
        *_side("right"),
        Question("--both-after", "Rpm on BOTH after", kind="rpm", against="--both"),
        Question("--mixture", "Mixture: rich, leaned, ..."),
        Question("--drop-limit", "Your manual's largest drop in rpm", kind="rpm drop"),
        Question("--document", "Document of that limit"),
        Question("--revision", "Its revision"),
    ),
    "static": (
        Question("--rpm", "Static full-throttle rpm", kind="rpm"),
        Question("--low", "Its lower limit in rpm", kind="rpm"),
        Question("--high", "Its upper limit in rpm", kind="rpm"),
        Question("--document", "Document of the limits"),
        Question("--revision", "Its revision"),
        Question("--temperature", "Outside temperature with unit, such as 20 C", kind="temperature"),
        Question("--elevation", "Field elevation with unit, such as 500 ft", kind="height"),
        Question("--off-check", "OFF check at idle: stops or fires", choices=("stops", "fires")),
    ),
    "egt": (
        Question("--unit", "Unit of the readings: F or C", choices=("F", "C")),
        Question("--egt-both", f"EGT on BOTH, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--egt-left", f"EGT on LEFT, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--egt-right", f"EGT on RIGHT, {_PER_CYLINDER}", kind="per cylinder"),
    ),
    "cold-cylinder": (
        Question("--unit", "Unit: F, C, or relative", choices=("F", "C", "relative")),
        Question("--left", f"After running on LEFT, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--right", f"After running on RIGHT, {_PER_CYLINDER}", kind="per cylinder"),
        Question("--ambient", "Outside temperature with unit (not for relative)"),
    ),
    "compression": (
        Question("--cylinder", "Cylinder", place=True),
        Question("--reading", "Cylinder gauge over input, such as 74/80"),
        Question("--maker-limit", "Lowest reading the maker allows, such as 60 psi"),
        Question(
            "--air", "Air heard at: exhaust, intake, breather, plug or head", choices=("exhaust", "intake", "breather", "plug", "head")
        ),
    ),
    "timing": (
        Question("--specified", "Specified degrees before top centre, from the data plate"),
        Question("--left", "Degrees found on LEFT"),
        Question("--right", "Degrees found on RIGHT"),
    ),
    "points": (
        Question("--magneto", "Magneto: left or right", place=True),
        Question("--clearance", "Contact clearance with unit, such as 0.016 in"),
        Question("--e-gap", "Specified E-gap, magnet degrees past neutral"),
        Question("--e-gap-tolerance", "Its tolerance either way, in degrees"),
        Question("--e-gap-found", "Where the points open now, in degrees"),
    ),
    "plug": (
        Question("--plug", "Plug, such as 3-bottom", place=True),
        Question("--gap", "Widest gap with unit, such as 0.019 in"),
        Question("--resistance", "Resistance with unit, such as 1.8 kohm"),
    ),
    "lead": (
        Question("--lead", "Lead, such as 3-bottom", place=True),
        Question("--insulation", "Insulation with unit, such as 150 Mohm, or: over"),
        Question("--test-voltage", "Test voltage with unit, such as 10 kV"),
        Question("--continuity", "Continuity with unit, such as 2 ohm, or: over"),
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
