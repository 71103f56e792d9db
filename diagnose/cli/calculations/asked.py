"""What to ask a person for each calculation, in the order it is measured, and which roles the numbers speak to."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Asked:
    """One question; `option` is the option its answer goes to, `place` marks the one that names where."""

    option: str
    words: str
    place: bool = False


def _side(side: str) -> tuple[Asked, ...]:
    return (
        Asked(f"--{side}", f"Rpm on {side.upper()} alone, or: dies"),
        Asked(f"--{side}-run", f"On {side.upper()} it runs: smooth or rough"),
        Asked(f"--{side}-change", f"The drop on {side.upper()} came: fast, slow or both"),
    )


_PER_CYLINDER = "one number per cylinder from No. 1 on, with commas; - where not read"

QUESTIONS: dict[str, tuple[Asked, ...]] = {
    "mag-check": (
        Asked("--both", "Rpm on BOTH before"),
        *_side("left"),
        *_side("right"),
        Asked("--both-after", "Rpm on BOTH after"),
        Asked("--mixture", "Mixture: rich, leaned, ..."),
        Asked("--drop-limit", "Your manual's largest drop in rpm"),
        Asked("--document", "Document of that limit"),
        Asked("--revision", "Its revision"),
    ),
    "static": (
        Asked("--rpm", "Static full-throttle rpm"),
        Asked("--low", "Its lower limit in rpm"),
        Asked("--high", "Its upper limit in rpm"),
        Asked("--document", "Document of the limits"),
        Asked("--revision", "Its revision"),
        Asked("--temperature", "Outside temperature with unit, such as 20 C"),
        Asked("--elevation", "Field elevation with unit, such as 500 ft"),
        Asked("--off-check", "OFF check at idle: stops or fires"),
    ),
    "egt": (
        Asked("--unit", "Unit of the readings: F or C"),
        Asked("--egt-both", f"EGT on BOTH, {_PER_CYLINDER}"),
        Asked("--egt-left", f"EGT on LEFT, {_PER_CYLINDER}"),
        Asked("--egt-right", f"EGT on RIGHT, {_PER_CYLINDER}"),
    ),
    "cold-cylinder": (
        Asked("--unit", "Unit: F, C, or relative"),
        Asked("--left", f"After running on LEFT, {_PER_CYLINDER}"),
        Asked("--right", f"After running on RIGHT, {_PER_CYLINDER}"),
        Asked("--ambient", "Outside temperature with unit (not for relative)"),
    ),
    "compression": (
        Asked("--cylinder", "Cylinder", place=True),
        Asked("--reading", "Cylinder gauge over input, such as 74/80"),
        Asked("--maker-limit", "Lowest reading the maker allows, such as 60 psi"),
        Asked("--air", "Air heard at: exhaust, intake, breather, plug or head"),
    ),
    "timing": (
        Asked("--specified", "Specified degrees before top centre, from the data plate"),
        Asked("--left", "Degrees found on LEFT"),
        Asked("--right", "Degrees found on RIGHT"),
    ),
    "points": (
        Asked("--magneto", "Magneto: left or right", place=True),
        Asked("--clearance", "Contact clearance with unit, such as 0.016 in"),
        Asked("--e-gap", "Specified E-gap, magnet degrees past neutral"),
        Asked("--e-gap-tolerance", "Its tolerance either way, in degrees"),
        Asked("--e-gap-found", "Where the points open now, in degrees"),
    ),
    "plug": (
        Asked("--plug", "Plug, such as 3-bottom", place=True),
        Asked("--gap", "Widest gap with unit, such as 0.019 in"),
        Asked("--resistance", "Resistance with unit, such as 1.8 kohm"),
    ),
    "lead": (
        Asked("--lead", "Lead, such as 3-bottom", place=True),
        Asked("--insulation", "Insulation with unit, such as 150 Mohm, or: over"),
        Asked("--test-voltage", "Test voltage with unit, such as 10 kV"),
        Asked("--continuity", "Continuity with unit, such as 2 ohm, or: over"),
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
